"""Where do the recorded drives of a job lie, and what was once said of their columns?

Beside the shelf, in `logs/` and the job's number: a recorded drive is as large as everything else together, so it lies
as the file it came as, under a name that its content gives, and not in the shelf's own file; a backup takes it in
unless it is to be left out. What a person said of a controller's columns is kept once for the whole shelf, under the
controller's name.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import BinaryIO

from loomwright.refusals import BadDocument, OutOfReach, Problem
from loomwright.store.shelf import Shelf

__all__ = ["KINDS", "MOST_BYTES", "KeptLog", "drop_log", "keep_log", "kept_log", "kept_logs", "mapping_file"]

KINDS = (".csv", ".txt", ".tsv", ".log", ".parquet", ".mf4")
"""Endings of files that are taken in as a recorded drive."""
MOST_BYTES = 1024 * 1024 * 1024
"""The largest recorded drive that is taken in. [bytes]"""

_FOLDER, _MAPPINGS = "logs", "mappings"
_PIECE = 1024 * 1024
_KEY_LETTERS = 12
_KEY = re.compile(r"[0-9a-f]{12}")
_NOT_NAME = re.compile(r"[^\w.\- ]+")
_LONGEST = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptLog:
    """A recorded drive. key: by its content.   name: as it was sent.   size: [bytes]   time: when it was taken in.

    path: of the file.   drawn: of what is kept of it for drawing, once it was read.
    """

    key: str
    name: str
    size: int
    time: str
    path: Path
    drawn: Path


def keep_log(shelf: Shelf, job: str, name: str, data: BinaryIO) -> KeptLog:
    """Take a recorded drive in; the same content twice is kept once. Whole or not at all.

    Args:
        name: of the file as it was sent.
        data: its bytes.
    Raises:
        BadDocument: of no kind that is read, empty, or too large.
    """
    plain = _NOT_NAME.sub("_", Path(name.replace("\\", "/")).name).strip(" .")[-_LONGEST:]
    if Path(plain).suffix.lower() not in KINDS:
        raise _told(plain or "no file", " ".join(KINDS), "Export the measurement as CSV, Parquet or MDF4")
    folder = _folder(shelf, job)
    folder.mkdir(parents=True, exist_ok=True)
    digest, size = hashlib.sha256(), 0
    rough = folder / f"coming-{hashlib.sha256(f'{plain}{datetime.now(UTC)}'.encode()).hexdigest()[:_KEY_LETTERS]}.part"
    try:
        with rough.open("wb") as file:
            while piece := data.read(_PIECE):
                size += len(piece)
                if size > MOST_BYTES:
                    raise _told(plain, f"at most {MOST_BYTES // _PIECE} MB", "Cut the recording into drives")
                digest.update(piece)
                file.write(piece)
        if size == 0:
            raise _told(plain, "a file with something in it", "Send it again")
        key = digest.hexdigest()[:_KEY_LETTERS]
        if not any(one.key == key for one in kept_logs(shelf, job)):
            rough.replace(folder / f"{key} {plain}")
        return kept_log(shelf, job, key)
    finally:
        rough.unlink(missing_ok=True)


def kept_logs(shelf: Shelf, job: str) -> tuple[KeptLog, ...]:
    """The recorded drives of a job, the newest first."""
    return tuple(sorted(_kept(_folder(shelf, job)), key=lambda one: (one.time, one.key), reverse=True))


def kept_log(shelf: Shelf, job: str, key: str) -> KeptLog:
    """One recorded drive.

    Raises:
        OutOfReach: the job has none of that key.
    """
    found = next((one for one in kept_logs(shelf, job) if one.key == key), None)
    if found is None:
        raise OutOfReach("log", key, "a recorded drive of this job: see its page of logs")
    return found


def drop_log(shelf: Shelf, job: str, key: str) -> None:
    """Take a recorded drive away."""
    found = kept_log(shelf, job, key)
    found.drawn.unlink(missing_ok=True)
    found.path.unlink(missing_ok=True)


def mapping_file(shelf: Shelf, controller: str) -> Path:
    """Where what was said of a controller's columns is kept, for every job with that controller."""
    plain = _NOT_NAME.sub("_", controller).strip(" .")[:_LONGEST] or "controller"
    return shelf.folder / _FOLDER / _MAPPINGS / f"{plain}.toml"


def _kept(folder: Path) -> Iterator[KeptLog]:
    for path in folder.glob("* *") if folder.is_dir() else ():
        key, _, name = path.name.partition(" ")
        if _KEY.fullmatch(key) and path.suffix.lower() in KINDS:
            stat = path.stat()
            time = datetime.fromtimestamp(stat.st_mtime, UTC).isoformat(timespec="seconds")
            drawn = folder / f"{key}.drawn"
            yield KeptLog(key=key, name=name, size=stat.st_size, time=time, path=path, drawn=drawn)


def _folder(shelf: Shelf, job: str) -> Path:
    return shelf.folder / _FOLDER / str(shelf.id_of(job))


def _told(found: str, allowed: str, mend: str) -> BadDocument:
    return BadDocument((Problem(sheet="", row=None, column="", found=found, allowed=allowed, mend=mend),))
