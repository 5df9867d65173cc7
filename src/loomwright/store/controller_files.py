"""Where do the files lie that came off a job's controllers, to be handed over as they are?

Beside the shelf, in `controllers/` and the job's number, under the names they came with. They are kept, listed with
their digests and handed on; nobody looks into them. One sent again under the same name takes its place.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path

from loomwright.refusals import BadDocument, OutOfReach, Problem
from loomwright.store.shelf import Shelf

__all__ = ["MOST_BYTES", "controller_files", "drop_controller_file", "keep_controller_file"]

MOST_BYTES = 16 * 1024 * 1024
"""The largest file that is taken. [bytes]"""
_FOLDER = "controllers"
_NOT_NAME = re.compile(r"[^\w.\- ]+")
_LONGEST = 80
_MOST_FILES = 20


def keep_controller_file(shelf: Shelf, job: str, name: str, data: bytes) -> str:
    """Take a file in, whole or not at all; gives the name it is kept under.

    Args:
        name: as it was sent.
    Raises:
        BadDocument: empty, too large, without a name, or one more than are kept.
    """
    plain = _NOT_NAME.sub("_", Path(name.replace("\\", "/")).name).strip(" .")[-_LONGEST:]
    if not plain or not data:
        raise _told(plain or "no file", "a file with something in it", "Pick the file that came off the controller")
    if len(data) > MOST_BYTES:
        raise _told(plain, f"at most {MOST_BYTES // 1024 // 1024} MB", "Hand over the controller's own file alone")
    there = controller_files(shelf, job)
    if plain not in there and len(there) >= _MOST_FILES:
        raise _told(plain, f"at most {_MOST_FILES} files", "Take one away first")
    folder = _folder(shelf, job)
    folder.mkdir(parents=True, exist_ok=True)
    rough = folder / f".{plain}.coming"
    try:
        rough.write_bytes(data)
        rough.replace(folder / plain)
    finally:
        rough.unlink(missing_ok=True)
    return plain


def controller_files(shelf: Shelf, job: str) -> Mapping[str, bytes]:
    """The files of a job's controllers, name -> bytes, in the order of their names."""
    folder = _folder(shelf, job)
    names = sorted(path.name for path in folder.iterdir() if not path.name.startswith(".")) if folder.is_dir() else []
    return {name: (folder / name).read_bytes() for name in names}


def drop_controller_file(shelf: Shelf, job: str, name: str) -> None:
    """Take a file away.

    Raises:
        OutOfReach: none is called so.
    """
    if name not in controller_files(shelf, job):
        raise OutOfReach("file", name, "one of the controller's files of this job")
    (_folder(shelf, job) / name).unlink(missing_ok=True)


def _folder(shelf: Shelf, job: str) -> Path:
    return shelf.folder / _FOLDER / str(shelf.id_of(job))


def _told(found: str, allowed: str, mend: str) -> BadDocument:
    return BadDocument((Problem(sheet="", row=None, column="", found=found, allowed=allowed, mend=mend),))
