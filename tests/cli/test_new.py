"""`loomwright new`: an empty job to fill in, that reads back, and never takes the place of anything."""

from __future__ import annotations

import csv
import json

import openpyxl
import pytest

from loomwright.cli.main import main
from loomwright.job.schema import SHEETS, headings
from loomwright.job.vehicle import PROPERTIES, vehicle_of
from loomwright.sheets.empty_job import empty_job
from loomwright.sheets.workbook import open_workbook, read_workbook
from loomwright.sheets.workbook_writing import workbook_bytes


def told(capsys, *words):
    """The exit code, what was said, and what was said of what stood in the way."""
    code = main(["new", *map(str, words)])
    said = capsys.readouterr()
    return code, said.out, said.err


def test_an_empty_workbook_has_every_sheet_and_the_guide_first(tmp_path, capsys):
    path = tmp_path / "my.xlsx"
    code, said, _ = told(capsys, path)
    assert code == 0
    assert f"loomwright check {path}" in said
    book = openpyxl.load_workbook(path)
    assert book.sheetnames == ["guide", *SHEETS]
    assert book.active.title == "guide"
    for sheet in SHEETS:
        assert tuple(cell.value for cell in book[sheet][1]) == headings(sheet)
        if sheet != "vehicle":
            assert book[sheet].max_row == 1
    rows, faults = read_workbook(path.read_bytes())
    assert faults == []
    assert set(rows) == set(SHEETS)


def value_of(name: str) -> str:
    """The cell of the sheet vehicle in which a property's value is typed."""
    return f"B{2 + list(PROPERTIES).index(name)}"


def test_the_vehicle_comes_with_the_names_of_its_properties(tmp_path, capsys):
    path = tmp_path / "my.xlsx"
    told(capsys, path)
    rows = {row["name"]: row["value"] for row in read_workbook(path.read_bytes())[0]["vehicle"]}
    assert tuple(rows) == tuple(PROPERTIES)
    assert {name: value for name, value in rows.items() if value} == {"system_voltage": "12", "earth": "negative"}
    assert vehicle_of(empty_job()).system_v == 12.0
    offers = openpyxl.load_workbook(path)["vehicle"].data_validations.dataValidation
    by_cell = {str(offer.sqref): offer for offer in offers}
    assert by_cell["B3"].formula1 == '"6,12,24"'
    assert by_cell["B4"].formula1 == '"negative,positive"'
    assert "-60 to 90 °C" in by_cell[value_of("design_ambient_c")].prompt


def test_a_filled_in_workbook_is_read_as_a_job(tmp_path, capsys):
    path = tmp_path / "my.xlsx"
    told(capsys, path)
    book = openpyxl.load_workbook(path)
    for row in (["B1", "battery"], ["F1", "fuse"], ["L1", "lamp"]):
        book["parts"].append(row)
    for row in (
        ["W1", None, "B1.+", "F1.1", 2.5],
        ["W2", None, "F1.2", "L1.1", "16 AWG"],
        ["W3", None, "L1.2", "body"],
    ):
        book["wires"].append(row)
    book["wires"].append(["W4", None, "B1.-", "body", 25])
    book["vehicle"][value_of("design_ambient_c")] = 45
    book.save(path)
    job = open_workbook(path)
    assert [part.id for part in job.parts] == ["B1", "F1", "L1"]
    assert [wire.size_mm2 for wire in job.wires] == [2.5, pytest.approx(1.309, abs=0.001), None, 25.0]
    assert vehicle_of(job).design_ambient_c == 45.0


def test_an_empty_folder_has_every_sheet_with_its_headings(tmp_path, capsys):
    path = tmp_path / "my"
    assert told(capsys, path)[0] == 0
    for sheet in SHEETS:
        assert (path / f"{sheet}.csv").read_text(encoding="utf-8").splitlines()[0] == ",".join(headings(sheet))
    assert len(list(path.iterdir())) == len(SHEETS)
    sheets = {one.stem: list(csv.DictReader(one.read_text(encoding="utf-8").splitlines())) for one in path.iterdir()}
    assert [row["name"] for row in sheets["vehicle"]] == list(PROPERTIES)
    assert [name for name, rows in sheets.items() if rows] == ["vehicle"]


def test_a_folder_that_is_there_and_empty_is_used(tmp_path, capsys):
    (tmp_path / "my").mkdir()
    assert told(capsys, tmp_path / "my")[0] == 0
    assert (tmp_path / "my" / "wires.csv").exists()


@pytest.mark.parametrize("name", ["my.xlsx", "my"])
def test_nothing_is_ever_written_over(name, tmp_path, capsys):
    told(capsys, tmp_path / name)
    before = {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()}
    code, _, said = told(capsys, tmp_path / name)
    assert code == 2
    assert "is there already" in said
    assert {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()} == before


def test_a_link_that_leads_nowhere_is_not_written_through(tmp_path, capsys):
    (tmp_path / "my.xlsx").symlink_to(tmp_path / "other.xlsx")
    assert told(capsys, tmp_path / "my.xlsx")[0] == 2
    assert not (tmp_path / "other.xlsx").exists()


def test_a_folder_with_anything_in_it_is_left_alone(tmp_path, capsys):
    (tmp_path / "my").mkdir()
    (tmp_path / "my" / "photo.jpg").write_bytes(b"x")
    assert told(capsys, tmp_path / "my")[0] == 2
    assert [path.name for path in (tmp_path / "my").iterdir()] == ["photo.jpg"]


@pytest.mark.parametrize("name", ["my.loomjob", "my.json", "my.csv", ""])
def test_other_endings_are_told(name, capsys, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    code, _, said = told(capsys, name)
    assert code == 2
    assert "NAME.xlsx" in said
    assert list(tmp_path.iterdir()) == []


def test_a_folder_is_made_whole_or_not_at_all(tmp_path, capsys, monkeypatch):
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    code, _, said = told(capsys, tmp_path / "my")
    monkeypatch.undo()
    assert code == 2
    assert "No space left on device" in said
    assert list(tmp_path.iterdir()) == []


def test_the_answer_as_data(tmp_path, capsys):
    code, said, _ = told(capsys, tmp_path / "my.xlsx", "--json")
    assert (code, json.loads(said)) == (0, {"written": str(tmp_path / "my.xlsx")})


def test_an_empty_job_gives_the_same_bytes_every_time(tmp_path, capsys):
    told(capsys, tmp_path / "my.xlsx")
    assert (tmp_path / "my.xlsx").read_bytes() == workbook_bytes(empty_job(), open_guide=True)
