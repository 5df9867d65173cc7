"""Answers and sheets as flat rows: typed, marked, under one set of headings, fit for any other program."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import replace

import pytest

from loomwright.car import Car
from loomwright.findings import Finding
from loomwright.handover.answer_rows import JOB_ROWS, STATE_ROWS, rows_named
from loomwright.handover.plain_rows import Rows, typed_headings
from loomwright.handover.state_rows import volt_rows
from loomwright.job.decided import with_decisions
from loomwright.job.reading import job_from_text
from loomwright.job.rows import Decision
from loomwright.job.schema import SHEETS, headings
from loomwright.refusals import OutOfReach
from tests.handover.van import changed, rows
from tests.shape.source import ROOT
from tests.shape.test_terms import rows as word_rows
from tests.shape.test_terms import section, words

PLAIN = {str, float, int, bool, type(None)}


def car(sheets: Mapping[str, list[dict[str, str]]] | None = None) -> Car:
    """The small van, or another one."""
    return Car(job_from_text(rows() if sheets is None else sheets))


@pytest.fixture(scope="module")
def van() -> Car:
    """The small van, asked by many."""
    return car()


def row(found: Rows, heading: str, name: str) -> dict[str, object]:
    """The one row of that name."""
    [one] = [each for each in found if each[heading] == name]
    return one


# ------------------------------------------------------------------------ every table


@pytest.mark.parametrize("name", [*JOB_ROWS, *STATE_ROWS, *SHEETS])
def test_every_table_is_flat_plain_and_fit_for_json(van, name):
    found = van.rows(name)
    assert json.loads(json.dumps(found, allow_nan=False)) == found
    assert found.columns
    for each in found:
        assert tuple(each) == tuple(found.columns)
        for heading, value in each.items():
            assert type(value) in PLAIN
            assert value is None or type(value) is found.columns[heading], (heading, value)


def test_most_tables_of_the_van_hold_something(van):
    # so that the test above looks at more than headings
    empty = {name for name in (*JOB_ROWS, *STATE_ROWS) if not van.rows(name)}
    assert empty == {"bundles"}  # the van has no runs


def test_no_answer_is_called_like_a_sheet():
    assert not {*JOB_ROWS, *STATE_ROWS} & set(SHEETS)
    assert not set(JOB_ROWS) & set(STATE_ROWS)


def test_rows_that_do_not_exist_are_refused_with_the_nearest(van):
    with pytest.raises(OutOfReach, match="nearest: wires") as refused:
        van.rows("wire")
    assert refused.value.found == "wire"


def test_a_state_is_refused_for_rows_that_stand_for_none(van):
    with pytest.raises(OutOfReach, match="volts amps relays"):
        van.rows("wires", key="run")
    with pytest.raises(OutOfReach):
        van.rows("findings", before={"key": "run"})
    with pytest.raises(OutOfReach):
        van.rows("findings", filled=True)


def test_every_answer_and_every_heading_is_explained_in_the_list_of_words(van):
    text = (ROOT / "docs" / "terms.md").read_text(encoding="utf-8")
    told, all_words = words(word_rows(section(text, "Rows for programs"))), words(word_rows(text))
    answers = (*JOB_ROWS, *STATE_ROWS)
    assert [name for name in answers if name not in told] == []
    used = {heading for name in answers for heading in van.rows(name).columns}
    assert sorted(used - all_words) == []
    assert sorted(told - used - {*answers, "filled", "value_word"}) == []


# ------------------------------------------------------------------------ sheets


def test_a_sheet_has_the_headings_of_the_contract_and_typed_values(van):
    wires = van.rows("wires")
    assert tuple(wires.columns) == headings("wires")
    w3 = row(wires, "id", "W3")
    assert (w3["size_mm2"], w3["from"], w3["colour"], w3["fitted"]) == (2.5, "BAT.+", "RD", "new")
    assert w3["built_length_mm"] is None
    assert row(van.rows("parts"), "id", "F1")["settings"] == "rating_a=10; box=A; way=3"
    assert row(van.rows("drives"), "output", "A3")["when"] == "engine=idle|running"


def test_yes_no_and_counts_are_what_they_are():
    sheets = rows()
    sheets["places"][0]["wet"] = "yes"
    sheets["connectors"] = [{"id": "P1", "part": "ECU", "terminals": "A1 A2", "ways": "24"}]
    found = car(sheets)
    assert [each["wet"] for each in found.rows("places")] == [True, None]
    [plug] = found.rows("connectors")
    assert (plug["ways"], plug["terminals"]) == (24, "A1 A2")
    assert type(plug["ways"]) is int


def test_a_size_in_gauge_numbers_is_in_square_millimetres():
    w3 = row(car(changed("wires", "W3", size_mm2="12 AWG")).rows("wires"), "id", "W3")
    assert w3["size_mm2"] == pytest.approx(3.309, abs=0.001)


def test_a_reading_that_is_a_word_stands_beside_the_figures():
    sheets = rows()
    sheets["readings"] = [
        {"point": "TL.1", "measure": "volts", "value": "12.3", "unit": "V"},
        {"point": "TL.1", "measure": "lamp", "value": "dim"},
    ]
    found = car(sheets).rows("readings")
    assert [(each["value"], each["value_word"]) for each in found] == [(12.3, ""), (None, "dim")]


def test_columns_and_sheets_of_the_jobs_own_come_along_as_text():
    sheets = rows()
    sheets["wires"][2]["bought"] = "yes"
    sheets["paint"] = [{"panel": "wing", "code": "7"}, {"panel": "door"}]
    found = car(sheets)
    wires = found.rows("wires")
    assert wires.columns["bought"] is str
    assert [each["bought"] for each in wires if each["bought"]] == ["yes"]
    assert found.rows("paint") == [{"panel": "wing", "code": "7"}, {"panel": "door", "code": ""}]


# ------------------------------------------------------------------------ filled


def decided() -> Car:
    """The van with a size, a length and a rating left to the tool, which decided two of them."""
    sheets = changed("wires", "W6", size_mm2="", length_mm="")
    next(each for each in sheets["parts"] if each["id"] == "F2")["settings"] = "family=blade_c"
    next(each for each in sheets["wires"] if each["id"] == "W7")["built_length_mm"] = "870"
    size = Decision(sheet="wires", row="W6", column="size_mm2", value="0.75", decided_by="load")
    rating = Decision(sheet="parts", row="F2", column="settings.rating_a", value="25", decided_by="load")
    return Car(with_decisions(job_from_text(sheets), [size, rating], []))


def test_typed_rows_stay_blank_and_filled_rows_say_which_cells_were_filled():
    found = decided()
    typed, filled = found.rows("wires"), found.rows("wires", filled=True)
    assert row(typed, "id", "W6")["size_mm2"] is None
    w6 = row(filled, "id", "W6")
    assert (w6["size_mm2"], w6["length_mm"], w6["filled"]) == (0.75, None, "size_mm2")
    assert tuple(filled.columns) == (*typed.columns, "filled")


def test_what_was_built_is_marked_too():
    w7 = row(decided().rows("wires", filled=True), "id", "W7")
    assert (w7["length_mm"], w7["filled"]) == (870.0, "length_mm")


def test_a_decided_setting_is_marked_by_its_own_name():
    f2 = row(decided().rows("parts", filled=True), "id", "F2")
    assert f2["filled"] == "settings.rating_a"
    assert "rating_a=25" in str(f2["settings"])


def test_rows_that_nothing_was_decided_for_are_not_marked():
    filled = decided().rows("wires", filled=True)
    assert {each["id"] for each in filled if each["filled"]} == {"W6", "W7"}


# ------------------------------------------------------------------------ answers


def test_volts_of_a_state_say_which_points_float(van):
    found = van.rows("volts", key="run")
    assert row(found, "point", "axle") == {"point": "axle", "volts": None, "floating": True}
    live = row(found, "point", "ECU.A1")
    assert live["volts"] == van.solve(key="run").volts["ECU.A1"]
    assert live["floating"] is False
    assert len(found) == len(van.solve(key="run").volts)


def test_a_state_may_come_as_a_mapping_with_what_was_before(van):
    by_name = van.rows("amps", key="run", engine="idle")
    assert van.rows("amps", {"key": "run", "engine": "idle"}, before={"key": "run"}) == by_name
    assert by_name != van.rows("amps")


def test_a_figure_that_is_no_number_is_not_known(van):
    solved = replace(van.solve(), volts={"body": float("nan"), "axle": None})
    assert volt_rows(solved) == [
        {"point": "axle", "volts": None, "floating": True},
        {"point": "body", "volts": None, "floating": False},
    ]


def test_relays_controllers_and_fuses_say_how_they_lie(van):
    at_rest = {each["part"]: (each["what"], each["lies"]) for each in van.rows("relays")}
    assert at_rest == {"ECU": ("controller", "dead"), "KF": ("relay", "released")}
    running = {each["part"]: each["lies"] for each in van.rows("relays", key="run", engine="running")}
    assert running == {"ECU": "alive", "KF": "pulled"}


def test_expected_readings_are_one_row_a_state_and_point(van):
    found = van.rows("expected")
    states = list(dict.fromkeys(str(each["state"]) for each in found))
    assert states[0] == "key off"
    assert "lights on" in states
    assert len(found) == len(states) * len(van.solve().volts)
    [lamp] = [each for each in found if each["state"] == "lights on" and each["point"] == "TL.1"]
    assert float(str(lamp["volts"])) > 9.0
    assert "lights=on" in str(lamp["when"])


def test_the_cut_list_has_the_piece_with_its_allowance(van):
    w24 = row(van.rows("cut_list"), "wire", "W24")
    assert (w24["size_mm2"], w24["colour"], w24["length_mm"], w24["cut_mm"]) == (2.5, "RD/YE", 1000.0, 1040.0)
    assert "W15" not in {each["wire"] for each in van.rows("cut_list")}  # kept


def test_each_fuse_has_its_rating_and_the_most_it_carries_as_figures(van):
    f2 = row(van.rows("fuses"), "fuse", "F2")
    assert (f2["rating_a"], f2["place"], f2["feeds"]) == (20.0, "engine bay", "KF.30")
    fan_a = van.solve(key="run", engine="idle").amps["F2.fuse"]
    assert f2["most_a"] == pytest.approx(fan_a, rel=0.02)
    assert "FAN" in str(f2["dies"]).split()


def test_a_fuse_whose_rating_nobody_chose_has_none():
    sheets = changed("parts", "F2", settings="family=blade_c")
    assert row(car(sheets).rows("fuses"), "fuse", "F2")["rating_a"] is None


class _Told:
    """A car that found what a test says."""

    def __init__(self, *findings: Finding) -> None:
        self.told = findings

    def findings(self) -> tuple[Finding, ...]:
        return self.told


def test_what_goes_with_a_root_stands_under_its_number():
    def finding(rule: str, *folded: Finding) -> Finding:
        return Finding(rule=rule, severity="fault", at=("W1", "F1"), wrong="is open", folded=folded)

    roots = finding("NET-1", finding("REQ-1", finding("LMP-1")), finding("DRP-1")), finding("SUP-1")
    found = rows_named(_Told(*roots), "findings")  # type: ignore[arg-type]
    assert [(each["number"], each["under"], each["rule"]) for each in found] == [
        (1, None, "NET-1"),
        (2, 1, "REQ-1"),
        (3, 2, "LMP-1"),
        (4, 1, "DRP-1"),
        (5, None, "SUP-1"),
    ]
    assert found[0]["at"] == "W1 F1"
    assert found[0]["says"] == "W1: is open."


# ------------------------------------------------------------------------ rows


def test_a_row_with_a_value_too_many_or_too_few_is_a_mistake():
    for cells in ((1, 2, 3), (1,)):
        with pytest.raises(ValueError, match="argument 2"):
            Rows(typed_headings("a:int b:int"), [cells])
