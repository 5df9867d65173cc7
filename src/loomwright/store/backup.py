"""One file with everything on the shelf, proved by reading it back; and the way home.

A backup is a copy of the shelf's file made while it is in use, and in it what of the shop's own lies beside that
(`beside`). It is told only after it was opened again, found whole, and every job and picture in it compared with the
shelf. Restoring never writes over a shelf that is there, nor over what lies beside it: what was there is moved aside
and named.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import sqlite3
from dataclasses import dataclass, replace
from pathlib import Path

from sqlalchemy import Connection, Engine, create_engine, select, text
from sqlalchemy.exc import DatabaseError

from loomwright.store.beside import BesideFile, beside_faults, beside_in, put_beside, take_beside, without_beside
from loomwright.store.kept_rows import newest_revision
from loomwright.store.shelf_file import FILE_NAME, open_engine, refused
from loomwright.store.shelf_tables import edits, jobs, photos, revisions, rows

__all__ = ["Contents", "JobContents", "back_up", "contents_of", "file_faults", "restore"]


@dataclass(frozen=True, slots=True, kw_only=True)
class JobContents:
    """One job as two files are compared. digest: of its rows and history.   revision, photos: counts. [-]"""

    name: str
    revision: int
    photos: int
    digest: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Contents:
    """What a shelf's file holds, job by job.   beside: the files a backup holds that lie beside a shelf."""

    jobs: tuple[JobContents, ...]
    beside: tuple[BesideFile, ...] = ()


def back_up(folder: Path, file: Path, *, logs: bool = True) -> Contents:
    """Copy the shelf of a folder and what lies beside it into one file, and prove it; gives what it holds.

    Args:
        logs: recorded drives too.
    Raises:
        BadDocument: there is no shelf, the file is there already, the disk does not take it, or the copy is not the
            same.
    """
    source = folder / FILE_NAME
    if not source.is_file():
        raise refused(f"no shelf in {folder}", "a folder with a shelf", "Name the shelf's folder with --shelf")
    if file.exists():
        raise refused(f"{file} is there already", "a file to make", "Name another, or move it away")
    aside = file.with_name(file.name + ".being-made")
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        _copy(source, aside)
        put_beside(folder, aside, logs=logs)
        there = _proved(aside, source)
        with aside.open("rb+") as written:
            os.fsync(written.fileno())
        aside.replace(file)
    except (OSError, sqlite3.Error) as fault:
        raise refused(f"{file}: {fault}", "a file that can be written", "Make room, or name another place") from fault
    finally:
        aside.unlink(missing_ok=True)
    return there


def restore(file: Path, folder: Path, *, aside: str) -> Contents:
    """Bring a backup back as the shelf of a folder; gives what it holds.

    Args:
        aside: what a shelf that is there already is called from now on, beside the new one; what lay beside it and
            comes back with the backup is moved into a folder of that name and `.beside`.
    Raises:
        BadDocument: the file is no backup or not whole; the folder is left as it was.
    """
    faults = file_faults(file)
    if faults:
        raise refused(f"{file}: {faults[0]}", "a backup made with loomwright backup", "Look for another backup")
    there = folder / FILE_NAME
    beside = beside_in(file) or ()
    new, coming = folder / (FILE_NAME + ".coming"), folder / ".beside.coming"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        shutil.rmtree(coming, ignore_errors=True)
        take_beside(file, coming)
        shutil.copyfile(file, new)
        without_beside(new)
        if there.exists():
            _settle(there)
            there.rename(folder / aside)
        for left in ("-wal", "-shm"):
            (folder / (FILE_NAME + left)).unlink(missing_ok=True)
        new.replace(there)
        _bring_beside(coming, folder, folder / f"{aside}.beside")
    except (OSError, sqlite3.Error) as fault:
        raise refused(f"{folder}: {fault}", "a folder that can be written to", "Make room or rights") from fault
    finally:
        new.unlink(missing_ok=True)
        shutil.rmtree(coming, ignore_errors=True)
    engine = open_engine(folder)
    try:
        return replace(contents_of(engine), beside=beside)
    finally:
        engine.dispose()


def file_faults(file: Path) -> tuple[str, ...]:
    """What is wrong with a shelf's file or a backup; nothing where it is whole."""
    if not file.is_file():
        return ("it is not there",)
    engine = _reading(file)
    try:
        with engine.connect() as connection:
            told = [str(line[0]) for line in connection.execute(text("PRAGMA integrity_check"))]
            if told != ["ok"]:
                return tuple(told)
            loose = connection.execute(text("PRAGMA foreign_key_check")).fetchall()
            if loose:
                return (f"{len(loose)} rows belong to no job",)
            return _half_written(connection) or beside_faults(file)
    except DatabaseError as fault:
        return (str(fault.orig),)
    except sqlite3.Error as fault:
        return (str(fault),)
    finally:
        engine.dispose()


def contents_of(engine: Engine) -> Contents:
    """What a shelf holds, job by job, with a digest of each."""
    with engine.connect() as connection:
        lines = connection.execute(select(jobs.c.id, jobs.c.name).order_by(jobs.c.name)).all()
        return Contents(jobs=tuple(_job(connection, number, name) for number, name in lines))


def _job(connection: Connection, number: int, name: str) -> JobContents:
    told = hashlib.sha256()
    for table, order in (
        (rows, (rows.c.sheet, rows.c.row_key)),
        (edits, (edits.c.id,)),
        (revisions, (revisions.c.number,)),
    ):
        for line in connection.execute(select(table).where(table.c.job == number).order_by(*order)):
            told.update(repr(tuple(line)).encode())
    count = 0
    asked = select(photos.c.sha256, photos.c.data).where(photos.c.job == number).order_by(photos.c.id)
    for sha256, data in connection.execute(asked):
        count += 1
        told.update(sha256.encode() + hashlib.sha256(data).digest())
    revision = newest_revision(connection, number)
    return JobContents(name=name, revision=revision, photos=count, digest=told.hexdigest()[:16])


def _proved(copy: Path, source: Path) -> Contents:
    faults = file_faults(copy)
    if faults:
        raise refused(f"the copy is not whole: {faults[0]}", "a whole copy", "Look at the disk, then try again")
    made, here = _reading(copy), _reading(source)
    try:
        there = contents_of(made)
        known = {one.name: one for one in contents_of(here).jobs}
    finally:
        made.dispose()
        here.dispose()
    for one in there.jobs:
        now = known.get(one.name)
        # a job may have gone on meanwhile; one that has not must be the same to the last row
        if now is None or (now.revision == one.revision and now.photos == one.photos and now.digest != one.digest):
            raise refused(
                f"{one.name} reads differently in the copy", "the same job", "Look at the disk, then try again"
            )
    return replace(there, beside=beside_in(copy) or ())


def _half_written(connection: Connection) -> tuple[str, ...]:
    """Jobs whose revisions are not one after another, or that did something and have no revision for it."""
    found = []
    for number, name in connection.execute(select(jobs.c.id, jobs.c.name)).all():
        asked = select(revisions.c.number).where(revisions.c.job == number).order_by(revisions.c.number)
        numbers = [line[0] for line in connection.execute(asked)]
        if numbers != list(range(1, len(numbers) + 1)):
            found.append(f"{name}: its revisions are not one after another")
        over = connection.execute(
            select(edits.c.id).where(edits.c.job == number, edits.c.revision > len(numbers))
        ).first()
        if over is not None:
            found.append(f"{name}: an edit belongs to no revision")
    return tuple(found)


def _copy(source: Path, to: Path) -> None:
    with sqlite3.connect(source) as here, sqlite3.connect(to) as there:
        here.backup(there)
        there.execute("PRAGMA journal_mode=DELETE")
    here.close()
    there.close()


def _settle(file: Path) -> None:
    """Bring what waits in the log into the file, so that it can be moved alone."""
    try:
        connection = sqlite3.connect(file)
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        connection.close()
    except sqlite3.Error:
        return


def _bring_beside(coming: Path, folder: Path, aside: Path) -> None:
    """What came with the backup takes its place beside the shelf; what was there under its name is moved aside."""
    for top in sorted(coming.iterdir()):
        if (folder / top.name).exists():
            aside.mkdir(exist_ok=True)
            (folder / top.name).rename(aside / top.name)
        top.rename(folder / top.name)


def _reading(file: Path) -> Engine:
    return create_engine(f"sqlite:///file:{file}?mode=ro&uri=true")
