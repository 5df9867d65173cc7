"""Which points there are and how they are named; what a job looks like after an edit."""

from __future__ import annotations

import pytest

from loomwright.job.edits import (
    add_row,
    drop_row,
    find_row,
    put_row,
    set_cell,
    set_setting,
)
from loomwright.job.fixed_map import FixedMap
from loomwright.job.job import Job
from loomwright.job.points import all_terminals, canonical_point, kinds_of, split_point, terminals_of
from loomwright.job.reading import problems_of
from loomwright.job.rows import Part, Wire
from loomwright.job.vehicle import metals_of
from loomwright.job.writing import text_from_job
from loomwright.refusals import BadDocument, OutOfReach
from loomwright.tables.kinds import load_kinds
from tests.job.small import SOUND, read, row_of, sheets


@pytest.mark.parametrize(
    ("point", "pieces"),
    [
        ("ECU.A12", ("ECU", "A12")),
        ("fan1.+", ("fan1", "+")),
        ("body", ("body", "")),
        ("a.b.c", ("a", "b.c")),
        ("", ("", "")),
    ],
)
def test_a_point_ends_its_part_at_the_first_point(point, pieces):
    assert split_point(point) == pieces


def test_terminals_come_from_kinds_pins_contacts_and_use():
    terminals = all_terminals(read(sheets()), load_kinds())
    assert terminals["B1"] == ("+", "-")
    assert terminals["ECU"] == ("A1", "A2", "A3")
    assert terminals["STALK"] == ("49a", "L", "56", "56b", "30", "56a")
    assert terminals["SP1"] == ("7",)
    assert terminals["X1"] == ("3p", "3s")
    assert terminals["E1"] == ("1",)
    assert terminals_of(read(sheets()), load_kinds(), "ECU") == terminals["ECU"]
    assert terminals_of(read(sheets()), load_kinds(), "nobody") == ()


def test_counted_terminals_are_in_order_of_number():
    named = sheets()
    named["wires"] += [{"id": f"w{number}", "from": f"SP1.{number}"} for number in (10, 2, 1)]
    assert all_terminals(read(named), load_kinds())["SP1"] == ("1", "2", "7", "10")


@pytest.mark.parametrize(
    ("point", "full"),
    [
        ("E1", "E1.1"),
        ("OF1", "OF1.1"),
        ("body", "body"),
        ("bonnet", "bonnet"),
        ("K1.30", "K1.30"),
        ("K1", "K1"),
        ("no", "no"),
    ],
)
def test_a_point_in_its_full_form(point, full):
    job = read(sheets())
    assert canonical_point(point, all_terminals(job, load_kinds()), metals_of(job)) == full


def test_a_job_s_own_kinds_stand_beside_the_library():
    named = sheets()
    named["kinds"] = [
        {
            "kind": "glow_plug",
            "element": "heater",
            "type": "resistor",
            "terminals": "1 2",
            "settings": "ohm=1.2; load=yes",
        }
    ]
    kinds = kinds_of(read(named), load_kinds())
    assert [terminal.name for terminal in kinds["glow_plug"].terminals] == ["1", "2"]
    assert kinds["fan"] is load_kinds()["fan"]


def test_a_cell_is_set_and_the_old_job_stays():
    job = read(sheets())
    after = set_cell(job, "wires", "W1", "size_mm2", "10 AWG")
    assert job.wires[0].size_mm2 == 6.0
    assert after.wires[0].size_mm2 == pytest.approx(5.26, abs=0.005)  # 10 AWG by its definition
    assert after.wires[0].written["size_mm2"] == "10 AWG"
    again = set_cell(after, "wires", "W1", "size_mm2", "2.5")
    assert (again.wires[0].size_mm2, "size_mm2" in again.wires[0].written) == (2.5, False)
    blank = set_cell(again, "wires", "W1", "size_mm2", " ")
    assert blank.wires[0].size_mm2 is None


def test_a_row_is_named_by_its_name_or_its_number():
    job = read(sheets())
    assert find_row(job, "wires", "W2") == 1
    assert find_row(job, "wires", 3) == 1
    assert find_row(job, "contacts", "STALK turn left") == 1
    assert set_cell(job, "contacts", "STALK turn left", "verified", "yes").contacts[1].verified is True
    assert set_cell(job, "drives", 2, "when", "never").drives[0].when.fixed == "never"
    for row in ("W99", 1, 999):
        with pytest.raises(OutOfReach) as refused:
            find_row(job, "wires", row)
        assert refused.value.found == row


def test_a_cell_that_can_not_be_is_refused_at_its_place():
    job = read(sheets())
    with pytest.raises(BadDocument) as refused:
        set_cell(job, "wires", "W2", "colour", "LG")
    (problem,) = refused.value.problems
    assert (problem.sheet, problem.row, problem.column, problem.found) == (
        "wires",
        row_of("wires", "W2"),
        "colour",
        "LG",
    )
    with pytest.raises(BadDocument) as refused:
        set_cell(job, "wires", "W2", "id", "")
    assert refused.value.problems[0].column == "id"
    with pytest.raises(OutOfReach):
        set_cell(job, "wire", "W2", "id", "x")


def test_a_column_of_the_job_s_own_is_set():
    after = set_cell(read(sheets()), "wires", "W2", "shop", "7")
    assert after.wires[1].extra == {"shop": "7"}
    assert text_from_job(after)["wires"][1]["shop"] == "7"


def test_rows_come_and_go():
    job = read(sheets())
    after = add_row(job, "wires", {"id": "W9", "from": "F1.2", "length_mm": "2 m"})
    assert (after.wires[-1].id, after.wires[-1].length_mm) == ("W9", 2000.0)
    first = add_row(job, "wires", {"id": "W0"}, before="W1")
    assert [wire.id for wire in first.wires[:2]] == ["W0", "W1"]
    assert drop_row(after, "wires", "W9") == job
    with pytest.raises(BadDocument) as refused:
        add_row(job, "wires", {"from": "F1.2", "colour": "LG"})
    assert [(problem.row, problem.column) for problem in refused.value.problems] == [
        (len(SOUND["wires"]) + 2, "id"),
        (len(SOUND["wires"]) + 2, "colour"),
    ]


def test_an_empty_row_is_refused():
    with pytest.raises(BadDocument) as refused:
        add_row(Job(), "wires", {"id": " "})
    assert [problem.column for problem in refused.value.problems] == ["id"]


def test_a_row_added_with_a_decimal_comma_in_a_setting():
    job = add_row(Job(), "parts", {"id": "F2", "kind": "fuse", "settings": "rating_a=7,5"})
    assert job.parts[0].settings == {"rating_a": "7.5"}
    assert text_from_job(job)["parts"][0]["settings"] == "rating_a=7,5"


def test_settings_are_set_and_taken_out():
    job = read(sheets())
    after = set_setting(job, "F1", "rating_a", "7,5")
    assert after.parts[1].settings == {"rating_a": "7.5", "family": "blade_c"}
    assert text_from_job(after)["parts"][1]["settings"] == "rating_a=7.5; family=blade_c"
    assert set_setting(after, "F1", "family", "").parts[1].settings == {"rating_a": "7.5"}


def test_an_edit_is_judged_afterwards():
    job = drop_row(read(sheets()), "parts", "E1")
    assert [(problem.sheet, problem.row, problem.found) for problem in problems_of(job)] == [
        ("cables", 2, "E1.1"),
        ("wires", row_of("wires", "W3"), "E1"),
    ]


def test_a_row_of_another_sheet_is_no_row():
    with pytest.raises(OutOfReach) as refused:
        put_row(read(sheets()), "wires", "W1", Part(id="W1", kind="fan"))
    assert (refused.value.found, refused.value.allowed) == ("Part", "Wire")
    assert put_row(read(sheets()), "wires", "W1", Wire(id="W1")).wires[0] == Wire(id="W1")


def test_a_fixed_map_is_fixed():
    fixed = FixedMap({"b": "1", "a": "2"})
    assert (list(fixed), len(fixed), fixed["a"]) == (["b", "a"], 2, "2")
    assert fixed == {"a": "2", "b": "1"}
    assert hash(fixed) == hash(FixedMap({"a": "2", "b": "1"}))
    assert repr(fixed) == "FixedMap({'b': '1', 'a': '2'})"
    with pytest.raises(TypeError):
        fixed["a"] = "3"
    with pytest.raises(AttributeError):
        fixed._items = {}
    with pytest.raises(AttributeError):
        del fixed._items
    assert fixed == {"a": "2", "b": "1"}
