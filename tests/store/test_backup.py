"""A backup is proved before it is told, and brings everything back."""

from __future__ import annotations

import io
import shutil
import sqlite3
from dataclasses import replace

import pytest

from loomwright.brief.from_circuit import recipe_as_text
from loomwright.brief.recipe import load_recipes
from loomwright.instruments.shop_meters import FILE_NAME as METERS
from loomwright.refusals import BadDocument
from loomwright.store.backup import back_up, contents_of, file_faults, restore
from loomwright.store.beside import files_beside, left_beside
from loomwright.store.controller_files import controller_files, keep_controller_file
from loomwright.store.log_files import keep_log, kept_logs
from loomwright.store.own_recipes import FILE_NAME as RECIPES
from loomwright.store.own_recipes import own_recipes
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


@pytest.fixture
def shop(shelf, folder):
    """A shelf with all beside it that a shop keeps there: larger than a piece, empty, in folders."""
    own = load_recipes()["accessory_fuse"]
    (folder / RECIPES).write_text(recipe_as_text(replace(own, id="ours")), encoding="utf-8")
    keep_controller_file(shelf, "car", "tune 1.bin", bytes(range(256)) * 9000)
    keep_log(shelf, "car", "drive.csv", io.BytesIO(b"time,rpm\n0,900\n"))
    (folder / "controllers" / ".coming.bin").write_bytes(b"half of it")
    (folder / METERS).write_text("meter,address,visa\nbench meter,TCPIP::192.0.2.7::5025::SOCKET,\n", encoding="utf-8")
    return shelf


def test_what_lies_beside_the_shelf_comes_back_with_it(shop, folder, tmp_path):
    made = back_up(folder, tmp_path / "file")
    assert {one.name.partition("/")[0] for one in made.beside} == {RECIPES, "controllers", "logs"}
    assert len(made.beside) == len(files_beside(folder))
    new = tmp_path / "new"
    assert restore(tmp_path / "file", new, aside="old.db") == made
    again = Shelf(new, clock())
    assert controller_files(again, "car") == {"tune 1.bin": bytes(range(256)) * 9000}
    assert [one.path.read_bytes() for one in kept_logs(again, "car")] == [b"time,rpm\n0,900\n"]
    assert own_recipes(new) == own_recipes(folder)
    assert not (new / "controllers" / ".coming.bin").exists()
    assert not (new / METERS).exists()
    again.close()
    with sqlite3.connect(new / FILE_NAME) as there:
        assert there.execute("SELECT count(*) FROM sqlite_master WHERE name LIKE 'beside%'").fetchone() == (0,)


def test_what_lay_beside_the_shelf_that_was_there_is_moved_aside(shop, folder, tmp_path):
    back_up(folder, tmp_path / "file")
    keep_controller_file(shop, "car", "tune 1.bin", b"later")
    shop.close()
    restore(tmp_path / "file", folder, aside="old.db")
    again = Shelf(folder, clock())
    assert controller_files(again, "car")["tune 1.bin"] != b"later"
    again.close()
    assert [path.read_bytes() for path in (folder / "old.db.beside" / "controllers").rglob("tune*")] == [b"later"]


def test_recorded_drives_may_be_left_out_and_then_stay_where_they_are(shop, folder, tmp_path):
    made = back_up(folder, tmp_path / "file", logs=False)
    assert {one.name.partition("/")[0] for one in made.beside} == {RECIPES, "controllers"}
    assert left_beside(folder) == (METERS,)
    assert left_beside(folder, logs=False) == ("logs", METERS)
    shop.close()
    restore(tmp_path / "file", folder, aside="old.db")
    assert not (folder / "old.db.beside" / "logs").exists()
    assert any((folder / "logs").rglob("*.csv"))


@pytest.mark.parametrize(
    "harm",
    [
        "UPDATE beside_pieces SET data = 'x' WHERE name = 'recipes.toml'",
        "DELETE FROM beside_pieces WHERE number = 1",
        "UPDATE beside SET name = '../recipes.toml' WHERE name = 'recipes.toml'",
        "DROP TABLE beside_pieces",
    ],
)
def test_a_backup_whose_files_are_harmed_is_refused_and_nothing_moves(shop, folder, tmp_path, harm):
    file = tmp_path / "file"
    back_up(folder, file)
    with sqlite3.connect(file) as broken:
        broken.execute(harm)
    before = (folder / RECIPES).read_bytes()
    assert file_faults(file) != ()
    with pytest.raises(BadDocument):
        restore(file, folder, aside="old.db")
    assert (folder / RECIPES).read_bytes() == before
    assert not (folder / "old.db").exists()
    assert not (folder / "old.db.beside").exists()


def test_a_backup_made_before_leaves_what_lies_beside_alone(shop, folder, tmp_path):
    file = tmp_path / "file"
    back_up(folder, file)
    with sqlite3.connect(file) as earlier:
        earlier.execute("DROP TABLE beside")
        earlier.execute("DROP TABLE beside_pieces")
    shop.close()
    assert restore(file, folder, aside="old.db").beside == ()
    assert (folder / RECIPES).exists()
    assert not (folder / "old.db.beside").exists()


def test_what_devices_brought_that_were_let_go_is_not_in_it_and_named(folder, saved):
    assert left_beside(folder) == ()
    (folder / "aside").mkdir()
    assert left_beside(folder) == ("aside",)
