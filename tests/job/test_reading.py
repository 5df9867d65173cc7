"""A sound job is read whole; a bad one is refused with every problem at its place."""

from __future__ import annotations

import pickle
import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loomwright.job.reading import job_from_text, problems_of
from loomwright.job.rows import Part
from loomwright.job.schema import SHEETS
from loomwright.job.taking import MOST_ROWS
from loomwright.refusals import BadDocument
from tests.job.small import SOUND, changed, more, only, problems, read, row_of, sheets


def place(problem):
    return problem.sheet, problem.row, problem.column


def test_sound_job_is_read_whole():
    job = read(sheets())
    assert {sheet: len(getattr(job, sheet)) for sheet in SOUND} == {sheet: len(rows) for sheet, rows in SOUND.items()}
    wires = {wire.id: wire for wire in job.wires}
    assert (wires["W1"].from_, wires["W1"].to, wires["W1"].size_mm2, wires["W1"].via) == ("B1.+", "F1.1", 6.0, ("R1",))
    assert (wires["W3"].length_mm, wires["W3"].written["length_mm"]) == (1200.0, "1.2 m")
    assert (wires["W2"].colour, wires["W2"].written["colour"]) == ("WH/BU", "wh/bu")
    assert wires["W2"].size_mm2 == pytest.approx(1.31, abs=0.005)  # 16 AWG by its definition
    assert wires["W1"].fitted == "new"
    assert job.contacts[3].joins == (("30", "56a"), ("56", "56b"))
    assert job.contacts[3].momentary is True
    assert job.contacts[1].momentary is None
    assert job.bonds[0].mohm == 0.5
    assert job.readings[0].value == 12.3
    assert job.parts[1].settings == {"rating_a": "10", "family": "blade_c"}
    assert job.runs[0].hazards == ("hot", "wet")
    assert problems_of(job) == ()


def test_blank_is_left_to_decide():
    job = read(more("wires", {"id": "W9", "size_mm2": " ", "length_mm": "", "colour": ""}))
    wire = job.wires[-1]
    assert (wire.size_mm2, wire.length_mm, wire.colour, wire.via, wire.from_) == (None, None, "", (), "")
    assert wire.written == {}


def test_all_problems_come_at_once_in_the_order_of_the_sheets():
    bad = sheets()
    bad["wires"][0].update({"colour": "LG", "length_mm": "-4"})
    bad["wires"][1]["to"] = "L9.1"
    bad["parts"][4]["kind"] = "lammp"
    bad["circuits"][1]["class"] = "lightning"
    found = problems(bad)
    assert [place(problem) for problem in found] == [
        ("parts", 6, "kind"),
        ("circuits", 3, "class"),
        ("wires", 2, "colour"),
        ("wires", 2, "length_mm"),
        ("wires", 3, "to"),
    ]
    with pytest.raises(BadDocument) as refused:
        read(bad)
    assert str(refused.value).splitlines() == [problem.says for problem in found]


def test_a_bad_cell_does_not_hide_the_rest_of_its_row_nor_make_its_name_unknown():
    bad = changed("parts", "F1", rated_v="twelve", place="bayy")
    assert [place(problem) for problem in problems(bad)] == [
        ("parts", row_of("parts", "F1"), "place"),
        ("parts", row_of("parts", "F1"), "rated_v"),
    ]


def test_blank_rows_are_passed_over_and_counted():
    rows = sheets()["wires"]
    rows[1:1] = [{}, {"id": "", "colour": "  "}]
    rows.append({"id": "W99", "colour": "XX"})
    assert place(only(sheets(wires=rows))) == ("wires", len(rows) + 1, "colour")


def test_unknown_columns_and_sheets_are_kept():
    named = more("wires", {"id": "W9", "shop_number": "7", "ticked": ""})
    named["my list"] = [{"a": "1", "b": "=2"}, {"a": ""}]
    job = read(named)
    assert job.wires[-1].extra == {"shop_number": "7", "ticked": ""}
    assert job.extra_sheets == {"my list": ({"a": "1", "b": "=2"},)}


def test_headings_are_read_in_any_mixture_of_capitals():
    rows = [{"ID": "W9", " Size mm2 ": "2.5", "From": "B1.+"}]
    wire = read(sheets(wires=rows, requirements=None)).wires[0]
    assert (wire.id, wire.size_mm2, wire.from_, wire.extra) == ("W9", 2.5, "B1.+", {})


def test_a_heading_that_stands_twice_is_told():
    problem = only(sheets(stock=[{"item": "sleeve", "Item": "tape"}]))
    assert place(problem) == ("stock", 1, "item")
    assert "item, Item" in problem.found


def test_a_missing_heading_names_the_one_that_looks_like_it():
    problem = only(sheets(crimps=[{"terminl": "ring 6", "pull_n": "90"}]))
    assert place(problem) == ("crimps", 1, "terminal")
    assert problem.found == "terminl"
    assert problem.mend == "Write terminal in place of terminl"


def test_a_missing_heading_is_told_once_and_hides_no_other_sheet():
    rows = [{"kind": row["kind"]} for row in SOUND["parts"]]
    found = problems(sheets(parts=rows, runs=[{"id": "R1", "from": "bay", "to": "cabin", "length_mm": "x"}]))
    assert [place(problem) for problem in found] == [("runs", 2, "length_mm"), ("parts", 1, "id")]
    assert found[1].mend == "Add the heading id, with a cell in every row"


def test_a_blank_cell_that_must_be_filled_is_told():
    problem = only(more("requirements", {"id": "r9", "point": "L1.1", "must": " "}))
    assert place(problem) == ("requirements", len(SOUND["requirements"]) + 2, "must")
    assert (problem.found, problem.mend) == ("", "Fill the cell, or clear the row")


def test_a_sheet_with_a_misspelt_name_is_told_where_its_place_is_empty():
    named = sheets(wires=None)
    named["wire"] = [{"id": "W1"}]
    problem = only(named)
    assert (problem.sheet, problem.row, problem.mend) == ("wire", None, "Call the sheet wires")
    named["wires"] = [{"id": "W1"}]
    named["requirements"] = []
    assert problems(named) == ()


def test_the_same_sheet_twice_is_told():
    problem = only({**sheets(), "Wires": []})
    assert (problem.sheet, problem.row, problem.found) == ("wires", None, "Wires")


def test_a_sheet_of_a_hundred_thousand_rows_is_refused_soon_with_one_sentence():
    rows = [{"id": f"W{count}", "from": "B1.+", "to": "F1.1"} for count in range(100_000)]
    start = time.process_time()
    problem = only(sheets(wires=rows))
    assert time.process_time() - start < 5.0
    assert (problem.sheet, problem.row, problem.found) == ("wires", None, "100000 rows")
    assert str(MOST_ROWS) in problem.allowed
    assert MOST_ROWS == 20_000


def test_an_unknown_sheet_is_bounded_too():
    named = sheets()
    named["log"] = [{"a": str(count)} for count in range(MOST_ROWS + 1)]
    assert only(named).found == f"{MOST_ROWS + 1} rows"


def test_five_thousand_rows_are_read_and_checked_well_under_a_second():
    parts = [{"id": f"F{count}", "kind": "fuse", "settings": "rating_a=10"} for count in range(2000)]
    wires = [
        {"id": f"W{count}", "from": f"F{count % 2000}.1", "to": f"F{(count + 7) % 2000}.2", "size_mm2": "1,5"}
        for count in range(3000)
    ]
    named = sheets()
    named["parts"] = [*named["parts"], *({**part, "id": f"f{part['id']}"} for part in parts)]
    named["wires"] = [{**wire, "from": f"f{wire['from']}", "to": f"f{wire['to']}"} for wire in wires]
    read(sheets())
    start = time.process_time()
    assert len(read(named).wires) == 3000
    assert time.process_time() - start < 1.0


def test_thousands_of_bad_rows_are_told_in_seconds():
    rows = [
        {"id": f"W{count}", "from": f"Q{count}.1", "circuit": f"z{count}", "colour": f"L{count}", "size_mm2": "thick"}
        for count in range(5000)
    ]
    start = time.process_time()
    found = problems(sheets(wires=rows))
    assert time.process_time() - start < 5.0
    assert len(found) == 4 * 5000


def test_a_job_can_be_hashed_sent_and_compared():
    job = read(sheets())
    again = read(sheets())
    assert job == again
    assert hash(job) == hash(again)
    assert pickle.loads(pickle.dumps(job)) == job
    assert isinstance(hash(Part(id="a", kind="fan", settings={"x": "1"})), int)


@settings(max_examples=25)
@given(st.data())
def test_the_order_of_rows_never_changes_what_is_read_or_told(data):
    bad = data.draw(st.booleans())
    named = more("wires", {"id": "W9", "colour": "LG"}, {"id": "W10", "to": "L9.1"}) if bad else sheets()
    mixed = {sheet: data.draw(st.permutations(rows)) for sheet, rows in named.items()}
    if bad:
        assert {problem.found for problem in problems(mixed)} == {"LG", "L9.1"}
        return
    plain, other = job_from_text(named), job_from_text(mixed)
    for sheet in SHEETS:
        assert set(getattr(plain, sheet)) == set(getattr(other, sheet))
