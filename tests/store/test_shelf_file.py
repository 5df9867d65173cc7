"""The shelf's file: what it is opened with, and the shapes it may have."""

from __future__ import annotations

import sqlite3

import pytest
from sqlalchemy import create_engine, event, inspect, text

from loomwright.refusals import BadDocument
from loomwright.store.shelf import Shelf
from loomwright.store.shelf_file import FILE_NAME, open_engine
from loomwright.store.shelf_tables import METADATA
from loomwright.store.text_rows import SetCell
from tests.store.conftest import awaited, clock, key_of


def test_a_commit_is_flushed_to_the_disk(shelf):
    with shelf.engine.connect() as connection:
        told = {name: connection.execute(text(f"PRAGMA {name}")).scalar() for name in ("journal_mode", "synchronous")}
    assert told == {"journal_mode": "wal", "synchronous": 2}


def test_the_migrations_make_the_tables_that_the_code_knows(folder):
    made, told = inspect(open_engine(folder)), create_engine("sqlite://")
    METADATA.create_all(told)
    known = inspect(told)
    assert set(made.get_table_names()) - {"alembic_version"} == set(known.get_table_names())
    for table in known.get_table_names():
        sides = [
            [(c["name"], str(c["type"]), c["nullable"], c["primary_key"]) for c in side.get_columns(table)]
            for side in (made, known)
        ]
        assert sides[0] == sides[1], table
        assert {i["name"] for i in made.get_indexes(table)} == {i["name"] for i in known.get_indexes(table)}


def test_a_file_that_is_no_shelf_is_refused(folder):
    folder.mkdir()
    (folder / FILE_NAME).write_bytes(b"a letter to my aunt" * 200)
    with pytest.raises(BadDocument):
        open_engine(folder)


def test_a_shelf_of_a_newer_version_is_refused(shelf, folder):
    shelf.close()
    with sqlite3.connect(folder / FILE_NAME) as newer:
        newer.execute("UPDATE alembic_version SET version_num = '9999'")
    with pytest.raises(BadDocument) as told:
        Shelf(folder, clock())
    assert "9999" in str(told.value)


def test_a_folder_that_is_a_file_is_refused(tmp_path):
    (tmp_path / "taken").write_text("x")
    with pytest.raises(BadDocument):
        open_engine(tmp_path / "taken")


def test_a_full_disk_refuses_the_edit_and_keeps_the_job(shelf):
    with shelf.engine.connect() as connection:
        pages = connection.execute(text("PRAGMA page_count")).scalar()

    def no_more(connection):
        connection.exec_driver_sql(f"PRAGMA max_page_count={pages}")

    key = key_of(shelf, "wires", "W2")
    long = SetCell(sheet="wires", row_key=key, column="notes", old="", new="x" * 30_000)
    event.listen(shelf.engine, "begin", no_more)
    with pytest.raises(BadDocument) as told:
        shelf.edit("car", [long], who="A")
    with pytest.raises(BadDocument, match="the disk does not take it"):
        awaited(shelf.edit_soon("car", [long], who="A"))
    event.remove(shelf.engine, "begin", no_more)
    assert "disk" in str(told.value)
    assert shelf.now("car").revision == 1
    with shelf.engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA max_page_count=1000000")
    short = SetCell(sheet="wires", row_key=key, column="notes", old="", new="dry")
    assert shelf.edit("car", [short], who="A").revision == 2
