"""An alternator that feeds its own field carries lamps without a battery, and no starter."""

from __future__ import annotations

import pytest

from tests.network.cars import job, solved

BEFORE = {"engine": "idle", "ISO": "on"}


def car(form: str):
    """A battery behind a switch, an alternator beside it, a lamp, a starter worked by a push."""
    parts = {
        "ISO": "isolator; rating_a=250",
        "ALT": f"alternator; type={form}; max_a=90; idle_output_a=70",
        "CHG": "lamp; watt=2.2",
        "LA": "lamp; watt=55",
        "PU": "switch; rating_a=60",
        "STA": "starter; running_a=150; stall_a=450",
    }
    wires = [
        "W1 BAT.- body",
        "W2 engine body",
        "W3 BAT.+ ISO.1",
        "W4 ISO.2 ALT.B+",
        "W5 ISO.2 STA.30",
        "W6 ISO.2 PU.1",
        "W7 PU.2 STA.50",
        "W8 ISO.2 LA.1",
        "W9 LA.2 body",
        "W10 ISO.2 CHG.1",
        "W11 CHG.2 ALT.D+",
    ]
    return job(parts, wires)


@pytest.mark.parametrize("form", ["lamp_excited", "commanded"])
def test_alone_it_carries_a_lamp(form):
    found = solved(car(form), {"engine": "idle", "ISO": "off"}, BEFORE)
    assert found.volts["ALT.B+"] == pytest.approx(14.2, abs=0.3)
    assert found.amps["LA.filament"] == pytest.approx(5.0, abs=0.3)


@pytest.mark.parametrize("form", ["lamp_excited", "commanded"])
def test_alone_it_turns_no_starter_and_loses_its_volts(form):
    # from rest the starter is 12 V / 450 A: 70 A make under 2 V there, and a field of 0.5 A makes no 70 A
    found = solved(car(form), {"engine": "idle", "ISO": "off", "PU": "on"}, BEFORE)
    assert found.volts["ALT.B+"] == pytest.approx(0.0, abs=0.1)
    assert found.relays["STA"] == "released"


@pytest.mark.parametrize("form", ["lamp_excited", "commanded"])
def test_with_the_battery_beside_it_the_starter_spins(form):
    found = solved(car(form), {"engine": "idle", "PU": "on"}, BEFORE)
    assert found.relays["STA"] == "pulled"
    assert found.amps["STA.motor"] == pytest.approx(0.4 * 150.0, abs=2.0)
    assert found.volts["ALT.B+"] > 12.0
