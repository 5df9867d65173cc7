"""What of the shop's own lies beside the shelf's file, and how does it get into its backup and home again?

The shop's recipes, the files off a job's controllers, the recorded drives. Each goes into the backup's file in pieces,
with its length and digest, beside the rows of the shelf; from there it comes back under the same name. A file that is
just coming in (its name begins with a dot, or ends as being made) is not yet one.
"""

from __future__ import annotations

import hashlib
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from loomwright.store.own_recipes import FILE_NAME as RECIPES

__all__ = [
    "LOGS",
    "BesideFile",
    "beside_faults",
    "beside_in",
    "files_beside",
    "left_beside",
    "put_beside",
    "take_beside",
    "without_beside",
]

LOGS = "logs"
"""Recorded drives: as large as everything else together, so that they may be left out."""
_BESIDE = (RECIPES, "controllers", LOGS)
_NEVER = ("aside", "meters.csv")
"""What devices brought that were let go, and where the shop's meters are reached: never in a backup."""
_PIECE = 1024 * 1024
_COMING = (".being-made", ".coming")
_TABLES = (
    "CREATE TABLE beside (name TEXT PRIMARY KEY, size INTEGER NOT NULL, sha256 TEXT NOT NULL)",
    "CREATE TABLE beside_pieces (name TEXT, number INTEGER, data BLOB NOT NULL, PRIMARY KEY (name, number))",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class BesideFile:
    """A file beside the shelf. name: below the shelf's folder, parts by `/`.   size: [bytes]"""

    name: str
    size: int
    sha256: str


def files_beside(folder: Path, *, logs: bool = True) -> tuple[Path, ...]:
    """The shop's own files beside a shelf, in order of their names.

    Args:
        logs: recorded drives too.
    """
    found = []
    for name in _BESIDE if logs else tuple(one for one in _BESIDE if one != LOGS):
        top = folder / name
        paths = top.rglob("*") if top.is_dir() else (top,)
        found += [path for path in paths if path.is_file() and _is_whole(path.relative_to(folder))]
    return tuple(sorted(found))


def left_beside(folder: Path, *, logs: bool = True) -> tuple[str, ...]:
    """What lies beside a shelf and is not put into its backup, by name."""
    names = _NEVER if logs else (LOGS, *_NEVER)
    return tuple(name for name in names if (folder / name).exists())


def put_beside(folder: Path, copy: Path, *, logs: bool = True) -> None:
    """Put what lies beside a shelf into a copy of its file.

    Args:
        folder: of the shelf.
        copy: of the shelf's file, that nobody else has open.
        logs: recorded drives too.
    Raises:
        OSError, sqlite3.Error: it cannot be read, or the disk does not take it.
    """
    with closing(sqlite3.connect(copy)) as there, there:
        for table in _TABLES:
            there.execute(table)
        for path in files_beside(folder, logs=logs):
            name, told, size = path.relative_to(folder).as_posix(), hashlib.sha256(), 0
            with path.open("rb") as file:
                while piece := file.read(_PIECE):
                    told.update(piece)
                    there.execute("INSERT INTO beside_pieces VALUES (?, ?, ?)", (name, size // _PIECE, piece))
                    size += len(piece)
            there.execute("INSERT INTO beside VALUES (?, ?, ?)", (name, size, told.hexdigest()))


def beside_in(file: Path) -> tuple[BesideFile, ...] | None:
    """The files a backup holds beside the shelf; None where it was made before any were put in."""
    with closing(sqlite3.connect(f"file:{file}?mode=ro", uri=True)) as there:
        if not there.execute("SELECT 1 FROM sqlite_master WHERE name = 'beside'").fetchone():
            return None
        lines = there.execute("SELECT name, size, sha256 FROM beside ORDER BY name").fetchall()
    return tuple(BesideFile(name=name, size=size, sha256=sha256) for name, size, sha256 in lines)


def beside_faults(file: Path) -> tuple[str, ...]:
    """What is wrong with the files a backup holds beside the shelf; nothing where they are whole."""
    found = []
    for one in beside_in(file) or ():
        told, size = hashlib.sha256(), 0
        for piece in _pieces(file, one.name):
            told.update(piece)
            size += len(piece)
        if not _is_ours(one.name):
            found.append(f"{one.name} belongs to nothing beside a shelf")
        elif (size, told.hexdigest()) != (one.size, one.sha256):
            found.append(f"{one.name} reads differently from what was put in")
    return tuple(found)


def take_beside(file: Path, to: Path) -> None:
    """Write the files a backup holds beside the shelf into a folder of their own.

    Args:
        file: without faults.
        to: a folder that is not there yet.
    Raises:
        OSError: the disk does not take them.
    """
    to.mkdir()
    for one in beside_in(file) or ():
        path = to / one.name
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("wb") as written:
            written.writelines(_pieces(file, one.name))


def without_beside(shelf: Path) -> None:
    """Take the files out of what becomes the shelf's file again, and give their room back."""
    with closing(sqlite3.connect(shelf)) as there:
        there.execute("DROP TABLE IF EXISTS beside_pieces")
        there.execute("DROP TABLE IF EXISTS beside")
        there.commit()
        there.execute("VACUUM")


def _pieces(file: Path, name: str) -> Iterator[bytes]:
    with closing(sqlite3.connect(f"file:{file}?mode=ro", uri=True)) as there:
        asked = there.execute("SELECT CAST(data AS BLOB) FROM beside_pieces WHERE name = ? ORDER BY number", (name,))
        yield from (line[0] for line in asked)


def _is_whole(path: Path) -> bool:
    return not any(part.startswith(".") for part in path.parts) and not path.name.endswith(_COMING)


def _is_ours(name: str) -> bool:
    parts = PurePosixPath(name).parts
    return bool(parts) and parts[0] in _BESIDE and ".." not in parts and "\\" not in name
