"""The installation and its shelf look at themselves, and say what is wrong and what mends it."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

from loomwright.cli import selfcheck
from loomwright.store.shelf_file import FILE_NAME
from tests.pages.shelves import SMALL, shelf_in


def test_warming_names_the_routines_and_how_long_each_step_took(ask):
    told = ask("selfcheck", "--warm", "--json")
    assert told.code == 0
    steps = {step["step"]: step for step in told.plain["steps"]}
    assert list(steps) == ["part kinds", "solving routines"]
    assert all(step["time_s"] >= 0.0 for step in steps.values())
    assert "settle_many" in steps["solving routines"]["found"]
    assert "eliminate" in steps["solving routines"]["found"]


def test_a_later_process_only_loads_what_was_compiled(ask):
    ask("selfcheck", "--warm")
    command = [sys.executable, "-m", "loomwright", "selfcheck", "--warm", "--json"]
    ran = subprocess.run(command, capture_output=True, text=True, check=True)
    assert (
        json.loads(ran.stdout)["steps"][1]["found"]
        == "eliminate loaded, alike loaded, settle_many loaded, told_bits loaded"
    )


def steps_of(told):
    return {step["step"]: step for step in told.plain["steps"]}


def test_the_whole_look_solves_every_example_and_sets_a_page(ask, tmp_path):
    told = ask("selfcheck", "--shelf", tmp_path / "none", "--json")
    assert told.code == 0
    steps = steps_of(told)
    solved = [name for name, step in steps.items() if "points solved" in step["found"]]
    assert solved == ["example van", "example van-as-drawn", "example tourer", "example wagon"]
    assert {"paper", "files of the pages", "a shelf for a trial", "shelf", "room on the disk"} <= set(steps)
    assert "yet" in steps["shelf"]["found"]
    assert not (tmp_path / "none").exists()


@pytest.fixture
def quick(monkeypatch):
    """Without the examples, which have a test of their own."""
    monkeypatch.setattr(selfcheck, "example_names", lambda: ("tourer",))
    monkeypatch.setattr(selfcheck, "_page", lambda name: name)


def test_a_sound_shelf_is_told_with_its_jobs(ask, quick, tmp_path):
    shelf_in(tmp_path, small=SMALL).close()
    told = ask("selfcheck", "--shelf", tmp_path / "shelf", "--json")
    assert told.code == 0
    assert steps_of(told)["shelf"]["found"].startswith("1 job in")
    assert steps_of(told)["beside the shelf"]["found"].startswith("0 recipes of the shop's own, 0 files")


def test_recipes_of_the_shop_that_cannot_be_read_are_told(ask, quick, tmp_path):
    shelf_in(tmp_path, small=SMALL).close()
    (tmp_path / "shelf" / "recipes.toml").write_text("[half", encoding="utf-8")
    told = ask("selfcheck", "--shelf", tmp_path / "shelf", "--json")
    assert told.code == 1
    steps = steps_of(told)
    assert "recipes.toml" in steps["beside the shelf"]["found"]
    assert "backup" in steps["beside the shelf"]["mend"]


def test_a_damaged_shelf_is_told_with_its_mend_and_the_rest_is_looked_at(ask, quick, tmp_path):
    shelf_in(tmp_path, small=SMALL).close()
    file = tmp_path / "shelf" / FILE_NAME
    whole = file.read_bytes()
    half = len(whole) // 2
    file.write_bytes(whole[:half] + bytes(len(whole) - half))
    told = ask("selfcheck", "--shelf", tmp_path / "shelf", "--json")
    assert told.code == 1
    steps = steps_of(told)
    assert "backup" in steps["shelf"]["mend"]
    assert [name for name, step in steps.items() if step["mend"]] == ["shelf"]
    assert "room on the disk" in steps


def test_a_style_that_is_empty_is_told(ask, quick, tmp_path, monkeypatch):
    (tmp_path / "static").mkdir()
    (tmp_path / "static" / "page.css").write_text("")
    monkeypatch.setattr(selfcheck.resources, "files", lambda _: tmp_path)
    told = ask("selfcheck", "--shelf", tmp_path / "none")
    assert told.code == 1
    assert "nothing in page.css" in told.out
    assert "locked list" in told.out


def test_a_full_disk_is_told_before_it_is_full(ask, quick, tmp_path, monkeypatch):
    monkeypatch.setattr(selfcheck.shutil, "disk_usage", lambda _: type("Free", (), {"free": 5 * 1024 * 1024})())
    told = ask("selfcheck", "--shelf", tmp_path / "none")
    assert told.code == 1
    assert "5 MB left" in told.out


def test_a_shelf_made_by_a_later_version_is_refused_in_words(ask, quick, tmp_path):
    shelf_in(tmp_path, small=SMALL).close()
    import sqlite3

    with sqlite3.connect(tmp_path / "shelf" / FILE_NAME) as connection:
        connection.execute("UPDATE alembic_version SET version_num = 'later'")
    connection.close()
    told = ask("selfcheck", "--shelf", tmp_path / "shelf")
    assert told.code == 1
    assert "WRONG" in told.out
