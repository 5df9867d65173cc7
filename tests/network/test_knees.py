"""Each law on both sides of each of its corners, by hand."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from loomwright.network.laws import DIODE_BLOCKED, amps_and_slope
from loomwright.network.records import FIGURES, Law
from tests.network.cars import job, solved


def amps(law: Law, figures: tuple[float, ...], volts: float) -> float:
    """The current of a law. [A]"""
    p = np.zeros(FIGURES)
    p[: len(figures)] = figures
    return float(amps_and_slope(int(law), p, volts)[0])


LAMP = (12.0, 1.75, 0.5714)
DIODE = (0.7, 0.035, 50.0)
CLAMP = (10.0, 5.0, -0.2, 0.0, 0.001)
BATTERY = (12.6, 125.0, 13.0, 12.5, 0.001)
CURRENT = (2.0, 6.0)
POWER = (24.0, 6.0)
MOTOR = (0.5, 1.5)


@pytest.mark.parametrize(
    ("law", "figures", "volts", "expected"),
    [
        (Law.LINEAR, (2.0, 5.0), 12.0, 14.0),
        (Law.LINEAR, (2.0, 5.0), 1.0, -8.0),
        # lamp: at its design volts its design amps; cold, a resistor; the crossing lies at 12 (0.5714*1.75/12)^(1/0.45)
        (Law.LAMP, LAMP, 12.0, 1.75),
        (Law.LAMP, LAMP, -12.0, -1.75),
        (Law.LAMP, LAMP, 6.0, 1.75 * 0.5**0.55),
        (Law.LAMP, LAMP, 0.01, 0.01 / 0.5714),
        # diode: nothing to 0.28 V, ln 2 knees at its forward volts, a line of 20 mohm from 0.7 V after
        (Law.DIODE, DIODE, -100.0, 0.0),
        (Law.DIODE, DIODE, 0.28, 0.0),
        (Law.DIODE, DIODE, 0.7, 50.0 * 0.035 * 0.693141),
        (Law.DIODE, DIODE, 2.0, 50.0 * 1.3),
        # 5 V supply of 0.1 ohm that gives 0.2 A at most and takes nothing
        (Law.CLAMP, CLAMP, 4.99, -0.1),
        (Law.CLAMP, CLAMP, 4.98, -0.2),
        (Law.CLAMP, CLAMP, 3.98, -0.201),
        (Law.CLAMP, CLAMP, 5.0, 0.0),
        (Law.CLAMP, CLAMP, 12.0, 0.007),
        # battery: 8 mohm below its emf, next to nothing to 13 V, then 80 mohm
        (Law.BATTERY, BATTERY, 12.5, -12.5),
        (Law.BATTERY, BATTERY, 12.6, 0.0),
        (Law.BATTERY, BATTERY, 12.8, 0.0002),
        (Law.BATTERY, BATTERY, 13.0, 0.0004),
        (Law.BATTERY, BATTERY, 14.2, 15.0004),
        (Law.CURRENT, CURRENT, 3.0, 1.0),
        (Law.CURRENT, CURRENT, 6.0, 2.0),
        (Law.CURRENT, CURRENT, 14.0, 2.0),
        (Law.CURRENT, CURRENT, -14.0, -2.0),
        (Law.POWER, POWER, 3.0, 2.0),
        (Law.POWER, POWER, 6.0, 4.0),
        (Law.POWER, POWER, 12.0, 2.0),
        (Law.MOTOR, MOTOR, 1.5, 0.0),
        (Law.MOTOR, MOTOR, 13.5, 6.0),
        (Law.MOTOR, MOTOR, -13.5, -6.0),
        (Law.MOTOR, MOTOR, 0.5, 0.0),
    ],
)
def test_a_law_on_both_sides_of_its_corner(law, figures, volts, expected):
    assert amps(law, figures, volts) == pytest.approx(expected, abs=2e-5)


def test_the_slope_of_every_law_but_power_is_its_derivative():
    laws = ((Law.LAMP, LAMP), (Law.DIODE, DIODE), (Law.CLAMP, CLAMP), (Law.BATTERY, BATTERY), (Law.MOTOR, MOTOR))
    step_v = 1e-6
    for law, figures in laws:
        p = np.zeros(FIGURES)
        p[: len(figures)] = figures
        for volts in (-13.3, -0.4, 0.31, 0.77, 4.97, 12.2, 12.77, 14.1):
            slope = amps_and_slope(int(law), p, volts)[1]
            rise = (amps(law, figures, volts + step_v) - amps(law, figures, volts - step_v)) / (2 * step_v)
            assert slope == pytest.approx(rise, rel=1e-4, abs=1e-6), (law, volts)


def test_no_law_falls_as_the_volts_rise_but_power():
    grid = np.linspace(-16.0, 16.0, 6401)
    for law, figures in (
        (Law.LAMP, LAMP), (Law.DIODE, DIODE), (Law.CLAMP, CLAMP), (Law.BATTERY, BATTERY), (Law.CURRENT, CURRENT),
        (Law.MOTOR, MOTOR),
    ):  # fmt: skip
        row = [amps(law, figures, float(volts)) for volts in grid]
        assert all(b >= a for a, b in pairwise(row)), law
    falling = [amps(Law.POWER, POWER, float(volts)) for volts in grid if volts > 6.0]
    assert falling == sorted(falling, reverse=True)


def test_a_diode_is_blocked_from_twelve_knees_below_its_forward_volts():
    edge = DIODE[0] + DIODE_BLOCKED * DIODE[1]
    assert edge == pytest.approx(0.28)
    assert amps(Law.DIODE, DIODE, edge - 1e-9) == 0.0
    assert amps(Law.DIODE, DIODE, edge + 1e-3) > 0.0


def test_a_diode_in_a_car_leads_one_way():
    wires = ["W1 BAT.+ D.a", "W2 D.k LA.1", "W3 LA.2 body", "W4 BAT.- body"]
    leads = solved(job({"D": "diode", "LA": "lamp"}, wires))
    drop_v = leads.volts["D.a"] - leads.volts["D.k"]
    assert 0.6 < drop_v < 0.8
    turned = ["W1 BAT.+ D.k", "W2 D.a LA.1", *wires[2:]]
    blocks = solved(job({"D": "diode", "LA": "lamp"}, turned))
    assert blocks.amps["LA.filament"] == pytest.approx(0.0, abs=1e-9)


def test_a_point_behind_a_blocked_diode_alone_floats():
    car = job({"D": "diode"}, ["W1 BAT.+ D.k", "W2 D.a LA.1", "W4 BAT.- body"], parts=[{"id": "LA", "kind": "lamp"}])
    assert solved(car).volts["LA.1"] is None


def test_a_point_that_a_diode_holds_up_without_current_floats():
    """Found beside the simulator: the last step left such a point as reached, with volts that meant nothing."""
    car = job({"D": "diode"}, ["W1 BAT.+ D.a", "W2 D.k LA.1", "W4 BAT.- body"], parts=[{"id": "LA", "kind": "lamp"}])
    assert solved(car).volts["LA.1"] is None
    assert solved(car).volts["D.k"] is None
