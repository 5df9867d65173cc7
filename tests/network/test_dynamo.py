"""A dynamo: what it gives by speed, and the cut-out that parts it from the battery."""

from __future__ import annotations

import pytest

from tests.network.cars import job, solved
from tests.states import small_jobs

CAR = {
    "DYN": "dynamo; max_a=20; setpoint_v=14",
    "CBX": "control_box; cut_in_v=12.9",
    "CHG": "lamp; watt=2.2",
}


def car(earth: str = "negative"):
    """A battery, a dynamo behind its control box, and a charge lamp between them."""
    live, earthed = ("+", "-") if earth == "negative" else ("-", "+")
    wires = [
        f"W1 BAT.{earthed} body",
        "W2 engine body",
        f"W3 BAT.{live} CBX.B",
        "W4 CBX.D DYN.D",
        "W5 CBX.F DYN.F",
        "W6 CBX.E body",
        f"W7 BAT.{live} CHG.1",
        "W8 CHG.2 CBX.D",
    ]
    return job(CAR, wires, f"earth={earth}")


@pytest.mark.parametrize("earth", ["negative", "positive"])
def test_it_charges_at_speed_and_the_lamp_is_dark(earth):
    found = solved(car(earth), {"engine": "running"})
    sign = 1.0 if earth == "negative" else -1.0
    assert found.relays["CBX"] == "pulled"
    assert abs(found.amps["DYN.output"]) <= 20.0
    assert sign * found.amps["W3"] < -5.0  # from the box into the battery
    assert sign * found.volts["DYN.D"] == pytest.approx(14.0, abs=0.6)
    assert abs(found.amps["CHG.filament"]) < 0.05


@pytest.mark.parametrize("earth", ["negative", "positive"])
def test_at_idle_the_cut_out_stays_open_and_the_lamp_glows_a_little(earth):
    found = solved(car(earth), {"engine": "idle"})
    assert found.relays["CBX"] == "released"
    # 12.6 V less 9.5 V, and what the armature loses: 3.3 V across a lamp of 0.183 A: 0.183 (3.3/12)^0.55
    assert abs(found.amps["CHG.filament"]) == pytest.approx(0.09, abs=0.01)


@pytest.mark.parametrize("engine", ["stopped", "idle"])
def test_the_cut_out_lets_go_when_current_comes_back(engine):
    # the battery alone would hold its coil: 12.6 V is more than the 9.5 V at which that lets go
    found = solved(car(), {"engine": engine}, {"engine": "running"})
    assert found.relays["CBX"] == "released"
    assert abs(found.amps["W3"]) < 0.01


def test_it_stays_in_while_the_dynamo_gives_little():
    assert solved(car(), {"engine": "running"}, {"engine": "running"}).relays["CBX"] == "pulled"


def test_a_hot_control_box_cuts_in_at_the_same_volts():
    # its spring makes up for the heat of the coil: 14 V is enough at 90 degrees, where copper has a quarter more ohms
    hot = small_jobs.car(
        vehicle=[{"name": "design_ambient_c", "value": "90"}],
        parts=[{"id": "DYN", "kind": "dynamo"}, {"id": "CBX", "kind": "control_box", "settings": "cut_in_v=12.9"}],
        wires=[
            small_jobs.wire("X1", "CBX.B", "BAT.+", "6"),
            small_jobs.wire("X2", "CBX.D", "DYN.D", "6"),
            small_jobs.wire("X3", "CBX.F", "DYN.F"),
            small_jobs.wire("X4", "CBX.E", "body"),
        ],
    )
    assert solved(hot, {"engine": "running"}).relays["CBX"] == "pulled"
