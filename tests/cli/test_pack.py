"""`loomwright pack` writes the folder, counts what stands in it, and refuses a place before it works anything out."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import openpyxl
import pypdfium2
import pytest

from loomwright.cli import pack as command
from loomwright.sheets.archive import archive_bytes
from loomwright.sheets.separated import rows_from_text
from loomwright.store.past import past_members
from loomwright.store.text_rows import SetCell
from tests.handover.bench_van import bench_rows
from tests.pages.shelves import SMALL, shelf_in

FILES = ["board.dxf", "board.pdf", "drawings", "labels.csv", "pack.pdf", "pack.xlsx", "start.pdf", "tests.pdf"]


def test_the_folder_holds_the_pdf_the_workbook_the_labels_and_the_drawings(ask, job, tmp_path):
    out = tmp_path / "new" / "pack"
    told = ask("pack", job(bench_rows()), "--out", out, "--json")
    assert told.code == 0
    assert sorted(path.name for path in out.iterdir()) == FILES
    drawn = sorted(path.name for path in (out / "drawings").iterdir())
    circuits = ("brake", "ecu", "fan", "lights", "supply")
    assert drawn == [f"{name}.{ending}" for name in circuits for ending in ("dxf", "svg")]
    assert sorted(told.plain["written"]) == sorted(str(path) for path in out.rglob("*") if path.is_file())


def test_the_answer_counts_what_stands_in_it(ask, job, tmp_path):
    told = ask("pack", job(bench_rows()), "--out", tmp_path / "pack", "--json").plain
    counts = {name: told[name] for name in ("drawings", "wires", "fuses", "relays", "connectors", "output_tests")}
    assert counts == {"drawings": 5, "wires": 24, "fuses": 3, "relays": 1, "connectors": 2, "output_tests": 2}
    # 22 new wires, two labels each; W6 and W7 are cores, W11 has no length
    assert (told["labels"], told["cuts"], told["dead_tests"], told["decided"]) == (44, 19, 22, 3)
    with pypdfium2.PdfDocument((tmp_path / "pack" / "pack.pdf").read_bytes()) as document:
        assert len(document) == told["pages"]
    book = openpyxl.load_workbook(tmp_path / "pack" / "pack.xlsx")
    assert book["wires"].max_row == 24 + 1
    assert book["cuts"].max_row == 19 + 1


def test_a_pdf_alone_where_a_file_is_named_and_the_same_bytes_again(ask, job, tmp_path):
    file = tmp_path / "papers" / "van.pdf"
    told = ask("pack", job(), "--out", file, "--date", "2024-05-17", "--json")
    assert told.code == 0
    assert told.plain["written"] == [str(file)]
    assert {word: told.plain[word] for word in ("faults", "warnings", "notes")} == {
        "faults": 0,
        "warnings": 0,
        "notes": 3,
    }
    assert [path.name for path in file.parent.iterdir()] == ["van.pdf"]
    out = tmp_path / "pack"
    said = ask("pack", tmp_path / "job", "--out", out, "--date", "2024-05-17").out
    assert said.startswith(f"wrote {out}: 0 faults, 0 warnings, 3 notes; ")
    assert (out / "pack.pdf").read_bytes() == file.read_bytes()


def test_the_whole_folder_is_the_same_from_run_to_run(ask, job, tmp_path):
    folder = job(bench_rows())
    for name in ("one", "two"):
        assert ask("pack", folder, "--out", tmp_path / name).code == 0
    for path in (path for path in (tmp_path / "one").rglob("*") if path.is_file()):
        assert (tmp_path / "two" / path.relative_to(tmp_path / "one")).read_bytes() == path.read_bytes(), path.name


def test_labels_come_two_a_wire_with_both_ends_and_no_formula(ask, job, tmp_path):
    sheets = bench_rows()
    next(row for row in sheets["wires"] if row["id"] == "W12")["colour"] = "BK/OG"
    sheets["circuits"].append({"id": "-lamp"})
    next(row for row in sheets["wires"] if row["id"] == "W12")["circuit"] = "-lamp"
    assert ask("pack", job(sheets), "--out", tmp_path / "pack").code == 0
    text = (tmp_path / "pack" / "labels.csv").read_text(encoding="utf-8")
    rows = [row for row in csv.DictReader(io.StringIO(text)) if row["id"] == "W12"]
    assert [(row["end"], row["here"], row["there"], row["from"], row["to"]) for row in rows] == [
        ("from", "SBRK.2", "BL.1", "SBRK.2", "BL.1"),
        ("to", "BL.1", "SBRK.2", "SBRK.2", "BL.1"),
    ]
    assert {(row["colour"], row["size"], row["circuit"]) for row in rows} == {("BK/OG", "1.5 mm²", "'-lamp")}
    back, problems = rows_from_text("labels", text)
    assert problems == []
    assert {row["circuit"] for row in back if row["id"] == "W12"} == {"-lamp"}


def test_the_pack_has_a_place_of_its_own(ask, job, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert ask("pack", job()).code == 0
    assert sorted(path.name for path in (tmp_path / "out" / "job").iterdir()) == FILES


def test_a_folder_that_is_there_already_is_written_into_and_what_lies_in_it_stays(ask, job, tmp_path):
    out = tmp_path / "pack"
    out.mkdir()
    (out / "photo.txt").write_text("mine", encoding="utf-8")
    for _ in range(2):
        assert ask("pack", job() if not (tmp_path / "job").exists() else tmp_path / "job", "--out", out).code == 0
    assert sorted(path.name for path in out.iterdir()) == sorted([*FILES, "photo.txt"])


@pytest.mark.parametrize("name", ["van.txt", "van.xlsx", "labels.csv", "van.DOCX"])
def test_another_kind_of_file_is_refused(ask, job, name):
    (problem,) = ask("pack", job(), "--out", name, "--json").refused
    assert (problem["found"], problem["column"]) == (name, "--out")
    assert problem["allowed"] == "a folder, or a file name that ends with .pdf"


def test_a_file_where_the_folder_should_be_is_refused_before_anything_is_worked_out(ask, job, tmp_path, monkeypatch):
    (tmp_path / "taken").write_text("a file", encoding="utf-8")
    (tmp_path / "folder.pdf").mkdir()

    def never(_: str) -> object:
        raise AssertionError("the job was opened")

    monkeypatch.setattr(command, "open_given", never)
    for place in ("taken", "folder.pdf"):
        (problem,) = ask("pack", tmp_path, "--out", tmp_path / place, "--json").refused
        assert place in problem["found"]
        assert problem["mend"].startswith("Name another")


@pytest.mark.parametrize("place", ["taken/pack", "x" * 300, "\0"])
def test_a_place_that_cannot_be_written_is_told(ask, job, tmp_path, place):
    (tmp_path / "taken").write_text("a file", encoding="utf-8")
    told = ask("pack", job(), "--out", f"{tmp_path}/{place}", "--json")
    assert told.code == 2
    assert told.refused[0]["mend"] == "Make room or rights, or name another file"


def test_a_terminal_is_told_what_is_being_made(ask, job, tmp_path, monkeypatch):
    monkeypatch.setattr("sys.stderr.isatty", lambda: True, raising=False)
    said = ask("pack", job(), "--out", tmp_path / "pack").err
    places = [said.index(f"making {what} …") for what in ("states", "fuses", "relays", "drawings", "pack.pdf")]
    assert places == sorted(places)
    assert said.endswith("\r\x1b[K")


def test_nothing_is_told_where_nobody_looks(ask, job, tmp_path):
    assert ask("pack", job(), "--out", tmp_path / "pack").err == ""


def test_the_name_of_a_job_in_a_file_is_without_its_ending(tmp_path):
    assert command._name_of(Path("cars/van.xlsx")) == "van"
    (tmp_path / "van.v2").mkdir()
    assert command._name_of(tmp_path / "van.v2") == "van.v2"


def test_sections_and_page_size_are_chosen_and_only_their_files_written(ask, job, tmp_path):
    out = tmp_path / "few"
    assert ask("pack", job(SMALL), "--out", out, "--papers", "labels", "wires", "--page-size", "letter").code == 0
    assert sorted(path.name for path in out.iterdir()) == ["labels.csv", "pack.pdf", "pack.xlsx"]
    with pypdfium2.PdfDocument((out / "pack.pdf").read_bytes()) as document:
        assert [mark.get_title() for mark in document.get_toc() if mark.level == 0] == ["Wire list", "Labels"]
        assert sorted(document[0].get_size()) == pytest.approx([612.0, 792.0])


@pytest.fixture
def shelf(tmp_path):
    """A job on a shelf, in its second revision."""
    made = shelf_in(tmp_path, small=SMALL)
    row = next(row for row in made.now("small").rows["wires"] if row.cells["id"] == "W6")
    edit = SetCell(sheet="wires", row_key=row.key, column="length_mm", old="1000", new="1100")
    made.edit("small", [edit], who="sam", why="measured")
    yield made
    made.close()


def test_what_changed_since_a_revision_is_told_from_the_shelf_and_from_an_archive(ask, shelf, tmp_path):
    archive = tmp_path / "small.loomjob"
    archive.write_bytes(archive_bytes(shelf.now("small").job, past_members(shelf, "small")))
    from_shelf = ("small", "--shelf", shelf.folder)
    for number, job in enumerate((from_shelf, (archive,))):
        out = tmp_path / f"{number}.pdf"
        assert ask("pack", *job, "--out", out, "--since", "1", "--papers", "revisions").code == 0
        with pypdfium2.PdfDocument(out.read_bytes()) as document:
            words = document[len(document) - 1].get_textpage().get_text_bounded()
        assert "Changed since revision 1" in words
        assert "W6 length_mm 1000 1100" in " ".join(words.split())
        assert "measured" in words


@pytest.mark.parametrize("since", ["7", "0", "soon"])
def test_a_revision_that_there_is_not_is_refused(ask, shelf, tmp_path, since):
    told = ask("pack", "small", "--shelf", shelf.folder, "--out", tmp_path / "x.pdf", "--since", since, "--json")
    assert told.code == 2


def test_a_folder_keeps_no_revisions_and_says_where_they_are_kept(ask, job, tmp_path):
    told = ask("pack", job(SMALL), "--out", tmp_path / "x.pdf", "--since", "1")
    assert told.code != 0
    assert "keep no revisions" in told.err
