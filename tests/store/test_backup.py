"""A backup is proved before it is told, and brings everything back."""

from __future__ import annotations

import shutil
import sqlite3

import pytest

from loomwright.refusals import BadDocument
from loomwright.store.backup import back_up, contents_of, file_faults, left_beside, restore
from loomwright.store.own_recipes import FILE_NAME as RECIPES
from loomwright.store.photos import add_photo, photo_data
from loomwright.store.shelf import Shelf
from loomwright.store.shelf_file import FILE_NAME
from loomwright.store.text_rows import SetCell
from tests.store.conftest import clock, key_of
from tests.store.test_photos import picture


def typed(shelf, old, new):
    key = key_of(shelf, "wires", "W2")
    shelf.edit("car", [SetCell(sheet="wires", row_key=key, column="length_mm", old=old, new=new)], who="A")


@pytest.fixture
def saved(shelf, folder, tmp_path):
    typed(shelf, "900", "950")
    add_photo(shelf, "car", "wires", "W2", picture(), time="t", who="A")
    file = tmp_path / "kept" / "shelf.backup"
    back_up(folder, file)
    return file


def test_everything_comes_back(shelf, folder, saved, tmp_path):
    here = contents_of(shelf.engine)
    assert [(job.name, job.revision, job.photos) for job in here.jobs] == [("car", 2, 1)]
    assert restore(saved, tmp_path / "new", aside="old.db") == here
    again = Shelf(tmp_path / "new", clock())
    assert again.now("car").job == shelf.now("car").job
    assert again.now("car", 1).job == shelf.now("car", 1).job
    assert photo_data(again, "car", 1) == photo_data(shelf, "car", 1)
    assert again.undo("car", who="A").revision == 3
    again.close()


def test_a_shelf_in_use_can_be_backed_up_and_goes_on(shelf, saved):
    typed(shelf, "950", "990")
    assert shelf.now("car").revision == 3
    assert file_faults(saved) == ()


def test_what_was_there_is_moved_aside(shelf, folder, saved):
    typed(shelf, "950", "990")
    shelf.close()
    restore(saved, folder, aside="before.db")
    again = Shelf(folder, clock())
    assert again.now("car").job.wires[1].length_mm == 950.0
    again.close()
    with sqlite3.connect(folder / "before.db") as old:
        assert old.execute("SELECT max(number) FROM revisions").fetchone() == (3,)


def test_nothing_is_written_over(folder, saved):
    before = saved.read_bytes()
    with pytest.raises(BadDocument):
        back_up(folder, saved)
    assert saved.read_bytes() == before


@pytest.mark.parametrize("damage", ["short", "flipped", "text", "empty", "half"])
def test_a_damaged_backup_is_refused_and_the_shelf_left_alone(shelf, folder, saved, damage):
    data = bytearray(saved.read_bytes())
    if damage == "short":
        data = data[: len(data) // 2]
    elif damage == "flipped":
        data[4096 : 4096 * 3] = bytes(byte ^ 0xFF for byte in data[4096 : 4096 * 3])
    elif damage == "text":
        data = bytearray(b"not a shelf at all" * 100)
    elif damage == "empty":
        data = bytearray()
    else:
        with sqlite3.connect(saved) as broken:
            broken.execute("DELETE FROM revisions WHERE number = 1")
        data = bytearray(saved.read_bytes())
    saved.write_bytes(bytes(data))
    assert file_faults(saved) != ()
    with pytest.raises(BadDocument):
        restore(saved, folder, aside="old.db")
    assert shelf.now("car").revision == 2
    assert not (folder / "old.db").exists()


def test_there_must_be_a_shelf(tmp_path):
    with pytest.raises(BadDocument):
        back_up(tmp_path / "nowhere", tmp_path / "file")


def test_a_whole_shelf_has_no_faults(shelf, folder):
    assert file_faults(folder / FILE_NAME) == ()
    shutil.copy(folder / FILE_NAME, folder / "copy.db")


def test_what_lies_beside_the_shelf_and_is_not_in_its_backup_is_named(saved, folder):
    assert left_beside(folder) == ()
    (folder / RECIPES).write_text("", encoding="utf-8")
    (folder / "controllers").mkdir()
    assert left_beside(folder) == (RECIPES, "controllers")
