"""What stands in the cells of a workbook: read as text where it can be, told with sheet, row and column where not."""

from __future__ import annotations

import pytest

from loomwright.job.reading import job_from_text
from loomwright.refusals import BadDocument
from loomwright.sheets.workbook import open_workbook, read_workbook
from loomwright.sheets.workbook_table import GUIDE_MARK
from tests.sheets.raw_workbook import members_of, packed, row, sheet, workbook

PARTS = sheet(row(1, "id", "kind"), row(2, "B1", "battery"))
HEADS = ("id", "length_mm", "notes", "own")


def date(style: int, days: float) -> str:
    """A cell with a figure in a format of dates."""
    return f'<c r="{{}}" s="{style}"><v>{days}</v></c>'


def number(text: str) -> str:
    """A cell with a figure."""
    return f'<c r="{{}}"><v>{text}</v></c>'


def fault(text: str) -> str:
    """A cell with a cell fault."""
    return f'<c r="{{}}" t="e"><f>1/0</f><v>{text}</v></c>'


def wires(*rows: str, after: str = "") -> bytes:
    """A workbook with a battery and a sheet of wires."""
    return workbook({"parts": PARTS, "wires": sheet(*rows, after=after)})


def rows_of(*cells: str) -> dict[str, str]:
    """The one row of wires with these cells."""
    sheets, faults = read_workbook(wires(row(1, *HEADS), row(2, *cells)))
    assert faults == []
    return sheets["wires"][0]


def told(data: bytes) -> list[tuple[str, int | None, str, str]]:
    """Where the problems are, and what was found."""
    _, faults = read_workbook(data)
    assert all(fault.allowed and fault.mend for fault in faults)
    return [(fault.sheet, fault.row, fault.column, fault.found) for fault in faults]


def test_figures_come_as_their_plain_text():
    cells = rows_of("W1", number("1.5"), number("16"), number("0.30000000000000004"))
    assert cells == {"id": "W1", "length_mm": "1.5", "notes": "16", "own": "0.3"}
    assert rows_of("W1", number("1200.0"), number("1E-7"), number("0.29999999999999999"))["length_mm"] == "1200"
    assert rows_of("W1", number("1E3"))["length_mm"] == "1000"


def test_true_and_false_are_yes_and_no():
    cells = rows_of("W1", "", '<c r="{}" t="b"><v>1</v></c>', '<c r="{}" t="b"><v>0</v></c>')
    assert (cells["notes"], cells["own"]) == ("yes", "no")


def test_text_comes_as_it_stands():
    cells = rows_of("W1", "1.2 m", "  a_x0041_\n ", "1,5")
    assert cells == {"id": "W1", "length_mm": "1.2 m", "notes": "  aA\n ", "own": "1,5"}


def test_shared_texts_and_their_pieces_are_joined():
    strings = '<si><t>W1</t></si><si><r><t>a</t></r><r><rPr><b/></rPr><t xml:space="preserve"> b</t></r></si>'
    cells = row(2, '<c r="{}" t="s"><v>0</v></c>', "", '<c r="{}" t="s"><v>1</v></c>')
    sheets, faults = read_workbook(workbook({"parts": PARTS, "wires": sheet(row(1, *HEADS), cells)}, strings=strings))
    assert faults == []
    assert sheets["wires"][0] == {"id": "W1", "length_mm": "", "notes": "a b", "own": ""}


def test_a_formula_is_the_value_it_showed_last():
    cells = rows_of("W1", '<c r="{}"><f>600*2</f><v>1200</v></c>', '<c r="{}" t="str"><f>A1</f><v>seen</v></c>')
    assert (cells["length_mm"], cells["notes"]) == ("1200", "seen")
    assert rows_of("W1", "", '<c r="{}" t="str"><f>""</f><v></v></c>', "x")["notes"] == ""


@pytest.mark.parametrize("left", ["", "<v></v>", "<v/>"])
def test_a_formula_that_was_never_worked_out_is_told(left):
    data = wires(
        row(1, *HEADS), row(2, "W1", f'<c r="{{}}"><f>600*2</f>{left}</c>', "", f'<c r="{{}}"><f>A1</f>{left}</c>')
    )
    what = "a formula whose value was never worked out"
    assert told(data) == [("wires", 2, "length_mm", what), ("wires", 2, "own", f"D2: {what}")]


def test_cell_faults_are_told_newer_ones_too():
    data = wires(
        row(1, *HEADS), row(2, "W1", fault("#REF!"), fault("#SPILL!"), fault("#N/A")), row(3, "W2", number("7"))
    )
    assert told(data) == [
        ("wires", 2, "length_mm", "#REF!"),
        ("wires", 2, "notes", "#SPILL!"),
        ("wires", 2, "own", "D2: #N/A"),
    ]
    assert read_workbook(data)[0]["wires"][1]["length_mm"] == "7"


def test_a_date_in_a_column_of_figures_is_told_with_its_cell():
    data = wires(row(1, *HEADS), row(14, "W1", date(1, 45443)), row(15, "W2", date(3, 1.25)))
    _, (first, second) = read_workbook(data)
    assert (first.row, first.column, first.found) == (14, "length_mm", "a date, 2024-05-31")
    assert first.mend == "Set the format of cell B14 to a plain number and type the figure"
    assert (second.row, second.column, second.found) == (15, "length_mm", "a length of time, 30:00")


def test_a_date_where_text_stands_becomes_text():
    assert rows_of("W1", "", date(2, 45443), date(1, 45443.4375))["notes"] == "2024-05-31"
    cells = rows_of("W1", "", date(2, 0.4375), date(1, 45443.4375))
    assert (cells["notes"], cells["own"]) == ("10:30", "2024-05-31T10:30")
    assert rows_of("W1", date(4, 45443), "")["length_mm"] == "45443"


def test_a_name_that_the_spreadsheet_made_a_date_of_is_told():
    data = wires(row(1, "id", "from", "colour"), row(2, date(1, 45443), date(1, 45443), date(1, 45443)))
    assert [(row, column) for _, row, column, _ in told(data)] == [(2, "id"), (2, "from"), (2, "colour")]
    assert all("which the spreadsheet made of what was typed" in found for *_, found in told(data))


def test_a_day_that_no_calendar_has_is_told():
    data = wires(row(1, *HEADS), row(2, "W1", "", date(1, 1e300), date(1, -5)))
    assert told(data) == [
        ("wires", 2, "notes", "a date that no calendar has"),
        ("wires", 2, "own", "D2: a date that no calendar has"),
    ]


def test_days_may_be_counted_from_1904():
    sheets = {"parts": PARTS, "hours": sheet(row(1, "time"), row(2, date(1, 43981)))}
    assert read_workbook(workbook(sheets, book='<workbookPr date1904="1"/>'))[0]["hours"] == [{"time": "2024-05-31"}]


def test_dates_written_as_text_of_the_strict_form_are_read():
    assert rows_of("W1", "", '<c r="{}" t="d"><v>2024-05-31</v></c>', "")["notes"] == "2024-05-31"
    data = wires(row(1, *HEADS), row(2, "W1", '<c r="{}" t="d"><v>2024-05-31</v></c>'))
    assert told(data)[0][:3] == ("wires", 2, "length_mm")


def test_very_many_alike_are_told_by_the_first():
    data = wires(row(1, *HEADS), *(row(n, f"W{n}", date(1, 45443)) for n in range(2, 1000)))
    found = told(data)
    assert len(found) == 200
    assert "further cells of this column" in found[-1][3]


def test_hidden_sheets_are_read():
    data = workbook({"parts": PARTS, "wires": sheet(row(1, "id"), row(2, "W1"))})
    assert "wires" in read_workbook(data)[0]
    made = members_of(data)
    made["xl/workbook.xml"] = made["xl/workbook.xml"].replace(b'name="wires"', b'name="wires" state="veryHidden"')
    assert read_workbook(packed(made))[0]["wires"] == [{"id": "W1"}]


def test_names_and_headings_in_any_mixture_of_capitals(tmp_path):
    path = tmp_path / "van.xlsx"
    path.write_bytes(workbook({"Parts": sheet(row(1, " ID ", "Kind"), row(2, "B1", "battery"))}))
    assert open_workbook(path).parts[0].id == "B1"


def test_a_sheet_that_is_there_twice_is_told(tmp_path):
    path = tmp_path / "van.xlsx"
    path.write_bytes(workbook({"parts": PARTS, "PARTS": PARTS}))
    with pytest.raises(BadDocument) as refusal:
        open_workbook(path)
    assert [problem.allowed for problem in refusal.value.problems] == ["each sheet once"]


def test_rows_are_those_the_spreadsheet_shows(tmp_path):
    path = tmp_path / "van.xlsx"
    body = sheet(row(3, "id", "length_mm"), row(7, "W1", "long"), row(9, "W2", fault("#REF!")))
    path.write_bytes(workbook({"parts": PARTS, "wires": body}))
    with pytest.raises(BadDocument) as refusal:
        open_workbook(path)
    assert [(problem.row, problem.column, problem.found) for problem in refusal.value.problems] == [
        (7, "length_mm", "long"),
        (9, "length_mm", "#REF!"),
    ]


def test_a_cell_that_was_told_is_not_told_again_as_a_blank_one(tmp_path):
    path = tmp_path / "van.xlsx"
    drives = sheet(row(1, "output", "when"), row(2, "", ""), row(3, fault("#REF!"), "key=run"))
    path.write_bytes(workbook({"parts": PARTS, "drives": drives}))
    with pytest.raises(BadDocument) as refusal:
        open_workbook(path)
    assert [(problem.row, problem.column, problem.found) for problem in refusal.value.problems] == [
        (3, "output", "#REF!")
    ]


def test_where_a_name_could_not_be_had_nothing_is_said_about_what_names_it(tmp_path):
    path = tmp_path / "van.xlsx"
    parts = sheet(row(1, "id", "kind"), row(2, "B1", "battery"), row(3, fault("#REF!"), "fuse"))
    body = sheet(row(1, "id", "from", "to"), row(2, "W1", "B1.+", "F1.1"))
    path.write_bytes(workbook({"parts": parts, "wires": body}))
    with pytest.raises(BadDocument) as refusal:
        open_workbook(path)
    assert [(problem.sheet, problem.row, problem.column) for problem in refusal.value.problems] == [("parts", 3, "id")]


def test_headings_that_stand_twice_and_cells_without_one_are_told():
    data = wires(row(1, "id", "notes", "notes"), row(2, "W1"))
    assert told(data) == [("wires", 1, "notes", "C1: notes")]
    data = wires(row(1, "id", "", "notes"), row(2, "W1", "x", "y", "z"), row(3, "W2", "", "", "z"))
    assert told(data) == [
        ("wires", 1, "", "cells without a heading in column B, the first B2"),
        ("wires", 1, "", "cells without a heading in column D, the first D2"),
    ]


def test_a_column_without_a_heading_and_without_cells_does_no_harm():
    data = wires(row(1, "id", "", "notes"), row(2, "W1", "", "y", " "))
    assert told(data) == []
    assert read_workbook(data)[0]["wires"] == [{"id": "W1", "notes": "y"}]


def merged(area: str) -> str:
    """What stands behind the cells of a sheet for one merged area."""
    return f'<mergeCells><mergeCell ref="{area}"/></mergeCells>'


@pytest.mark.parametrize(
    ("area", "where", "name"),
    [
        ("B2:B4", 2, "length_mm"),
        ("C3:D3", 3, "notes"),
        ("D1:D2", 2, "own"),
        ("B1:B9", 2, "length_mm"),
        ("A4:C4", 4, "id"),
    ],
)
def test_merged_cells_that_hide_cells_of_rows_are_told(area, where, name):
    body = [row(n, f"W{n}", number("7"), "x", "y") for n in (2, 3, 4)]
    assert told(wires(row(1, *HEADS), *body, after=merged(area))) == [
        ("wires", where, name, f"{area} merged into one cell")
    ]


@pytest.mark.parametrize("area", ["A1:D1", "B9:C12", "F2:G4", "C2:C2", "B3:B4"])
def test_merged_cells_that_hide_nothing_do_no_harm(area):
    body = [row(2, "W2", number("7"), "x", "y"), row(3, "W3"), row(4, "W4")]
    data = wires(row(1, *HEADS), *body, after=merged(area))
    assert told(data) == []
    assert [each["id"] for each in read_workbook(data)[0]["wires"]] == ["W2", "W3", "W4"]


def test_merged_cells_of_the_users_own_sheets_are_read():
    own = sheet(row(1, "a", "b"), row(2, "x"), after=merged("A2:B2"))
    assert read_workbook(workbook({"parts": PARTS, "Sketch": own})) == (
        {"parts": [{"id": "B1", "kind": "battery"}], "Sketch": [{"a": "x", "b": ""}]},
        [],
    )


def test_our_guide_is_passed_over_and_a_users_own_is_kept():
    ours = sheet(row(1, GUIDE_MARK), row(2, "anything", "else"), row(3, "", "", "more"))
    own = sheet(row(1, "how"), row(2, "slowly"))
    sheets, faults = read_workbook(workbook({"notes": ours, "guide": own, "parts": PARTS}))
    assert faults == []
    assert sheets == {"guide": [{"how": "slowly"}], "parts": [{"id": "B1", "kind": "battery"}]}


def test_a_blank_sheet_is_a_sheet_without_rows():
    sheets, faults = read_workbook(workbook({"parts": PARTS, "wires": sheet(), "Sheet2": sheet()}))
    assert (sheets["wires"], sheets["Sheet2"], faults) == ([], [], [])


def test_a_damaged_sheet_does_not_hide_the_others(tmp_path):
    path = tmp_path / "van.xlsx"
    path.write_bytes(workbook({"parts": PARTS, "wires": "<worksheet><sheetData>", "places": sheet(row(1, "name"))}))
    with pytest.raises(BadDocument) as refusal:
        open_workbook(path)
    assert [problem.sheet for problem in refusal.value.problems] == ["wires"]
    path.write_bytes(workbook({"parts": PARTS, "wires": "<x", "places": sheet(row(1, "name"), row(2, "bay"))}))
    with pytest.raises(BadDocument) as refusal:
        open_workbook(path)
    assert [problem.sheet for problem in refusal.value.problems] == ["places", "wires"]


@pytest.mark.parametrize(
    "bad", ['<c r="{}" t="zz"><v>1</v></c>', '<c r="{}" t="s"><v>9</v></c>', '<c r="{}" t="b"><v>7</v></c>']
)
def test_cells_that_no_spreadsheet_writes_are_told_with_their_sheet(bad):
    assert told(wires(row(1, *HEADS), row(2, "W1", bad))) == [("wires", None, "", "cells that cannot be read")]


def test_commas_are_treated_as_in_every_other_container():
    sheets, _ = read_workbook(wires(row(1, *HEADS), row(2, "W1", "1,5")))
    assert job_from_text(sheets).wires[0].length_mm == 1.5
    sheets, _ = read_workbook(wires(row(1, *HEADS), row(2, "W1", "1,234")))
    with pytest.raises(BadDocument, match="whichever is meant"):
        job_from_text(sheets)


def test_the_mark_of_our_guide_as_a_heading_is_refused_before_it_is_kept(tmp_path):
    path = tmp_path / "van.xlsx"
    body = sheet(row(1, "id", GUIDE_MARK), row(2, "W1", "mine"))
    path.write_bytes(workbook({"parts": PARTS, "wires": body}))
    with pytest.raises(BadDocument) as refusal:
        open_workbook(path)
    assert [problem.mend.partition(";")[0] for problem in refusal.value.problems] == ["Change the heading"]
