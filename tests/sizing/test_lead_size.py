"""From the battery to the starter one size is laid, past an isolator too, and the reason says so."""

from __future__ import annotations

import pytest

from loomwright.car import Car
from loomwright.job.job import Job
from loomwright.sizing.size_says import wire_says
from tests.states.small_jobs import car, wire


def past_an_isolator(**cells: str) -> Job:
    """A battery in the boot: 0.3 m to its isolator, 4 m on to the starter, both blank; the key's feed beside."""
    return car(
        circuits=[{"id": "start", "class": "starting"}],
        parts=[
            {"id": "ISO", "kind": "isolator"},
            {"id": "STR", "kind": "starter", "settings": "running_a=180; pull_ohm=0.5; hold_ohm=2"},
        ],
        wires=[
            {"id": "S1", "from": "BAT.+", "to": "ISO.1", "length_mm": "300", **cells},
            {"id": "S2", "from": "ISO.2", "to": "STR.30", "length_mm": "4000", "circuit": "start"},
            wire("S3", "KEY.50", "STR.50", "6"),
        ],
        changed={
            "W1": {"size_mm2": "50"},
            "W2": {"size_mm2": "50"},
            "W3": {"from": "ISO.2", "size_mm2": "4"},
            "W4": {"size_mm2": "4"},
            "F1": {"settings": "rating_a=25"},
        },
    )


def test_the_lead_is_one_size_from_the_battery_to_the_starter():
    sized = Car(past_an_isolator()).sized()
    short, long = sized.wires["S1"], sized.wires["S2"]
    assert short.size_mm2 == long.size_mm2
    assert short.decided_by == "lead"
    assert long.decided_by == "volts"
    (ask,) = (one for one in short.asks if one.limit == "lead")
    # by itself it would be thinner: 0.3 m of the way lose little
    assert all((one.asks or 0.0) < short.size_mm2 for one in short.asks if one.limit != "lead")
    assert (
        wire_says(short, ask) == f"from the battery to the starter one size is laid, and S2 needs {long.size_mm2:g} mm²"
    )


@pytest.mark.parametrize("given", ["16", "70"])
def test_a_size_that_is_typed_stays_and_the_rest_of_the_lead_is_chosen_as_before(given):
    sized = Car(past_an_isolator(size_mm2=given)).sized()
    assert sized.wires["S1"].size_mm2 == float(given)
    assert sized.wires["S2"].decided_by == "volts"
