"""A job in a folder of CSV sheets: every fault of the files told at once; writing that is all or nothing."""

from __future__ import annotations

import time
from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from loomwright.job.edits import add_row, drop_row, set_cell
from loomwright.job.reading import job_from_text
from loomwright.job.schema import headings
from loomwright.refusals import BadDocument
from loomwright.sheets import csv_folder
from loomwright.sheets.csv_folder import open_folder, write_folder
from tests.job.small import SOUND, read, sheets


@pytest.fixture
def folder(tmp_path):
    """The small job in a folder."""
    path = tmp_path / "van"
    write_folder(read(sheets()), path)
    return path


def refused(path):
    with pytest.raises(BadDocument) as refusal:
        open_folder(path)
    for problem in refusal.value.problems:
        assert problem.found
        assert problem.allowed
        assert problem.mend
        assert problem.says.endswith(".")
    return refusal.value.problems


def only(path):
    (problem,) = refused(path)
    return problem


def files(path):
    return {file.relative_to(path).as_posix(): file.read_bytes() for file in sorted(path.rglob("*")) if file.is_file()}


# reading


def test_the_small_job_comes_back_from_its_folder(folder):
    job = read(sheets())
    assert open_folder(folder) == job
    assert open_folder(str(folder)) == job
    assert sorted(file.name for file in folder.iterdir()) == sorted(f"{sheet}.csv" for sheet in SOUND)
    first = (folder / "wires.csv").read_text(encoding="utf-8").splitlines()
    assert first[0] == ",".join(headings("wires"))
    assert len(first) - 1 == len(SOUND["wires"])


def test_a_byte_order_mark_and_semicolons_are_read(folder):
    text = "id;kind\nB1;battery\n"
    for file in folder.iterdir():
        file.unlink()
    (folder / "parts.csv").write_bytes(b"\xef\xbb\xbf" + text.encode())
    assert open_folder(folder).parts[0].id == "B1"


def test_names_in_any_mixture_of_capitals(tmp_path):
    (tmp_path / "Parts.CSV").write_text("id,kind\nB1,battery\n")
    assert open_folder(tmp_path).parts[0].id == "B1"
    (tmp_path / "parts.csv").write_text("id,kind\nB1,battery\n")
    problem = only(tmp_path)
    assert (problem.sheet, problem.allowed) == ("parts", "each sheet once")


def test_other_files_are_left_alone(folder):
    (folder / "photo.jpg").write_bytes(b"\xff\xd8")
    (folder / "notes").mkdir()
    (folder / "._parts.csv").write_bytes(b"\x00\x01")
    assert open_folder(folder) == read(sheets())


def test_a_folder_that_is_not_there(tmp_path):
    problem = only(tmp_path / "nowhere")
    assert "is not there" in problem.found
    assert (problem.sheet, problem.row) == ("", None)


def test_a_folder_that_is_a_file(tmp_path):
    path = tmp_path / "van"
    path.write_text("x")
    assert "is a file" in only(path).found


def test_a_folder_with_no_sheet(tmp_path):
    (tmp_path / "readme.txt").write_text("x")
    problem = only(tmp_path)
    assert "holds no sheet" in problem.found
    assert "parts.csv" in problem.mend


def test_a_sheet_that_is_a_folder(folder):
    (folder / "crimps.csv").mkdir()
    problem = only(folder)
    assert (problem.sheet, problem.found) == ("crimps", "crimps.csv is a folder")


def test_a_sheet_that_leads_nowhere(folder):
    (folder / "crimps.csv").symlink_to(folder / "gone.csv")
    assert only(folder).found == "crimps.csv leads nowhere"


def test_a_sheet_that_is_not_utf_8_says_the_line(folder):
    (folder / "crimps.csv").write_bytes(b"terminal,die\nring 6,a\nring 8,\xb5\n")
    problem = only(folder)
    assert (problem.sheet, problem.row, problem.found) == ("crimps", 3, "a byte 0xb5 in line 3")
    assert "UTF-8" in problem.mend
    (folder / "crimps.csv").write_bytes("terminal,die\nring 6,a\n".encode("utf-16"))
    assert only(folder).row == 1


def test_a_sheet_that_is_too_large(folder, monkeypatch):
    monkeypatch.setattr(csv_folder, "MOST_BYTES", 1024 * 1024)
    (folder / "crimps.csv").write_bytes(b"terminal\n" + b"x" * 3 * 1024 * 1024)
    problem = only(folder)
    assert (problem.sheet, problem.found, problem.allowed) == ("crimps", "3 MB", "at most 1 MB")


def test_a_sheet_that_may_not_be_read(folder, monkeypatch):
    real = Path.read_bytes

    def locked(self):
        if self.name == "crimps.csv":
            raise PermissionError(13, "Permission denied")
        return real(self)

    (folder / "crimps.csv").write_text("terminal\n")
    monkeypatch.setattr(Path, "read_bytes", locked)
    problem = only(folder)
    assert (problem.sheet, problem.found) == ("crimps", "crimps.csv: Permission denied")


def test_every_fault_of_files_and_cells_at_once_without_echoes(folder):
    (folder / "places.csv").write_bytes(b"id,name\nbay,\xb5\n")
    (folder / "metals.csv").write_text('id,name\nbonnet,"lid\n')
    (folder / "crimps.csv").mkdir()
    wires = (folder / "wires.csv").read_text().replace("RD", "LG").replace("E1", "E9")
    (folder / "wires.csv").write_text(wires)
    (folder / "snags.csv").write_text("id,text\ns1,loose, wet\n")
    found = [(problem.sheet, problem.row, problem.column) for problem in refused(folder)]
    assert found == [
        ("places", 2, ""),
        ("metals", 2, ""),
        ("crimps", None, ""),
        ("wires", 2, "colour"),
        ("snags", 2, ""),
    ]


def test_wrong_headings(folder):
    (folder / "wires.csv").write_text("name,from,to\nW1,B1.+,F1.1\n")
    (folder / "metals.csv").write_text("id,name,id\nbonnet,x,y\n")
    (folder / "crimps.csv").write_text("terminl,pull_n\nring,3\n")
    found = [(problem.sheet, problem.row, problem.column) for problem in refused(folder)]
    assert found == [("metals", 1, "id"), ("crimps", 1, "terminal"), ("wires", 1, "id")]


def test_a_sheet_of_a_hundred_thousand_rows_is_refused_in_seconds(folder):
    (folder / "wires.csv").write_text("id,from,to\n" + "".join(f"W{count},B1.+,F1.1\n" for count in range(100_000)))
    start = time.process_time()
    problem = only(folder)
    assert time.process_time() - start < 5.0
    assert (problem.sheet, problem.row, problem.found) == ("wires", None, "100000 rows")
    assert "20000" in problem.allowed


def test_rows_have_the_numbers_of_the_spreadsheet(folder):
    (folder / "crimps.csv").write_text('\nterminal,die\n\n"two\nlines",a\nring,b\n\nring,c\n')
    problem = only(folder)
    assert (problem.sheet, problem.row, problem.column, problem.found) == ("crimps", 7, "terminal", "ring")
    assert "Row 5" in problem.mend


# writing


def test_what_was_there_stays_there(folder):
    (folder / "photo.jpg").write_bytes(b"\xff\xd8")
    (folder / ".git").mkdir()
    (folder / ".git" / "HEAD").write_text("main")
    (folder / "my list.csv").write_text("a,b\n1,2\n")
    job = open_folder(folder)
    assert job.extra_sheets["my list"] == ({"a": "1", "b": "2"},)
    write_folder(set_cell(job, "wires", "W1", "notes", "checked"), folder)
    assert (folder / "photo.jpg").exists()
    assert (folder / ".git" / "HEAD").read_text() == "main"
    assert (folder / "my list.csv").read_text() == "a,b\n1,2\n"
    assert open_folder(folder).wires[0].notes == "checked"


def test_written_twice_the_bytes_are_the_same(folder):
    before = files(folder)
    write_folder(open_folder(folder), folder)
    assert files(folder) == before


def test_a_file_keeps_its_capitals(tmp_path):
    (tmp_path / "Parts.csv").write_text("id,kind\nB1,battery\n")
    write_folder(add_row(open_folder(tmp_path), "parts", {"id": "L1", "kind": "lamp"}), tmp_path)
    assert [file.name for file in tmp_path.iterdir()] == ["Parts.csv"]
    assert [part.id for part in open_folder(tmp_path).parts] == ["B1", "L1"]


def test_a_sheet_that_lost_its_last_row_keeps_its_headings(folder):
    job = drop_row(open_folder(folder), "old_wires", "o1")
    job = drop_row(job, "readings", 2)
    write_folder(job, folder)
    assert (folder / "old_wires.csv").read_text() == ",".join(headings("old_wires")) + "\n"
    assert open_folder(folder) == job


def test_formulas_are_written_as_text(tmp_path):
    job = job_from_text({"parts": [{"id": "B1", "kind": "battery", "notes": '=HYPERLINK("x")', "name": "-"}]})
    write_folder(job, tmp_path / "van")
    assert "'=HYPERLINK" in (tmp_path / "van" / "parts.csv").read_text()
    assert open_folder(tmp_path / "van") == job


@pytest.mark.parametrize("name", ["../up", "a/b", "..", ".hidden", "a:b", "x" * 150, "two\nlines"])
def test_a_sheet_with_a_name_no_file_can_have_is_not_written(tmp_path, name):
    job = job_from_text({"parts": [{"id": "B1", "kind": "battery"}], name: [{"a": "1"}]})
    with pytest.raises(BadDocument) as refusal:
        write_folder(job, tmp_path / "van")
    assert refusal.value.problems[0].allowed == "a name a file can have"
    assert list(tmp_path.iterdir()) == []


def test_a_file_in_the_way_is_told(tmp_path):
    (tmp_path / "van").write_text("x")
    with pytest.raises(BadDocument) as refusal:
        write_folder(read(sheets()), tmp_path / "van")
    assert "is a file" in refusal.value.problems[0].found
    with pytest.raises(BadDocument):
        write_folder(read(sheets()), tmp_path / "van" / "deeper")
    assert (tmp_path / "van").read_text() == "x"


class Cut(BaseException):
    """The power goes."""


STEPS = ["open", "mkdir", "rename", "replace", "rmdir"]


def cut_at(monkeypatch, step, times):
    """Makes the `times`-th use of a step of writing the last thing that happens; says whether it was reached."""
    real = getattr(Path, step)
    left = [times]

    def cutting(self, *arguments, **named):
        left[0] -= 1
        if left[0] == 0:
            raise Cut
        return real(self, *arguments, **named)

    monkeypatch.setattr(Path, step, cutting)
    return left


@pytest.mark.parametrize("tidied", [True, False])
@pytest.mark.parametrize("step", STEPS)
def test_stopped_half_way_the_old_job_stands_or_the_new_one(tmp_path, monkeypatch, step, tidied):
    folder = tmp_path / "van"
    old = job_from_text(
        {"parts": [{"id": "B1", "kind": "battery"}], "wires": [{"id": "W1"}], "stock": [{"item": "tape"}]}
    )
    new = add_row(set_cell(old, "parts", "B1", "name", "main"), "wires", {"id": "W9", "from": "B1.-", "to": "body"})
    write_folder(old, folder)
    seen = set()
    for times in range(1, 40):
        with monkeypatch.context() as patch:
            if not tidied:
                # the power goes: nothing is put in order afterwards
                patch.setattr(csv_folder.shutil, "rmtree", lambda *_, **__: None)
            left = cut_at(patch, step, times)
            with suppress(Cut):
                write_folder(new, folder)
        reached = left[0] <= 0
        found = open_folder(folder)
        assert found in (old, new)
        seen.add("new" if found == new else "old")
        write_folder(old, folder)
        assert open_folder(folder) == old
        assert not (folder / ".sheets-written").exists()
        if not reached:
            break
    else:
        pytest.fail("writing never came to its end")
    assert seen == {"open": {"old", "new"}, "mkdir": {"old", "new"}, "rename": {"old", "new"}}.get(step, {"new"})


def test_a_full_disk_changes_nothing(folder, monkeypatch):
    before = files(folder)
    job = set_cell(open_folder(folder), "parts", "F1", "name", "main")

    def full(_handle):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(csv_folder.os, "fsync", full)
    with pytest.raises(BadDocument) as refusal:
        write_folder(job, folder)
    assert "No space left" in refusal.value.problems[0].found
    assert files(folder) == before
    with pytest.raises(BadDocument):
        write_folder(job, folder.parent / "other")
    assert not (folder.parent / "other").exists()


texts = st.text(alphabet=st.characters(blacklist_categories=("Cs",), blacklist_characters="\0"), max_size=15)


@settings(max_examples=30, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.lists(texts, min_size=1, max_size=4),
    st.dictionaries(st.text("abc =+;,'", min_size=1, max_size=4), texts, max_size=2),
)
def test_whatever_is_typed_comes_back_from_the_folder(tmp_path_factory, notes, own):
    own = {name.strip(): text for name, text in own.items() if name.strip() and name.strip() != "id"}
    parts = [{"id": "B1", "kind": "battery"}]
    parts += [{"id": f"L{count}", "kind": "lamp", "notes": text, **own} for count, text in enumerate(notes)]
    job = job_from_text({"parts": [{"notes": "", **dict.fromkeys(own, ""), **part} for part in parts]})
    path = tmp_path_factory.mktemp("job")
    write_folder(job, path)
    assert open_folder(path) == job


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.binary(max_size=60), st.sampled_from([b"", b"id,kind\n", b"id;kind\nB1;battery\n", b"\xef\xbb\xbf", b'"id"\n'])
)
def test_whatever_bytes_a_sheet_holds_it_is_read_or_refused(tmp_path_factory, raw, start):
    path = tmp_path_factory.mktemp("job")
    (path / "parts.csv").write_bytes(start + raw)
    (path / "list.csv").write_bytes(start + raw)
    try:
        job = open_folder(path)
    except BadDocument as refusal:
        assert all(problem.mend and problem.allowed for problem in refusal.problems)
        return
    assert job.parts
