"""An ignition output earths a coil itself where its row says some amps, and only tells an igniter where it does not."""

from __future__ import annotations

import pytest

from tests.network.cars import job, solved

WIRES = ["W1 BAT.- body", "W2 engine body", "W3 BAT.+ ECU.1", "W4 ECU.2 body", "W5 BAT.+ COL.15", "W6 COL.1 ECU.3"]


def driven(max_a: str):
    """A coil on an ignition output, driven while the engine turns."""
    pins = [
        {"id": "P1", "part": "ECU", "terminal": "1", "abilities": "supply"},
        {"id": "P2", "part": "ECU", "terminal": "2", "abilities": "power_earth"},
        {"id": "P3", "part": "ECU", "terminal": "3", "abilities": "ignition", "max_a": max_a},
    ]
    parts = {"ECU": "controller; draw_a=0.5", "COL": "coil_plain; ohm=0.6; peak_a=7"}
    return job(parts, WIRES, controller_pins=pins, drives=[{"output": "P3", "when": "engine=running"}])


def test_an_output_of_some_amps_earths_the_coil():
    made = driven("8")
    assert solved(made, {"engine": "running"}).amps["COL.primary"] == pytest.approx(7.0, abs=0.3)
    assert solved(made, {"engine": "stopped"}).amps["COL.primary"] == pytest.approx(0.0, abs=1e-3)


def test_one_of_milliamps_gives_5_volts_and_drives_no_coil():
    found = solved(driven("0.05"), {"engine": "running"})
    assert abs(found.amps["COL.primary"]) < 0.06
