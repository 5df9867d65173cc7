"""The shelf's file: opened so that what was answered is on the disk, and brought to today's shape.

SQLite with a write-ahead log and a full flush at each commit: a commit that was told is there after the power went. A
file made by an older version is migrated on opening; one made by a newer version is refused.
"""

from __future__ import annotations

from importlib import resources
from pathlib import Path
from typing import Any

from alembic import command
from alembic.config import Config
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Engine, create_engine, event, inspect, text
from sqlalchemy.exc import DatabaseError

from loomwright.refusals import BadDocument, Problem

__all__ = ["FILE_NAME", "open_engine", "refused", "shape_of"]

FILE_NAME = "shelf.db"
_BUSY_MS = 10_000


def open_engine(folder: Path) -> Engine:
    """The engine of the shelf in a folder; folder and file are made where they are not there.

    Raises:
        BadDocument: the folder cannot be written to, or what is there is no shelf, or one of a newer version.
    """
    path = folder / FILE_NAME
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise refused(f"{folder}: {fault.strerror}", "a folder that can be written to", "Name another") from fault
    engine = create_engine(f"sqlite:///{path}", connect_args={"check_same_thread": False, "timeout": _BUSY_MS / 1000})
    event.listen(engine, "connect", _prepare)
    event.listen(engine, "begin", _begin)
    try:
        _migrate(engine, path)
    except DatabaseError as fault:
        engine.dispose()
        raise refused(
            f"{path}: {fault.orig}", "a shelf of jobs", "Restore a backup: loomwright restore FILE"
        ) from fault
    return engine


def shape_of(connection: Connection) -> str:
    """The migration a shelf was brought to, empty for a new one."""
    if "alembic_version" not in inspect(connection).get_table_names():
        return ""
    return str(connection.execute(text("SELECT version_num FROM alembic_version")).scalar() or "")


def refused(found: str, allowed: str, mend: str) -> BadDocument:
    """A refusal about the shelf as a whole."""
    return BadDocument((Problem(sheet="", row=None, column="", found=found, allowed=allowed, mend=mend),))


def _migrate(engine: Engine, path: Path) -> None:
    config = Config()
    config.set_main_option("script_location", str(resources.files("loomwright.store").joinpath("migrations")))
    scripts = ScriptDirectory.from_config(config)
    with engine.begin() as connection:
        there = shape_of(connection)
        if there == scripts.get_current_head():
            return
        if there and there not in {script.revision for script in scripts.walk_revisions()}:
            raise refused(
                f"{path} has the shape {there}", "a shelf of this version or older", "Bring loomwright up to date"
            )
        config.attributes["connection"] = connection
        command.upgrade(config, "head")


def _prepare(connection: Any, _: Any) -> None:
    """What every connection keeps to; transactions are begun by `_begin` and not by the driver."""
    connection.isolation_level = None
    cursor = connection.cursor()
    for word in ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON", f"busy_timeout={_BUSY_MS}"):
        cursor.execute(f"PRAGMA {word}")
    cursor.close()


def _begin(connection: Connection) -> None:
    connection.exec_driver_sql("BEGIN")
