"""How likely a reading is in each band: densities are densities, chances add up to one, and where a band lies."""

from __future__ import annotations

import numpy as np
import pytest

from loomwright.job.job import Job
from loomwright.job.rows import VehicleProperty
from loomwright.survey.expected import expected_of
from loomwright.survey.likelihood import BANDS, band_chances, bands_of, shown_by
from loomwright.survey.records import Evidence
from loomwright.tables.old_wires import wire_functions, wire_looks

LIVE, PART, PULSING, FLOATING, EARTHED = range(5)


def reading(value, *, look: str = "run", measure: str = "volts", battery_v: float = 12.6) -> Evidence:
    return Evidence(
        row=2, wire="1", stub="source", look=look, position="", measure=measure, value=value, battery_v=battery_v
    )


def density(look: str, battery_v: float):
    """Volts from well below nought to well above the battery, and how likely each is in every band."""
    volts = np.arange(0.0, 1.5 * battery_v, battery_v * 1e-4)
    return volts, np.stack([bands_of(reading(float(one), look=look, battery_v=battery_v)) for one in volts])


@pytest.mark.parametrize(("look", "battery_v"), [("run", 12.6), ("run", 6.3), ("run", 25.2), ("start", 12.6)])
def test_volts_of_each_band_are_spread_over_one(look, battery_v):
    volts, found = density(look, battery_v)
    assert np.trapezoid(found, volts, axis=0) == pytest.approx(np.ones(5), abs=0.01)


def test_live_lies_about_the_battery_and_halfway_to_its_sag_while_the_starter_turns():
    # typical: 0.3 V about the battery; cranking takes up to 2 V off it
    for look, middle_v in (("run", 12.0), ("start", 12.0 - 1.0)):
        volts, found = density(look, 12.0)
        assert np.trapezoid(volts * found[:, LIVE], volts) == pytest.approx(middle_v, abs=0.02)


def test_some_volts_are_more_than_a_floating_wire_has_and_less_than_a_live_one():
    # a floating wire drifts up to 3 V, and what lies a volt below the battery is no longer live
    found = [bands_of(reading(volts, battery_v=12.0)) for volts in (2.9, 3.1, 10.9, 11.1)]
    assert [one[PART] > 0.0 for one in found] == [False, True, True, False]
    assert [one[FLOATING] > 1e-6 for one in found] == [True, False, False, False]


def test_a_lamp_that_pulses_is_fed_and_one_that_lights_from_plus_alone_is_earthed():
    full, dim, dark, earthed = bands_of(reading("pulsing", measure="lamp"))
    assert full > 0.0
    assert dim > 0.0
    assert dark == earthed == 0.0
    assert np.flatnonzero(bands_of(reading("full", measure="lamp_plus"))).tolist() == [3]
    # of the words that a lamp from plus may be told in each is met by an earthed wire, full the most
    words = [bands_of(reading(word, measure="lamp_plus"))[3] for word in ("full", "dim", "pulsing", "dark")]
    assert words == sorted(words, reverse=True)
    assert words[-1] == 0.0


@pytest.mark.parametrize("look", [one.key for one in wire_looks()])
def test_what_may_come_out_of_a_look_adds_up_to_one(look):
    measure, chances = band_chances(shown_by(wire_functions()), look)
    assert chances.shape[-1] == len(BANDS[measure])
    assert np.all(chances >= 0.0)
    assert chances.sum(axis=-1) == pytest.approx(1.0, abs=1e-9)


@pytest.mark.parametrize(
    ("system", "look", "says"),
    [
        ({}, "run", "about 12.4 V"),
        ({"earth": "positive"}, "run", "about -12.4 V"),
        ({"system_voltage": "24"}, "run", "about 24.8 V"),
        ({"system_voltage": "6", "earth": "positive"}, "run", "about -6.2 V"),
    ],
)
def test_a_live_wire_shows_the_batterys_volts_with_their_sign(system, look, says):
    # an older battery at rest: 12.4 V of a 12 V car, typical
    job = Job(vehicle=tuple(VehicleProperty(name=name, value=value) for name, value in system.items()))
    (only,) = expected_of(job, {"accessory": 1.0}, look)
    assert only.says == says
