"""SUP-1 in the instant a motor starts: what a controller loses on the feed and the earth it shares."""

from __future__ import annotations

import pytest

from loomwright.findings import Finding
from loomwright.states.rules.motor_rush import motor_rush_findings
from tests.failure_modes.scenario import edited, job_of, wire
from tests.failure_modes.sound_cars import ENGINE
from tests.states.small_jobs import scene


def told(shared_mm: str, **controller: str) -> list[Finding]:
    """The findings of a car whose fan, 10 A running and 60 A at first, hangs on the controller's main relay.

    Args:
        shared_mm: length of the wire that both draw over. [mm]
        controller: settings of the controller.
    """
    figures = {"draw_a": "0.5", "minimum_v": "7", "reset_v": "5.5", "ride_through_ms": "5"} | controller
    rows = edited(
        ENGINE,
        parts=[
            {"id": "SF", "kind": "switch"},
            {"id": "FAN", "kind": "fan", "settings": "running_a=10; inrush_a=60"},
        ],
        changed={
            "ECU": {"settings": "; ".join(f"{name}={text}" for name, text in figures.items())},
            "M2": {"size_mm2": "4", "length_mm": shared_mm},
        },
        wires=[wire("A1", "BR.6", "SF.1", "4"), wire("A2", "SF.2", "FAN.+", "4"), wire("A3", "FAN.-", "body", "4")],
    )
    return [told.finding for told in motor_rush_findings(scene(job_of(rows)))]


def test_a_fan_on_the_controllers_own_feed_takes_volts_from_it_in_its_first_rush():
    [one] = told("1500")
    assert (one.rule, one.severity, one.at) == ("SUP-1", "warning", ("M2", "ECU", "FAN"))
    # about 45 A through 7 mohm of wire, 5 of relay and fuse contacts and the ends of the wires
    assert one.found == pytest.approx(0.75, abs=0.25)
    assert dict(one.when)["SF"] == "on"


def test_what_loses_just_less_than_half_a_volt_is_not_told():
    least = [length for length in ("200", "400", "600", "800", "1000", "1200") if told(length)]
    assert "1200" in least
    assert "200" not in least


def test_a_controller_that_dies_above_what_is_left_resets():
    [one] = told("8000", minimum_v="12", reset_v="11.8")
    assert (one.severity, one.allowed) == ("fault", 11.8)
    assert "resets in the moment FAN" in one.wrong
    assert one.found is not None
    assert one.found < 11.8


def test_one_that_rides_through_the_rush_only_stumbles():
    [one] = told("8000", minimum_v="12", reset_v="11.8", ride_through_ms="300")
    assert one.severity == "warning"
