"""What a workbook of ours holds: figures, texts, lists, notes, a guide; and what is refused before it is written."""

from __future__ import annotations

import io
from dataclasses import replace

import openpyxl
import pytest

from loomwright.job.fixed_map import FixedMap
from loomwright.job.job import Job
from loomwright.job.schema import RECORDS, SHEETS, columns, headings
from loomwright.quantities import parse_quantity, unit_word
from loomwright.refusals import BadDocument, NoAnswer
from loomwright.sheets.workbook_drop_downs import help_of
from loomwright.sheets.workbook_guide import ALSO_READ, EXAMPLE, guide_of
from loomwright.sheets.workbook_rows import RowSheet
from loomwright.sheets.workbook_table import GUIDE_MARK
from loomwright.sheets.workbook_writing import ROWS_OFFERED, workbook_bytes, write_workbook
from loomwright.tables.kinds import load_kinds
from tests.job.small import more, read, sheets
from tests.sheets.raw_workbook import members_of


@pytest.fixture(scope="module")
def book():
    """The small job's workbook, opened by another program."""
    return openpyxl.load_workbook(io.BytesIO(workbook_bytes(read(sheets()))))


def offers(book, sheet):
    """Heading -> what its cells are offered."""
    found = {}
    for offer in book[sheet].data_validations.dataValidation:
        for area in offer.sqref.ranges:
            found.setdefault(book[sheet].cell(1, area.min_col).value, []).append(offer)
    return found


def area_of(offer):
    """The one area of cells that an offer is for."""
    (area,) = offer.sqref.ranges
    return area


def test_the_guide_then_the_contracts_sheets_then_the_jobs_own():
    job = read({**sheets(), "zebra": [{"a": "1"}], "ant": [{"a": "1"}]})
    names = openpyxl.load_workbook(io.BytesIO(workbook_bytes(job))).sheetnames
    assert names == ["guide", *SHEETS, "zebra", "ant"]


def test_headings_stand_in_row_one_and_stay_in_sight(book):
    for sheet in SHEETS:
        tab = book[sheet]
        assert tuple(cell.value for cell in tab[1]) == headings(sheet)
        assert tab.freeze_panes in ("A2", "B2")
        assert tab.auto_filter.ref.startswith("A1:")
        bold = {cell.value for cell in tab[1] if cell.font.b}
        assert bold == {column.name for column in columns(sheet) if column.required}
    assert book["wires"].freeze_panes == "B2"


def test_figures_are_figures_where_nothing_is_lost(book):
    wires = {row[0].value: row for row in book["wires"].iter_rows(min_row=2)}
    place = {name: count for count, name in enumerate(headings("wires"))}
    assert (wires["W1"][place["size_mm2"]].value, wires["W1"][place["size_mm2"]].data_type) == (6, "n")
    assert (wires["W2"][place["size_mm2"]].value, wires["W2"][place["size_mm2"]].data_type) == ("16 AWG", "s")
    circuits = {row[0].value: row for row in book["circuits"].iter_rows(min_row=2)}
    feed = circuits["supply"][headings("circuits").index("feed")]
    assert (feed.value, feed.data_type, feed.number_format) == ("30", "s", "@")


def test_columns_of_words_have_the_format_of_text_so_that_nothing_becomes_a_date(book):
    kinds = {column.name: column.kind for column in columns("wires")}
    for letter, name in zip("ABCDEFGHIJKLMNOPQRSTU", headings("wires"), strict=True):
        style = book["wires"].column_dimensions[letter].number_format
        assert (style == "@") == (kinds[name] != "number"), name


def test_nothing_is_a_formula_or_a_link_and_what_looks_like_one_is_marked():
    texts = ["=1+1", "+49 30", "-", "@x", "'x", "http://a.b/c", "mailto:a@b"]
    named = more("snags", *({"id": f"s{n}", "text": text, "own": text} for n, text in enumerate(texts)))
    data = workbook_bytes(read(named))
    tab = openpyxl.load_workbook(io.BytesIO(data))["snags"]
    for row, text in enumerate(texts, start=2):
        for column in (3, 7):
            cell = tab.cell(row, column)
            assert (cell.value, cell.data_type, cell.hyperlink) == (text, "s", None)
            assert bool(cell.quotePrefix) == (text[0] in "=+-@'")
    members = members_of(data)
    assert not any(b"<f>" in member or b"<hyperlink" in member for member in members.values())


def test_each_column_has_a_note_with_its_help_and_unit(book):
    for sheet in SHEETS:
        found = offers(book, sheet)
        assert list(found) == list(headings(sheet))
        for column in columns(sheet):
            for offer in found[column.name]:
                assert offer.showInputMessage
                assert offer.promptTitle == column.name or sheet == "vehicle"
                assert len(offer.prompt) <= 255
    note = offers(book, "wires")["size_mm2"][0].prompt
    assert note == "Conductor area; blank: to be decided.\nA figure in mm², 0.01 to 1000; or 16 AWG."
    assert offers(book, "parts")["fitted"][0].prompt.endswith("Blank: new.")
    assert offers(book, "drives")["when"][0].prompt.endswith("Must be filled.")
    assert offers(book, "wires")["from"][0].prompt.startswith("part.terminal or metal")


def test_no_note_is_cut_short():
    assert [
        (sheet, column.name) for sheet in SHEETS for column in columns(sheet) if len(help_of(sheet, column)) >= 255
    ] == []


def test_lists_offer_what_is_allowed(book):
    parts, wires, circuits = offers(book, "parts"), offers(book, "wires"), offers(book, "circuits")
    assert (wires["fitted"][0].formula1, wires["fitted"][0].errorStyle) == ('"new,kept,donor,removed"', None)
    assert (circuits["road_safety"][0].formula1, circuits["road_safety"][0].showErrorMessage) == ('"yes,no"', True)
    assert wires["circuit"][0].formula1 == f"circuits!$A$2:$A${ROWS_OFFERED + 1}"
    assert wires["circuit"][0].errorStyle == "warning"
    assert wires["via"][0].formula1 == f"runs!$A$2:$A${ROWS_OFFERED + 1}"
    assert not wires["via"][0].showErrorMessage
    assert not wires["colour"][0].showErrorMessage
    metal = offers(book, "bonds")["from"][0]
    assert not metal.showErrorMessage
    assert "body engine gearbox axle" in metal.prompt
    assert (parts["kind"][0].errorStyle, parts["kind"][0].formula1[:7]) == ("warning", "guide!$")
    assert offers(book, "places")["zone"][0].errorStyle == "warning"
    for sheet in SHEETS:
        for offer in (each for found in offers(book, sheet).values() for each in found if each.type == "list"):
            first, last = area_of(offer).min_row, area_of(offer).max_row
            assert first == last or (last == ROWS_OFFERED + 1 and first >= 2)


def test_every_list_in_the_guide_holds_the_words_of_its_column(book):
    for sheet, column, words in (
        ("parts", "role", {"reverse_lamp", "fuel_pump"}),
        ("circuits", "class", {"lighting", "sensor"}),
        ("controller_pins", "abilities", {"low_side", "supply"}),
        ("parts", "kind", set(load_kinds())),
        ("wires", "colour", {"WH", "BU", "GNYE"}),
        ("vehicle", "name", {"title", "system_voltage"}),
    ):
        area = offers(book, sheet)[column][0].formula1.removeprefix("guide!").replace("$", "")
        offered = {row[0].value for row in book["guide"][area]}
        assert words <= offered
        assert None not in offered


def test_kinds_of_the_jobs_own_are_offered_too():
    own = more("kinds", {"kind": "my_box", "terminals": "1 2"}, {"kind": "my_box", "element": "r", "type": "resistor",
               "terminals": "1 2", "settings": "ohm=10"})  # fmt: skip
    book = openpyxl.load_workbook(io.BytesIO(workbook_bytes(read(own))))
    area = offers(book, "parts")["kind"][0].formula1.removeprefix("guide!").replace("$", "")
    assert "my_box" in {row[0].value for row in book["guide"][area]}


def test_a_large_job_has_lists_for_more_rows_than_it_has():
    rows = [{"id": f"s{n}", "text": "x"} for n in range(3000)]
    book = openpyxl.load_workbook(io.BytesIO(workbook_bytes(read(more("snags", *rows)))))
    assert area_of(offers(book, "snags")["text"][0]).max_row == 3501


def test_the_guide_explains_every_sheet_and_column_and_begins_with_a_caution(book):
    lines = [[cell for cell in row if cell] for row in book["guide"].iter_rows(values_only=True)]
    assert lines[0] == [GUIDE_MARK]
    assert lines[1][0].startswith("CAUTION")
    told = {tuple(line[:2]) for line in lines if len(line) > 1}
    for sheet in SHEETS:
        assert sheet in {line[0] for line in lines if line}
        assert {(sheet, name) for name in headings(sheet)} <= told
    text = "\n".join(" ".join(line) for line in lines)
    for word in (
        "blank means decide for me",
        "loomwright check my.xlsx",
        "part.terminal",
        "WH/BU",
        "selector=P|N",
        "16 AWG",
    ):
        assert word in text
    assert all(f" {kind} " in text for kind in load_kinds())


def test_the_guide_says_nothing_of_how_the_program_is_made():
    text = "\n".join(" ".join(line.cells) for line in guide_of(load_kinds(), sheet="guide").lines)
    assert [word for word in (" from_", "None", "->", "1e-06", "e+0", "`", "  None") if word in text] == []


def test_the_guides_example_is_a_sound_job():
    job = read({sheet: [dict(row) for row in rows] for sheet, rows in EXAMPLE.items()})
    assert (len(job.parts), len(job.wires)) == (4, 5)
    shown = [line.cells for line in guide_of(load_kinds(), sheet="guide").lines]
    assert all(tuple(row.values()) in shown for rows in EXAMPLE.values() for row in rows)


def test_every_unit_that_the_guide_names_is_read():
    used = {column.unit for sheet in SHEETS for column in columns(sheet) if unit_word(column.unit)}
    assert used == set(ALSO_READ)
    for unit, words in ALSO_READ.items():
        for word in words:
            assert parse_quantity(f"10 {word}", unit, name=unit) != 10.0 or word in ("Ω", "deg", "1/min")


def test_a_users_own_guide_is_kept_beside_ours():
    job = read({**sheets(), "Guide": [{"how": "slowly"}]})
    book = openpyxl.load_workbook(io.BytesIO(workbook_bytes(job)))
    assert [book["guide_2"]["A1"].value, book["Guide"]["A1"].value] == [GUIDE_MARK, "how"]
    assert "guide_2!$" in offers(book, "parts")["kind"][0].formula1


def test_records_are_told_apart_by_their_tabs(book):
    marked = {name for name in book.sheetnames if book[name].sheet_properties.tabColor}
    assert marked == {"guide", *RECORDS}


def test_the_spreadsheet_shows_the_job_first_and_of_an_empty_one_the_guide():
    assert openpyxl.load_workbook(io.BytesIO(workbook_bytes(Job()))).active.title == "vehicle"
    assert openpyxl.load_workbook(io.BytesIO(workbook_bytes(Job(), open_guide=True))).active.title == "guide"


def refused(job, tmp_path):
    path = tmp_path / "van.xlsx"
    with pytest.raises(BadDocument) as refusal:
        write_workbook(job, path)
    assert not path.exists()
    assert all(problem.allowed and problem.mend for problem in refusal.value.problems)
    return refusal.value.problems


def own(**named):
    """The small job with sheets of its own."""
    kept = {name: tuple(FixedMap(row) for row in rows) for name, rows in named.items()}
    return replace(read(sheets()), extra_sheets=FixedMap(kept))


@pytest.mark.parametrize(
    "name",
    [
        "x" * 32,
        "😀" * 16,
        "a[b",
        "a]b",
        "a:b",
        "a*b",
        "a?b",
        "a/b",
        "a\\b",
        "'a",
        "a'",
        "History",
        "history",
        "a\tb",
        "",
    ],
)
def test_a_name_that_no_tab_can_have_is_refused_by_that_name(name, tmp_path):
    problems = refused(own(**{name: [{"a": "x"}]}), tmp_path)
    assert {problem.sheet for problem in problems} == {name}


def test_names_that_differ_in_capitals_only_are_refused(tmp_path):
    problems = refused(own(List=[{"a": "x"}], LIST=[{"a": "x"}]), tmp_path)
    assert {problem.sheet for problem in problems} == {"LIST"}


@pytest.mark.parametrize("text", ["x" * 32_768, "😀" * 16_384, "\ufffe", "a\uffffb", "\ud800", "\0"])
def test_a_text_that_no_cell_can_hold_is_refused_with_its_place(text, tmp_path):
    problems = refused(own(list=[{"a": "x", "b": "y"}, {"a": "x", "b": text}]), tmp_path)
    assert {(problem.sheet, problem.row, problem.column) for problem in problems} == {("list", 3, "b")}


@pytest.mark.parametrize("heading", [" a", "a ", "", GUIDE_MARK])
def test_a_heading_that_would_be_read_as_another_is_refused(heading, tmp_path):
    problems = refused(own(list=[{heading: "x"}]), tmp_path)
    assert [(problem.sheet, problem.row) for problem in problems] == [("list", 1)]


def test_more_than_can_be_read_back_is_refused(tmp_path):
    wide = refused(own(list=[{f"h{n}": "x" for n in range(257)}]), tmp_path)
    assert [problem.found for problem in wide] == ["257 columns"]
    long = refused(own(list=[{"a": "x" * 32_000}] * 1100), tmp_path)
    assert [problem.found for problem in long] == ["33 MB of text"]
    many = refused(own(**{f"s{n}": [{"a": "x"}] for n in range(220)}), tmp_path)
    assert [problem.found for problem in many] == [f"{220 + len(SHEETS)} sheets"]
    far = refused(own(list=[{"a": "x"}] * 100_000), tmp_path)
    assert [problem.found for problem in far] == ["100000 rows"]


def test_a_library_that_does_not_take_our_rows_is_noticed(monkeypatch):
    monkeypatch.delattr(RowSheet, "_write_sheet_data")
    with pytest.raises(NoAnswer, match="version of the library"):
        workbook_bytes(Job())
