"""A job goes from any container into any other; nothing is written over unasked and nothing is lost unsaid."""

from __future__ import annotations

from pathlib import Path

import pytest

from loomwright.sheets import one_file
from loomwright.sheets.archive import read_archive, write_archive
from loomwright.sheets.csv_folder import open_folder
from loomwright.sheets.opening import open_job, write_job
from tests.handover.van import changed

ENDINGS = ("", ".xlsx", ".loomjob", ".json")
KEPT = {"photos/box.jpg": b"\xff\xd8\xff", "history/1/wires.csv": b"id\n"}


def bytes_of(path: Path) -> object:
    """What stands on the disk at a path."""
    return path.read_bytes() if path.is_file() else {each.name: each.read_bytes() for each in sorted(path.iterdir())}


@pytest.fixture
def archive(job, tmp_path) -> Path:
    """The small van in an archive with a photo and some history."""
    path = tmp_path / "van.loomjob"
    write_archive(open_folder(job()), path, KEPT)
    return path


@pytest.mark.parametrize("command", ["import", "export"])
@pytest.mark.parametrize("target", ENDINGS)
@pytest.mark.parametrize("source", ENDINGS)
def test_from_any_container_into_any_other(ask, job, tmp_path, command, source, target):
    folder = job()
    given = tmp_path / f"given{source}"
    write_job(open_folder(folder), given)
    told = ask(command, given, tmp_path / f"made{target}", "--json")
    assert told.code == 0
    assert told.plain["written"] == str(tmp_path / f"made{target}")
    assert told.plain["left_out"] == []
    assert open_job(tmp_path / f"made{target}") == open_folder(folder)


@pytest.mark.parametrize("ending", ENDINGS)
def test_every_command_takes_every_container(ask, job, tmp_path, ending):
    folder = job()
    path = tmp_path / f"van{ending}"
    write_job(open_folder(folder), path)
    asked = ("--state", "key=run, engine=idle", "--json")
    assert ask("solve", path, *asked).plain == ask("solve", folder, *asked).plain
    assert ask("meter", path, "--volts", "F1.1", "body", "--json").plain["unit"] == "V"


def test_examples_are_imported_by_name(ask, tmp_path):
    told = ask("import", "tourer", tmp_path / "mine.xlsx", "--json")
    assert told.code == 0
    assert told.plain["wires"] == len(open_job(tmp_path / "mine.xlsx").wires) > 20


def test_words_say_what_was_written(ask, job, tmp_path):
    folder = job()
    assert ask("import", folder, tmp_path / "a.json").out == f"14 parts and 24 wires written to {tmp_path / 'a.json'}\n"
    assert ask("export", folder, tmp_path / "b.json").out == f"wrote {tmp_path / 'b.json'}\n"


# nothing is lost unsaid


def test_photos_and_history_go_from_archive_to_archive_byte_for_byte(ask, archive, tmp_path):
    for command, name in (("export", "b.loomjob"), ("import", "c.loomjob")):
        assert ask(command, archive, tmp_path / name, "--json").plain["left_out"] == []
        assert (tmp_path / name).read_bytes() == archive.read_bytes()


@pytest.mark.parametrize("ending", ["", ".xlsx", ".json"])
def test_what_only_an_archive_holds_is_told_where_it_is_left_out(ask, archive, tmp_path, ending):
    told = ask("export", archive, tmp_path / f"b{ending}", "--json")
    assert told.plain["left_out"] == ["history/1/wires.csv", "photos/box.jpg"]
    words = ask("import", archive, tmp_path / f"c{ending}").out
    assert "left out, since only a .loomjob has a place for it: history/1/wires.csv photos/box.jpg" in words


@pytest.mark.parametrize("command", ["import", "export"])
@pytest.mark.parametrize("ending", ENDINGS)
def test_a_job_that_is_there_is_written_over_only_when_asked(ask, job, tmp_path, command, ending):
    folder = job()
    path = tmp_path / f"made{ending}"
    assert ask(command, "tourer", path).code == 0
    before = bytes_of(path)
    for words in ((command, folder, path), (command, folder, path, "--json")):
        told = ask(*words)
        assert told.code == 2
        assert "--over" in told.out + told.err
        assert bytes_of(path) == before
    assert ask(command, folder, path, "--over").code == 0
    assert open_job(path) == open_folder(folder)


def test_a_job_written_over_itself_is_the_same(ask, archive):
    before = archive.read_bytes()
    assert ask("import", archive, archive, "--over").code == 0
    assert archive.read_bytes() == before


def test_photos_stay_in_an_archive_whose_sheets_are_replaced(ask, archive, tmp_path):
    assert ask("export", "tourer", archive, "--over").code == 0
    found = read_archive(archive)
    assert dict(found.kept) == KEPT
    assert len(found.job.wires) != 24


def test_photos_of_another_archive_are_not_replaced(ask, archive, tmp_path):
    other = tmp_path / "other.loomjob"
    write_archive(open_job(archive), other, {**KEPT, "photos/box.jpg": b"another", "photos/new.jpg": b"x"})
    before = archive.read_bytes()
    told = ask("export", other, archive, "--over")
    assert told.code == 2
    assert "photos/box.jpg" in told.err
    assert "move that one away" in told.err
    assert archive.read_bytes() == before
    write_archive(open_job(archive), other, {**KEPT, "photos/new.jpg": b"x"})
    assert ask("export", other, archive, "--over").code == 0
    assert sorted(read_archive(archive).kept) == ["history/1/wires.csv", "photos/box.jpg", "photos/new.jpg"]


def test_an_archive_that_cannot_be_read_is_not_replaced(ask, job, archive):
    archive.write_bytes(archive.read_bytes()[:-10])
    before = archive.read_bytes()
    assert ask("export", "tourer", archive, "--over").code == 2
    assert archive.read_bytes() == before


def test_a_folder_with_sheets_that_the_job_has_not_is_not_mixed_with_it(ask, job, tmp_path):
    folder = job()
    (folder / "my list.csv").write_text("a\n1\n", encoding="utf-8")
    told = ask("export", "tourer", folder, "--over")
    assert told.code == 2
    assert "my list" in told.err
    (folder / "my list.csv").unlink()
    assert ask("export", "tourer", folder, "--over").code == 0
    assert ask("export", folder, tmp_path / "again.json").code == 0


def test_an_empty_folder_and_one_of_other_files_are_taken(ask, job, tmp_path):
    (tmp_path / "made").mkdir()
    (tmp_path / "made" / "read me.txt").write_text("x", encoding="utf-8")
    assert ask("export", job(), tmp_path / "made").code == 0
    assert (tmp_path / "made" / "read me.txt").exists()


# all or nothing


def test_every_place_is_told_and_nothing_is_written(ask, job, tmp_path):
    sheets = changed("wires", "W13", colour="LG", to="nowhere.1")
    folder = job(sheets)
    for ending in ENDINGS:
        told = ask("import", folder, tmp_path / f"made{ending}", "--json")
        assert sorted(problem["column"] for problem in told.refused) == ["colour", "to"]
        assert not (tmp_path / f"made{ending}").exists()
    assert "2 places to mend; nothing was taken in." in ask("import", folder, tmp_path / "made").err


@pytest.mark.parametrize("ending", [".xlsx", ".loomjob", ".json"])
def test_a_full_disk_leaves_the_old_file(ask, job, tmp_path, monkeypatch, ending):
    folder = job()
    path = tmp_path / f"made{ending}"
    ask("import", "tourer", path)
    before = path.read_bytes()

    def full(_handle):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(one_file.os, "fsync", full)
    told = ask("import", folder, path, "--over")
    assert told.code == 2
    assert "No space left on device" in told.err
    assert path.read_bytes() == before
    assert [each.name for each in tmp_path.iterdir() if each.name.startswith(".")] == []


@pytest.mark.parametrize("name", ["van.pdf", "van.zip", "van.csv", "van.xls"])
@pytest.mark.parametrize("command", ["import", "export"])
def test_an_ending_that_is_not_known_is_told_with_those_that_are(ask, job, tmp_path, command, name):
    told = ask(command, job(), tmp_path / name, "--json")
    (problem,) = told.refused
    assert name in problem["found"]
    for ending in (".xlsx", ".loomjob", ".json", "folder", *([".cir"] if command == "export" else [])):
        assert ending in problem["allowed"]
    assert not (tmp_path / name).exists()


def test_a_wrong_ending_is_told_by_the_right_one(ask, job, tmp_path):
    write_job(open_folder(job()), tmp_path / "van.xlsx")
    (tmp_path / "van.xlsx").rename(tmp_path / "van.json")
    told = ask("check", tmp_path / "van.json")
    assert told.code == 2
    assert "van.json is a workbook" in told.err.replace("'", "")
    assert "Call it van.xlsx" in told.err


@pytest.mark.parametrize("name", ["n" * 300 + ".json", "n" * 300, "taken/van.json", "taken/van"])
def test_a_place_no_file_can_have_is_told(ask, job, tmp_path, name):
    (tmp_path / "taken").write_text("x", encoding="utf-8")
    told = ask("export", job(), tmp_path / name)
    assert told.code == 2
    assert told.err.strip()
    assert sorted(each.name for each in tmp_path.iterdir()) == ["job", "taken"]


def test_a_netlist_goes_out_of_any_container(ask, job, tmp_path):
    folder = job()
    write_job(open_folder(folder), tmp_path / "van.json")
    assert ask("export", folder, tmp_path / "a.cir", "--state", "key=run").code == 0
    assert ask("export", tmp_path / "van.json", tmp_path / "b.CIR", "--state", "key=run", "--json").code == 0
    assert (tmp_path / "a.cir").read_bytes() == (tmp_path / "b.CIR").read_bytes()


def test_a_netlist_is_no_job_to_read(ask, job, tmp_path):
    ask("export", job(), tmp_path / "a.cir")
    told = ask("import", tmp_path / "a.cir", tmp_path / "b.json")
    assert told.code == 2
    assert "a.cir is a file of another kind" in told.err
