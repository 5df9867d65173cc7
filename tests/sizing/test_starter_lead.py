"""The lead to a starter's solenoid and the fuse in it, both blank: sized for the instant in which it goes in."""

from __future__ import annotations

import pytest

from loomwright.car import Car
from loomwright.job.job import Job
from tests.sizing.test_whole_cars import decided
from tests.states.small_jobs import car, wire


def far_starter(length_mm: str, **fuse: str) -> Job:
    """A starter whose relay and fuse sit at the other end of the car: all of its lead is blank, and its fuse."""
    blank = {"size_mm2": "", "length_mm": length_mm, "circuit": "start"}
    return car(
        circuits=[{"id": "start", "class": "starting"}],
        parts=[
            {"id": "STR", "kind": "starter", "settings": "running_a=140; stall_a=400"},
            {"id": "FK", "kind": "fuse", "circuit": "start", "settings": "family=blade_c", **fuse},
            {"id": "K", "kind": "relay", "circuit": "start", "settings": "suppression=resistor"},
        ],
        wires=[
            wire("S1", "BAT.+", "STR.30", "35", "4000"),
            wire("S2", "BAT.+", "FK.1", "6", "250"),
            {"id": "S3", "from": "FK.2", "to": "K.30", **blank},
            {"id": "S4", "from": "K.87", "to": "STR.50", **blank},
            wire("S5", "KEY.50", "K.86"),
            wire("S6", "K.85", "body"),
        ],
        changed={"W1": {"size_mm2": "35"}, "W2": {"size_mm2": "35"}},
    )


@pytest.mark.parametrize("length_mm", ["500", "2500"])
def test_a_long_lead_is_thick_enough_for_its_solenoid_to_go_in(length_mm):
    job = decided(far_starter(length_mm))
    assert [str(one) for one in Car(job).findings() if one.severity == "fault"] == []
    assert Car(job).solve(key="start", engine="cranking").relays["STR"] == "pulled"


@pytest.mark.parametrize("key_mm", ["1000", "2500"])
def test_a_lead_from_the_key_itself_is_thick_enough_too(key_mm):
    job = car(
        circuits=[{"id": "start", "class": "starting"}, {"id": "key", "class": "supply"}],
        parts=[{"id": "STR", "kind": "starter", "settings": "running_a=140; stall_a=400; pull_ohm=0.5; hold_ohm=2"}],
        wires=[
            wire("S1", "BAT.+", "STR.30", "35", "4000"),
            {"id": "S2", "from": "KEY.50", "to": "STR.50", "circuit": "start", "length_mm": "2000"},
        ],
        changed={
            "W1": {"size_mm2": "35"},
            "W2": {"size_mm2": "35"},
            "W4": {"size_mm2": "", "length_mm": key_mm, "circuit": "key"},
            "F1": {"settings": "family=blade_c"},
            **{name: {"size_mm2": "4"} for name in ("W3", "W5", "W6", "W7")},
        },
    )
    job = decided(job)
    assert [str(one) for one in Car(job).findings() if one.severity == "fault"] == []
    assert Car(job).solve(key="start", engine="cranking").relays["STR"] == "pulled"
