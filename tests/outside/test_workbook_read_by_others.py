"""Our workbooks in another program (openpyxl), and its workbooks in ours: the same text in every cell, and no formula.

openpyxl has a parser of its own and shares no code with what reads and writes ours. Of codes of signs that XML cannot
hold (`_x000D_`) it knows the mark of a text that only looks like one (`_x005F_`) and leaves the others as they stand in
the file; those are decoded here, from memory of ISO/IEC 29500-1.
"""

from __future__ import annotations

import datetime
import io
import re
import warnings
import zipfile

import openpyxl
import pytest

from loomwright.examples.shelf import example_folder, example_names
from loomwright.job.reading import job_from_text
from loomwright.job.schema import SHEETS, headings
from loomwright.job.writing import text_from_job
from loomwright.sheets.csv_folder import open_folder
from loomwright.sheets.workbook import read_workbook
from loomwright.sheets.workbook_writing import workbook_bytes
from tests.job.small import read, sheets
from tests.sheets.mutated_workbooks import mutated
from tests.sheets.test_workbook_round_trip import NASTY

_CODE = re.compile("_x([0-9A-Fa-f]{4})_")
_CONTROL = re.compile("[\x00-\x08\x0b-\x1f]")


def opened(data: bytes) -> openpyxl.Workbook:
    """A workbook in the other program, formulas as formulas."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")  # it warns of what it cannot keep
        return openpyxl.load_workbook(io.BytesIO(data))


def decoded(text: str) -> str:
    """A text with the codes of its signs taken as signs."""
    return _CODE.sub(lambda code: chr(int(code.group(1), 16)), text)


def text_in(value: object) -> str:
    """What the other program's value of a cell is as text."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (int, float)):
        return str(int(value)) if value == int(value) else repr(float(f"{value:.15g}"))
    return str(value)


def rows_in(tab) -> list[dict[str, str]]:
    """The rows of a sheet in the other program, heading -> text, blank ones left out."""
    first, *rest = [[text_in(value) for value in row] for row in tab.iter_rows(values_only=True)]
    return [dict(zip(first, row, strict=True)) for row in rest if any(row)]


@pytest.mark.parametrize("name", example_names())
def test_the_other_program_finds_every_text_of_a_job(name):
    job = open_folder(example_folder(name))
    book = opened(workbook_bytes(job))
    text = text_from_job(job)
    assert book.sheetnames == ["guide", *SHEETS]
    for sheet in SHEETS:
        assert rows_in(book[sheet]) == text.get(sheet, []), sheet


def test_the_other_program_finds_every_odd_text():
    # it takes the mark off wherever it finds it, or not at all
    texts = [text for text in NASTY if "x005F" not in text and "_x0041_x" not in text]
    job = read({**sheets(), "my sheet": [{"own": text, "other": "x"} for text in texts]})
    seen = [row["own"] for row in rows_in(opened(workbook_bytes(job))["my sheet"])]
    assert [decoded(one) if _CONTROL.search(text) else one for one, text in zip(seen, texts, strict=True)] == texts


def test_the_other_program_finds_no_formula_no_link_and_our_lists():
    job = read({**sheets(), "my sheet": [{"own": text} for text in NASTY]})
    book = opened(workbook_bytes(job))
    lists = 0
    for tab in book:
        for row in tab.iter_rows():
            for cell in row:
                assert cell.data_type in ("s", "n")
                assert cell.hyperlink is None
        lists += sum(offer.type == "list" for offer in tab.data_validations.dataValidation)
        if tab.title != "guide":
            assert tab.freeze_panes in ("A2", "B2")
    assert lists > 50


def test_what_the_other_program_saves_again_is_the_same_job():
    job = read(sheets())
    book = opened(workbook_bytes(job))
    file = io.BytesIO()
    book.save(file)
    read_back, faults = read_workbook(file.getvalue())
    assert faults == []
    assert job_from_text(read_back) == job


def test_a_workbook_made_by_the_other_program_is_read():
    book = openpyxl.Workbook()
    tab = book.active
    tab.title = "parts"
    tab.append(["id", "kind", "notes", "rated_v", "bought"])
    tab.append(["B1", "battery", "a\nb", 12, datetime.date(2024, 5, 31)])
    tab.append([15, "fuse", True, 13.5, datetime.datetime(2024, 5, 31, 10, 30)])
    tab.append(["F2", "fuse", "=1+1", None, datetime.time(8, 5)])
    tab.append([None, None, None, None, None])
    tab.append(["F3", "fuse", None, None, datetime.timedelta(hours=30, minutes=15)])
    hidden = book.create_sheet("wires")
    hidden.append(["id"])
    hidden.sheet_state = "veryHidden"
    file = io.BytesIO()
    book.save(file)
    read_back, faults = read_workbook(file.getvalue())
    assert [(fault.sheet, fault.row, fault.column) for fault in faults] == [("parts", 4, "notes")]
    assert [list(row.values()) for row in read_back["parts"]] == [
        ["B1", "battery", "a\nb", "12", "2024-05-31"],
        ["15", "fuse", "yes", "13.5", "2024-05-31T10:30"],
        ["F2", "fuse", "", "", "08:05"],
        [],
        ["F3", "fuse", "", "", "30:15"],
    ]
    assert read_back["wires"] == []


def filled_in(row: dict[str, str]) -> dict[str, str]:
    """The cells of a row that hold something, without blanks around it."""
    return {name: decoded(text).strip() for name, text in row.items() if text.strip()}


def test_where_both_read_a_changed_workbook_they_read_the_same():
    compared = 0
    for seed in range(5000, 5050):
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            data = mutated(seed)
            read_back, faults = read_workbook(data)
            try:
                book = openpyxl.load_workbook(io.BytesIO(data), data_only=True)
            except Exception:  # noqa: BLE001  # not a workbook for the other program
                continue
        if faults:
            continue
        for tab in (tab for tab in book if tab.title in read_back):
            seen = [[cell.value for cell in row] for row in tab.iter_rows()]
            dates = any(
                isinstance(value, (datetime.date, datetime.time, datetime.timedelta)) for row in seen for value in row
            )
            rows = [row for row in read_back[tab.title] if any(text.strip() for text in row.values())]
            filled = [[text_in(value) for value in row] for row in seen if any(text_in(value).strip() for value in row)]
            if not filled or dates:
                continue
            names = [text.strip() for text in filled[0]]
            theirs = [{name: text for name, text in zip(names, row, strict=True) if name} for row in filled[1:]]
            # the other program writes blanks at the ends of a text, and codes, without the mark that keeps them
            assert [filled_in(row) for row in rows] == [filled_in(row) for row in theirs], (seed, tab.title)
            compared += len(rows)
    assert compared > 200


def test_the_parts_of_the_file_are_those_of_a_workbook():
    with zipfile.ZipFile(io.BytesIO(workbook_bytes(read(sheets())))) as file:
        names = set(file.namelist())
        assert file.testzip() is None
        assert {"[Content_Types].xml", "_rels/.rels", "xl/workbook.xml", "xl/styles.xml"} <= names
        assert not any("external" in name.lower() or name.endswith(".bin") for name in names)
        wires = file.read(f"xl/worksheets/sheet{list(SHEETS).index('wires') + 2}.xml").decode()
    assert f'<dimension ref="A1:U{len(sheets()["wires"]) + 1}"/>' in wires
    assert len(headings("wires")) == 21
