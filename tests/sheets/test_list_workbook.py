"""The workbook says what the PDF says, row for row; text stays text, figures are numbers, every sheet prints on A4."""

from __future__ import annotations

import io
import re
import zipfile

import openpyxl
import pypdfium2
import pytest

from loomwright.handover.lists import PackList, lists_of
from loomwright.handover.pack import pack_of
from loomwright.sheets.list_workbook import pack_workbook
from loomwright.writers.paper import pack_pdf
from tests.handover.bench_van import LABEL, bench_car
from tests.writers.test_paper import FINDINGS

# list -> the section it is printed in, its columns there
PRINTED = {
    "cautions": ("Cautions", "step|what to do"),
    "findings": ("Findings", "rule|at|what|mend"),
    "wires": ("Wire list", "wire|circuit|colour|size mm²|from|to|length mm|insulation|cable, twist|notes"),
    "reels": ("Cut list", "colour|size mm²|insulation|pieces|needed|on the shelf|so"),
    "cuts": ("Cut list", "colour|mm²|wire|cut mm|from|to|length mm|twist"),
    "cables and twists": ("Cut list", "name|what|cut mm|wires"),
    "length not known": ("Cut list", "wire|colour|size mm²|from|to"),
    "fuses": ("Fuses and relays", "fuse|rating|for|most|goes dead"),
    "relays": ("Fuses and relays", "relay|for|kind|coil from|coil to|contact|most|rating|stops"),
    "connectors": ("Connectors", "cavity|terminal|wire|colour|mm²|goes to|signal|terminal + seal"),
    "dead tests": ("Test sheet", "wire|colour|mm²|probe at|other end|end to end|to the body|through"),
    "outputs": ("Test sheet", "pin|for|wire|volts off|volts on|amps|pulls in, starts|caution"),
    "labels": ("Labels", "wire|colour|size|here|there"),
    "earths": ("Earths and splices", "point|for|wires, and where from|to the post|most"),
    "crimps": ("Crimps and order", "die|terminal|mm²|seal|pull|wire ends"),
    "to order": ("Crimps and order", "what|how much|mind"),
    "controller pins": ("Controller pins", "pin|cavity|can|most"),
    "to buy": ("Parts and what to buy", "count|what|for"),
    "open": ("Snags and questions", "id|says|about|answer"),
    "settled": ("Snags and questions", "what|id|says"),
    "owner": ("Owner's sheet", "what|says"),
    "agreed changes": ("Revisions", "revision|who"),
    "parts": ("Parts and what to buy", "part|name|what it is|settings|notes"),
}


@pytest.fixture(scope="module")
def pack():
    """The pack of the bench van."""
    car = bench_car()
    return pack_of(car.job, car.scene, FINDINGS, states_searched=720)


@pytest.fixture(scope="module")
def told(pack):
    """Its lists by name."""
    return {one.name: one for one in lists_of(pack)}


@pytest.fixture(scope="module")
def data(pack):
    """Its workbook."""
    return pack_workbook(lists_of(pack), title=pack.paper.title.title, revision=pack.paper.title.revision)


@pytest.fixture(scope="module")
def book(data):
    """The same, read back."""
    return openpyxl.load_workbook(io.BytesIO(data))


@pytest.fixture(scope="module")
def sections(pack):
    """Section -> its words in the PDF, without blanks."""
    found: dict[str, str] = {}
    with pypdfium2.PdfDocument(pack_pdf(pack)) as document:
        starts = [(mark.get_title(), mark.get_dest().get_index()) for mark in document.get_toc() if mark.level == 0]
        ends = [*(place for _, place in starts[1:]), len(document)]
        for (title, first), last in zip(starts, ends, strict=True):
            words = [document[place].get_textpage().get_text_bounded() for place in range(first, last)]
            found[title] = bare("\n".join(words))
    return found


def bare(text: str) -> str:
    """A text without blanks, and without the strokes that a line may be broken at or that stand between cells."""
    return re.sub(r"[\s\u200b\ufffe\x02,;-]", "", text)


@pytest.mark.parametrize("name", PRINTED)
def test_every_row_stands_in_the_pdf_in_the_same_order_with_the_same_figures(name, told, sections):
    section, columns = PRINTED[name]
    sheet = told[name]
    text = sections[section]
    places = [sheet.headings.index(column) for column in columns.split("|")]
    here = 0
    assert sheet.rows
    for row in sheet.rows:
        cells = [bare(row[place]) for place in places if row[place]]
        # a row begins with its first cell; the rest stands close behind
        key = cells[0]
        found = next((at for at in _every(text, key, here) if _has(text[at : at + 900], cells)), -1)
        assert found >= 0, (name, row, text[here : here + 300])
        here = found
    assert here > 0


def test_what_was_decided_stands_in_the_pdf_under_the_limit_that_ruled(told, sections):
    # what was decided alike stands in one row there, so the order is another
    sheet, text = told["decided"], sections["What the tool decided"]
    at = [sheet.headings.index(name) for name in ("cell", "decided", "limit that ruled", "why")]
    assert sheet.rows
    for row in sheet.rows:
        cell, decided, limit, why = (bare(row[place]) for place in at)
        thing, _, column = cell.rpartition(".")
        heading = f"{re.sub('_(mm2|mm|a)$', '', column)}ruledby{limit}"
        _, found, group = text.partition(heading)
        assert found, row
        assert re.search(rf"{re.escape(thing)}.*?{re.escape(decided + why)}", group.partition("ruledby")[0]), row


def _every(text: str, key: str, start: int):
    at = text.find(key, start)
    while at >= 0:
        yield at
        at = text.find(key, at + 1)


def _has(window: str, cells: list[str]) -> bool:
    """Whether the cells stand in a piece of text; those of several words in any order of the words."""
    return all(cell in window or all(word in window for word in _words(cell)) for cell in cells)


def _words(cell: str) -> list[str]:
    return [cell] if len(cell) < 30 else [cell[:20], cell[-12:]]


def test_readings_and_splices_stand_in_both(told, sections):
    text = sections["Test sheet"]
    for row in told["live tests"].rows:
        assert "".join(bare(cell) for cell in row[5:11]) in text, row
    for row in told["splices"].rows if "splices" in told else ():
        assert bare(row[0]) in sections["Earths and splices"]


def test_every_list_is_a_sheet_with_its_rows(book, told):
    assert book.sheetnames == list(told)
    for name, one in told.items():
        rows = [tuple("" if cell is None else cell for cell in row) for row in book[name].iter_rows(values_only=True)]
        assert rows[0] == one.headings
        assert len(rows) == len(one.rows) + 1
        for found, wanted in zip(rows[1:], one.rows, strict=True):
            assert [shown(cell) for cell in found] == [shown(cell) for cell in wanted]


def shown(cell: object) -> str:
    """A cell as a figure or a text without the noughts that a number format puts back."""
    try:
        return f"{float(cell):g}"
    except ValueError:
        return str(cell)


def test_figures_are_numbers_that_show_the_digits_of_the_paper(book, told):
    sheet, wanted = book["live tests"], told["live tests"]
    column = wanted.headings.index("key off, V")
    row = next(place for place, cells in enumerate(wanted.rows) if cells[column] == "0.00")
    cell = sheet.cell(row + 2, column + 1)
    assert (cell.value, cell.number_format) == (0, "0.00")
    cut = book["cuts"].cell(2, told["cuts"].headings.index("cut mm") + 1)
    assert isinstance(cut.value, int | float)


def test_words_among_figures_stay_words():
    rows = (("open",), ("1.5",), ("007",), ("1e9",))
    sheet = PackList(name="wires", headings=("size mm²",), rows=rows, figures=("size mm²",))
    read = openpyxl.load_workbook(io.BytesIO(pack_workbook([sheet])))["wires"]
    assert [cell.value for cell in read["A"]] == ["size mm²", "open", 1.5, "007", "1e9"]


@pytest.mark.parametrize("text", ["=1+1", "+1", "-lamp", "@name", '=HYPERLINK("x")', "http://x.y", "{=1}"])
def test_a_text_is_never_a_formula(text):
    data = pack_workbook([PackList(name="wires", headings=("notes",), rows=((text,),))])
    cell = openpyxl.load_workbook(io.BytesIO(data))["wires"]["A2"]
    assert (cell.value, cell.data_type) == (text, "s")
    assert cell.hyperlink is None
    assert cell.quotePrefix == (text[0] in "=+-@")
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        assert b"<f>" not in archive.read("xl/worksheets/sheet1.xml")


def test_formulas_of_the_sheets_are_text_in_the_pack(book, told):
    notes = told["wires"].headings.index("notes")
    assert any(row[notes].endswith("=1+1") for row in told["wires"].rows)
    assert any(row[1] == LABEL for row in told["parts"].rows)
    assert {cell.data_type for sheet in book for row in sheet.iter_rows() for cell in row} <= {"s", "n"}


def test_every_sheet_keeps_its_heading_in_sight_and_prints_across_a4(book):
    for sheet in book:
        assert sheet.freeze_panes == "B2"
        assert sheet.auto_filter.ref.startswith("A1:")
        assert (sheet.page_setup.orientation, int(sheet.page_setup.paperSize)) == ("landscape", 9)
        assert sheet.sheet_properties.pageSetUpPr.fitToPage
        assert (sheet.page_setup.fitToWidth or 1, sheet.page_setup.fitToHeight) == (1, 0)
        assert sheet.print_title_rows == "$1:$1"


def test_every_printed_page_tells_its_list_the_job_and_its_number(data, told):
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        for number, name in enumerate(told, start=1):
            sheet = archive.read(f"xl/worksheets/sheet{number}.xml").decode()
            assert f"&amp;L&amp;B{name}&amp;Rsmall van</oddHeader>" in sheet
            assert "&amp;Lrevision 3&amp;Rpage &amp;P of &amp;N</oddFooter>" in sheet


def test_the_same_lists_give_the_same_bytes(pack, data):
    assert pack_workbook(lists_of(pack), title=pack.paper.title.title, revision="3") == data


def test_an_ampersand_in_a_title_is_no_command(pack):
    data = pack_workbook([PackList(name="wires", headings=("a",), rows=(("b",),))], title="salt & pepper &D")
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        assert b"salt &amp;&amp; pepper &amp;&amp;D" in archive.read("xl/worksheets/sheet1.xml")
