"""KEY-6: what outputs switch on while their controller starts up, and while it is dead."""

from __future__ import annotations

import pytest

from loomwright.states.rules import key, supply
from tests.states.rules.engine_car import PINS, engine_car
from tests.states.small_jobs import findings, wire


def told(*rules, parts=(), wires=(), drives=None, more=(), without=(), changed=None, **cells):
    """KEY-6 of the engine car, with cells of its pins changed: rule, severity and the first two places."""
    pins = [*({**row, **cells.get(row["id"], {})} for row in PINS), *more]
    sheets = {} if drives is None else {"drives": drives}
    job = engine_car(pins=pins, parts=parts, wires=wires, without=without, changed=changed, **sheets)
    return [one for one in findings(job, key, *rules) if one.rule == "KEY-6"]


def places(found):
    return [(one.severity, *one.at[:2]) for one in found]


# KEY-6


def test_an_injector_that_is_low_while_its_controller_starts_is_told():
    (one,) = told(A4={"boot": "low"})
    assert (one.rule, one.severity, one.at) == ("KEY-6", "fault", ("INJ", "ECU.4"))
    assert dict(one.when) == {"key": "run", "engine": "stopped"}
    assert {"I2", "A4", "ECU"} <= set(one.touches)
    assert "is on while ECU starts up" in one.wrong
    assert "ECU.4 is low then" in one.wrong


@pytest.mark.parametrize("boot", ["open", "high", ""])
def test_an_output_that_rests_at_its_other_side_switches_nothing_on(boot):
    # KEY-6 is told of none: the output earths, and so only low is on
    assert told(A4={"boot": boot}, A6={"boot": boot}) == []


@pytest.mark.parametrize(
    ("boot", "active", "expected"),
    [("high", "", True), ("low", "", False), ("high", "high", True), ("low", "low", True), ("high", "low", False)],
)
def test_a_signal_to_an_igniter_is_on_at_the_level_its_row_names(boot, active, expected):
    found = places(told(A5={"boot": boot, "active": active}))
    assert found == ([("fault", "COL", "ECU.5")] if expected else [])


def test_a_relay_in_between_is_followed_to_the_pump_and_a_start_is_a_prime():
    assert places(told(A6={"boot": "low"})) == [("warning", "PMP", "ECU.6")]


def test_two_outputs_are_told_each_at_what_it_switches():
    found = places(told(A4={"boot": "low"}, A5={"boot": "high"}))
    assert sorted(found) == [("fault", "COL", "ECU.5"), ("fault", "INJ", "ECU.4")]


FAN = {
    "parts": [{"id": "FAN", "kind": "fan"}, {"id": "LP", "kind": "lamp"}],
    "wires": [
        wire("N1", "BR.7", "FAN.+", "4"),
        wire("N2", "FAN.-", "ECU.8", "4"),
        wire("N3", "BR.8", "LP.1"),
        wire("N4", "LP.2", "ECU.9"),
    ],
}
DRIVERS = [
    {"id": "A8", "part": "ECU", "terminal": "8", "abilities": "low_side", "max_a": "20"},
    {"id": "A9", "part": "ECU", "terminal": "9", "abilities": "low_side", "max_a": "2"},
]


def test_a_fan_is_a_warning_and_a_lamp_is_let_be():
    more = [{**row, "boot": "low"} for row in DRIVERS]
    assert places(told(more=more, **FAN)) == [("warning", "FAN", "ECU.8")]


def test_a_feeding_output_switches_on_while_it_is_high():
    fed = {"parts": FAN["parts"][:1], "wires": [wire("N1", "ECU.8", "FAN.+", "4"), wire("N2", "FAN.-", "body", "4")]}
    high = {**DRIVERS[0], "abilities": "high_side"}
    assert places(told(more=[{**high, "boot": "high"}], **fed)) == [("warning", "FAN", "ECU.8")]
    assert told(more=[{**high, "boot": "low"}], **fed) == []


def test_a_drive_that_acts_meanwhile_is_not_what_is_told():
    # the pump is driven for its prime; while the controller starts no drive acts, and its output is open
    assert told(A6={"boot": "open"}) == []


def test_a_pump_that_a_dead_controller_holds_in_is_the_root_of_what_comes_of_it():
    on_the_battery = {"P5": {"from": "F1.2"}}
    (one,) = told(supply, changed=on_the_battery, A6={"unpowered": "low"})
    assert places([one]) == [("fault", "PMP", "ECU.6")]
    assert "is on while ECU is dead" in one.wrong
    assert {inner.rule for inner in one.folded} == {"SUP-2", "KEY-2", "KEY-5"}
    assert told(changed=on_the_battery, A6={"unpowered": "open"}) == []


def test_what_is_dead_with_its_controller_is_not_told():
    # the pump relay's coil hangs on the main relay, which is out whenever the controller is
    assert told(A6={"unpowered": "low"}) == []
