"""A job is opened by its ending and its content, and a wrong ending is told by the right one."""

from __future__ import annotations

import io
import zipfile

import pytest

import loomwright
from loomwright.job.edits import set_cell
from loomwright.refusals import BadDocument
from loomwright.sheets.archive import write_archive
from loomwright.sheets.csv_folder import write_folder
from loomwright.sheets.json_document import json_bytes, write_json
from loomwright.sheets.opening import CONTAINERS, open_job, open_with_kept, write_job
from tests.sheets.containers import ENDINGS, small_job
from tests.sheets.zips import Piece, zip_of


def refused(path):
    with pytest.raises(BadDocument) as refusal:
        open_job(path)
    (problem,) = refusal.value.problems
    assert problem.allowed
    return problem.found, problem.mend


def test_there_are_four_containers():
    assert set(CONTAINERS) == set(ENDINGS)


@pytest.mark.parametrize("ending", [*ENDINGS, ".XLSX", ".LoomJob", ".Json"])
def test_written_and_opened_by_its_ending_the_job_is_the_same(tmp_path, ending):
    path = tmp_path / f"van{ending}"
    assert write_job(small_job(), path) == ()
    assert path.is_dir() == (ending == "")
    assert open_job(path) == small_job()
    assert open_job(str(path)) == small_job()


@pytest.mark.parametrize("ending", ENDINGS)
def test_the_front_door_takes_every_container(tmp_path, ending):
    path = tmp_path / f"van{ending}"
    write_job(small_job(), path)
    assert loomwright.open(path).job == small_job()
    assert loomwright.open(str(path)).job == small_job()


@pytest.mark.parametrize("ending", ENDINGS)
def test_written_once_more_the_new_job_stands(tmp_path, ending):
    path = tmp_path / f"van{ending}"
    write_job(small_job(), path)
    changed = set_cell(small_job(), "parts", "L1", "name", "white lamp")
    write_job(changed, path)
    assert open_job(path) == changed


def test_only_an_archive_has_a_place_for_photos_and_the_others_are_told(tmp_path):
    kept = {"photos/a.jpg": b"\xff\xd8", "history/1.csv": b"id\n"}
    assert write_job(small_job(), tmp_path / "van.loomjob", kept) == ()
    assert dict(open_with_kept(tmp_path / "van.loomjob").kept) == kept
    for ending in ("", ".json"):
        path = tmp_path / f"other{ending}"
        assert write_job(small_job(), path, kept) == ("photos/a.jpg", "history/1.csv")
        assert dict(open_with_kept(path).kept) == {}


WRONG = [(real, said) for real in ENDINGS[1:] for said in (*ENDINGS, ".zip", ".txt") if real != said]


@pytest.mark.parametrize(("real", "said"), WRONG)
def test_a_wrong_ending_is_told_by_the_right_one(tmp_path, real, said):
    write_job(small_job(), tmp_path / f"right{real}")
    path = tmp_path / f"van{said}"
    (tmp_path / f"right{real}").rename(path)
    found, mend = refused(path)
    assert found == f"van{said} is {CONTAINERS[real]}"
    assert mend == f"Call it van{real}"


@pytest.mark.parametrize("said", ENDINGS[1:])
def test_a_folder_with_the_ending_of_a_file_is_told(tmp_path, said):
    write_folder(small_job(), tmp_path / f"van{said}")
    found, mend = refused(tmp_path / f"van{said}")
    assert found == f"van{said} is a folder"
    assert f"without {said}" in mend


def test_a_folder_may_have_a_point_in_its_name(tmp_path):
    (tmp_path / "van.second try").mkdir()
    write_job(small_job(), tmp_path / "van.second try")
    assert open_job(tmp_path / "van.second try") == small_job()


def other_office() -> bytes:
    return zip_of([Piece("mimetype", b"x", method=0), Piece("content.xml", b"<x/>")])


OTHERS = [
    ("van.xls", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600, "a workbook of the old sort", "without a password"),
    ("van.xlsx", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600, "one under a password", "without a password"),
    ("van.ods", other_office(), "a document of another office program", "Save it as .xlsx"),
    ("van.xlsx", other_office(), "a document of another office program", "Save it as .xlsx"),
    ("van.json", b"", "empty", "anew"),
    ("van.loomjob", b"", "empty", "anew"),
    ("van.xlsx", b"", "empty", "anew"),
    ("van.zip", zip_of([Piece("a", b"x")]), "a zip of something else", "Name a folder"),
    ("van.txt", b"a list of wires", "a file of another kind", "Name a folder"),
    ("van", b"a list of wires", "a file of another kind", "Name a folder"),
    ("parts.csv", b"id,kind\nB1,battery\n", "one sheet", "Name the folder"),
]


@pytest.mark.parametrize(("name", "raw", "found", "mend"), OTHERS, ids=lambda each: str(each)[:20])
def test_what_is_no_container_is_told_for_what_it_is(tmp_path, name, raw, found, mend):
    (tmp_path / name).write_bytes(raw)
    told = refused(tmp_path / name)
    assert found in told[0]
    assert mend in told[1]


@pytest.mark.parametrize("name", ["van.json", "van.loomjob"])
def test_a_file_that_is_nothing_its_ending_says_is_told_by_its_reader(tmp_path, name):
    (tmp_path / name).write_bytes(b"a list of wires")
    assert refused(tmp_path / name)[0].startswith(name)


def test_a_zip_cut_off_is_told_as_one(tmp_path):
    write_archive(small_job(), tmp_path / "van.loomjob")
    raw = (tmp_path / "van.loomjob").read_bytes()
    (tmp_path / "van.loomjob").write_bytes(raw[:-400])
    assert "cut off" in refused(tmp_path / "van.loomjob")[0]


@pytest.mark.parametrize("name", ["no.xlsx", "no.loomjob", "no.json", "no", "no.csv", "n" * 300 + ".json", "a\0.json"])
def test_what_is_not_there_is_told(tmp_path, name):
    assert "is not there" in refused(tmp_path / name)[0] or "too long" in refused(tmp_path / name)[0]


@pytest.mark.parametrize("name", ["van.txt", "van.csv", "van.zip", "van.json.bak"])
def test_an_ending_that_is_not_known_is_not_written(tmp_path, name):
    with pytest.raises(BadDocument) as refusal:
        write_job(small_job(), tmp_path / name)
    assert all(ending in refusal.value.problems[0].allowed for ending in ENDINGS)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("ending", ENDINGS[1:])
def test_a_folder_in_the_way_of_a_file_is_told(tmp_path, ending):
    (tmp_path / f"van{ending}").mkdir()
    with pytest.raises(BadDocument, match="is a folder"):
        write_job(small_job(), tmp_path / f"van{ending}")
    assert list((tmp_path / f"van{ending}").iterdir()) == []


def test_a_byte_order_mark_hides_no_json(tmp_path):
    (tmp_path / "van.json").write_bytes(b"\xef\xbb\xbf\n " + json_bytes(small_job()))
    assert open_job(tmp_path / "van.json") == small_job()


def test_an_archive_made_by_another_zip_program_is_known_by_its_content(tmp_path):
    write_archive(small_job(), tmp_path / "van.loomjob")
    file = io.BytesIO((tmp_path / "van.loomjob").read_bytes())
    with zipfile.ZipFile(file) as found, zipfile.ZipFile(tmp_path / "other.loomjob", "w", zipfile.ZIP_DEFLATED) as made:
        for name in sorted(found.namelist(), reverse=True):
            made.writestr(name, found.read(name))
    assert open_job(tmp_path / "other.loomjob") == small_job()


def test_a_document_is_read_with_the_kinds_that_are_given(tmp_path):
    write_json(small_job(), tmp_path / "van.json")
    with pytest.raises(BadDocument):
        open_job(tmp_path / "van.json", kinds={})
