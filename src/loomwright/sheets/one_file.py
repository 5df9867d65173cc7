"""How does one file come onto the disk, the old bytes or the new ones and never half of either, and off it again?

The bytes are first written into a file of their own beside it, down to the disk; giving that its final name is the
moment from which they count. What was cut off before that moment leaves the old file as it was, and at most a file
`.being-written-…` beside it, which nothing reads.
"""

from __future__ import annotations

import os
import secrets
from contextlib import suppress
from pathlib import Path
from typing import Literal

from loomwright.refusals import BadDocument, Problem

__all__ = ["lies_there", "read_whole", "to_disk", "write_whole"]

_BEING_WRITTEN = ".being-written-"


def lies_there(path: Path) -> Literal["folder", "file", "nothing"]:
    """What lies at a path; what is neither a folder nor a plain file counts as a file."""
    try:
        if path.is_dir():
            return "folder"
        return "file" if path.exists() else "nothing"
    except (OSError, ValueError):  # a name no file can have
        return "nothing"


def read_whole(path: Path, *, most_bytes: int) -> bytes:
    """All that stands in a file.

    Args:
        path: the file.
        most_bytes: most that it may hold. [bytes]
    Raises:
        BadDocument: there is no such file, it holds more, or it may not be read.
    """
    try:
        if not path.is_file():
            words = {"folder": "is a folder", "file": "is not a plain file", "nothing": "is not there"}
            found = f"{path} {words[lies_there(path)]}"
            raise BadDocument((_fault(found, "a file", "Name the file that is to be read"),))
        with path.open("rb") as file:
            data = file.read(most_bytes + 1)
    except (OSError, ValueError) as fault:
        reason = getattr(fault, "strerror", None) or str(fault)
        raise BadDocument((_fault(f"{path}: {reason}", "a file that may be read", "Allow it to be read"),)) from fault
    if len(data) > most_bytes:
        allowed = f"at most {most_bytes // (1024 * 1024)} MB"
        raise BadDocument((_fault(f"{path} holds more", allowed, "Keep what is not of this job outside"),))
    return data


def write_whole(path: Path, data: bytes) -> None:
    """Writes a file, or leaves everything as it is; folders that are missing on the way are made.

    Args:
        path: the file. One that is there is replaced, and keeps its rights; a link is followed.
        data: all that shall stand in it.
    Raises:
        BadDocument: the disk does not take it; nothing is changed.
    """
    try:
        target = path.resolve()
        if target.exists() and not target.is_file():
            found = f"{path} is a folder" if target.is_dir() else f"{path} is not a plain file"
            raise BadDocument((_fault(found, "a file", "Name a file"),))
        made = [folder for folder in (target.parent, *target.parent.parents) if not folder.exists()]
        try:
            target.parent.mkdir(parents=True, exist_ok=True)
            _write_beside(target, data)
        except BaseException:
            for folder in made:
                with suppress(OSError):
                    folder.rmdir()
            raise
    except (OSError, ValueError, RuntimeError) as fault:  # a name no file can have; links that go in a circle
        reason = getattr(fault, "strerror", None) or str(fault)
        mend = "Make room or rights, or name another file"
        raise BadDocument((_fault(f"{path}: {reason}", "a file that can be written", mend),)) from fault


def to_disk(folder: Path) -> None:
    """Makes sure that the names in a folder have reached the disk, where the system lets us ask for that."""
    try:
        handle = os.open(folder, os.O_RDONLY)
    except OSError:
        return
    try:
        os.fsync(handle)
    except OSError:
        pass
    finally:
        os.close(handle)


def _write_beside(target: Path, data: bytes) -> None:
    """Writes the bytes beside their place, down to the disk, and then gives them the name from which they count."""
    beside = target.with_name(_BEING_WRITTEN + secrets.token_hex(8))
    rights = target.stat().st_mode & 0o7777 if target.exists() else None
    try:
        with beside.open("xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        if rights is not None:
            beside.chmod(rights)
        beside.replace(target)
    except BaseException:
        with suppress(OSError):
            beside.unlink()
        raise
    to_disk(target.parent)


def _fault(found: str, allowed: str, mend: str) -> Problem:
    return Problem(sheet="", row=None, column="", found=found, allowed=allowed, mend=mend)
