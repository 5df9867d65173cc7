"""RAT-1 of windings that are made to be held at a current."""

from __future__ import annotations

import pytest

from loomwright.states.rules import rating
from tests.states.rules.engine_car import DRIVES, PINS, engine_car
from tests.states.small_jobs import findings, wire

DRIVE = {"output": "A8", "when": "engine=idle|running"}


def told(settings="", kind="solenoid_linear", end="ECU.8", parts=(), wires=(), **pin):
    """RAT-1 of a solenoid between the main relay and an output of the controller."""
    row = {"id": "A8", "part": "ECU", "terminal": "8", "abilities": "low_side", "max_a": "9", **pin}
    job = engine_car(
        pins=[*PINS, row],
        drives=[*DRIVES, DRIVE],
        parts=[{"id": "SOL", "kind": kind, "settings": settings}, *parts],
        wires=[*(wires or [wire("V8", "BR.12", "SOL.1")]), wire("V9", "SOL.2", end)],
    )
    return [one for one in findings(job, rating) if one.at[0] == "SOL"]


def test_a_solenoid_held_at_a_current_on_a_plain_output_is_told_with_what_its_ohms_let_through():
    (one,) = told()
    assert (one.rule, one.severity, one.at) == ("RAT-1", "fault", ("SOL", "ECU.8"))
    assert "ECU.8 only switches it on and off" in one.wrong
    # some 13.8 V over 5.3 ohm
    assert one.found == pytest.approx(13.8 / 5.3, abs=0.1)
    assert one.allowed == 1.1


@pytest.mark.parametrize("pin", [{"abilities": "pwm"}, {"abilities": "low_side pwm"}, {"pwm_hz": "300"}])
def test_an_output_that_can_pulse_holds_it(pin):
    assert told(**pin) == []


def test_wired_through_to_earth_nothing_holds_it():
    (one,) = told(end="engine")
    assert one.at == ("SOL",)
    assert "no output that pulses drives it" in one.wrong


def test_with_ohms_enough_volts_alone_hold_it():
    # 14.2 V over 14 ohm is 1.01 A
    assert told("ohm=14") == []
    assert [one.rule for one in told("ohm=12")] == ["RAT-1"]


def test_a_solenoid_for_full_volts_is_not_asked():
    assert told("ohm=28", kind="solenoid") == []
    # its row says that it is to be held
    assert [one.at[0] for one in told("ohm=4; max_a=1", kind="solenoid")] == ["SOL"]


def test_behind_a_series_resistor_it_is_not_asked():
    before = {"parts": [{"id": "RS", "kind": "resistor", "settings": "ohm=8"}]}
    wires = [wire("V7", "BR.12", "RS.1"), wire("V8", "RS.2", "SOL.1")]
    assert told(wires=wires, **before) == []
