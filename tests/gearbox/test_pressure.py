"""Line pressure by gear and pedal: against the converter's own formula by hand, and with what nobody knows."""

from __future__ import annotations

import itertools
from dataclasses import replace
from math import sqrt

import numpy as np
import pytest
from scipy.optimize import brentq

from loomwright.gearbox.box import rpm_in
from loomwright.gearbox.box_reading import box_from_text, shipped_box
from loomwright.gearbox.lines import first_lines, programme_called
from loomwright.gearbox.pressure import pressure_csv, pressure_says, pressure_table
from loomwright.refusals import BadDocument

BOX = shipped_box()
NORMAL = first_lines(BOX, programme_called(BOX, "normal"))
MADE = pressure_table(BOX, NORMAL)
TEXT = """
ratios = [2.8, 1.54, 1.0, 0.7]
final_drive = 3.45
tyre = "205/65R15"
mass_kg = 1480
[engine]
limit_rpm = 6000
litres = 3.0
[solenoids]
names = ["A", "B"]
gears.1 = "on off"
gears.2 = "on on"
gears.3 = "off on"
gears.4 = "off off"
pressure_unplugged = "full"
{pressure}
[programmes.normal]
wish = "normal"
"""


def engine_nm(rpm: float, pedal: float) -> float:
    """The shipped engine, worked anew: its curve straight between points, drag as `box` writes it."""
    curve = [(750, 165), (1500, 205), (2500, 238), (3500, 250), (4500, 240), (5400, 212), (6000, 180)]
    (a, low), (b, high) = next((p, q) for p, q in itertools.pairwise(curve) if p[0] <= rpm <= q[0])
    full = low + (high - low) * (rpm - a) / (b - a)
    drag = -(0.04 + 0.08 * rpm / 6000.0) * 250.0
    return drag + pedal * (full - drag)


def test_at_stall_it_is_the_converters_formula_by_hand() -> None:
    k, more = BOX.converter.k_rpm[0], BOX.converter.torque_ratios[0]
    rpm = brentq(lambda n: n - k * sqrt(engine_nm(n, 1.0)), 1000.0, 4000.0)
    assert MADE.stall_nm == pytest.approx(more * engine_nm(rpm, 1.0), rel=1e-6)
    assert MADE.idle_nm == pytest.approx(more * (750.0 / k) ** 2, rel=1e-6)
    half = brentq(lambda n: n - k * sqrt(engine_nm(n, 0.5)), 750.0, 4000.0)
    asked = 1.1 * more * engine_nm(half, 0.5)
    first = MADE.share_frac[MADE.gears.index("1")]
    assert first[5] == pytest.approx((asked - MADE.idle_nm) / (MADE.stall_nm - MADE.idle_nm), rel=1e-5)
    assert (first[0], first[10]) == (0.0, 1.0)


def test_more_pedal_never_wants_less_and_a_higher_gear_never_more() -> None:
    for row in MADE.share_frac:
        assert list(row) == sorted(row)
    forward = MADE.share_frac[1:]
    for low, high in itertools.pairwise(forward):
        assert all(a >= b - 0.02 for a, b in zip(low, high, strict=True))
    assert MADE.share_frac[0] == MADE.share_frac[1], "in reverse the converter stands still as it does in first"


def test_a_gear_is_asked_for_the_most_it_meets_between_its_lines() -> None:
    # a locked turbine of 1 : 1 at least: never less than what the engine gives at full pedal, with a tenth on top
    turns = rpm_in(BOX, 4, NORMAL.down_kmh[2][-1])
    least = (1.1 * engine_nm(turns, 1.0) - MADE.idle_nm) / (MADE.stall_nm - MADE.idle_nm)
    assert MADE.share_frac[4][-1] >= least
    early = replace(NORMAL, down_kmh=(*NORMAL.down_kmh[:2], tuple(0.5 * v for v in NORMAL.down_kmh[2])))
    assert pressure_table(BOX, early).share_frac[4][-1] > MADE.share_frac[4][-1] + 0.05, "lower down, the torque rises"


def test_the_highest_gear_is_asked_for_what_its_converter_gives_at_its_down_line() -> None:
    made, lines = pressure_table(BOX, NORMAL), BOX.converter
    turns = rpm_in(BOX, 4, NORMAL.down_kmh[2][5])  # 50 % pedal

    def at(figures: tuple[float, ...], rpm: float) -> float:
        return float(np.interp(turns / rpm, lines.speed_ratios, figures))

    rpm = brentq(lambda n: engine_nm(n, 0.5) - (n / at(lines.k_rpm, n)) ** 2, turns, 4000.0)
    asked = 1.1 * at(lines.torque_ratios, rpm) * engine_nm(rpm, 0.5)
    assert made.share_frac[4][5] == pytest.approx((asked - made.idle_nm) / (made.stall_nm - made.idle_nm), rel=1e-4)


def test_pressures_lie_on_the_way_between_the_two_that_are_printed() -> None:
    box = box_from_text(TEXT.format(pressure="pressure_kpa = [450, 1250]"))
    made = pressure_table(box, first_lines(box, box.programmes[0]))
    assert made.gears == ("1", "2", "3", "4"), "no ratio of reverse is known"
    for shares, pressures in zip(made.share_frac, made.pressure_kpa, strict=True):
        assert pressures == pytest.approx([450.0 + 800.0 * share for share in shares])
    assert pressure_csv(made).splitlines()[0] == "gear,kPa,0,10,20,30,40,50,60,70,80,90,100"
    assert pressure_csv(made).splitlines()[1].startswith("1,,450,")
    assert pressure_csv(made).splitlines()[1].endswith(",1250")


@pytest.mark.parametrize("typed", ["[450]", "[1250, 450]", "[450, 450]", "[50, 1250]", "[450, 3001]", '"full"'])
def test_pressures_that_cannot_be_meant_are_refused_with_the_mend(typed: str) -> None:
    with pytest.raises(BadDocument) as told:
        box_from_text(TEXT.format(pressure=f"pressure_kpa = {typed}"))
    assert all(one.column == "solenoids.pressure_kpa" and one.mend for one in told.value.problems)


def test_what_is_not_known_is_said_and_no_pressure_made_up() -> None:
    box = box_from_text(TEXT.format(pressure=""))
    made = pressure_table(box, first_lines(box, box.programmes[0]))
    said = " ".join(pressure_says(box, made))
    assert made.pressure_kpa == ()
    assert "pressure_kpa = [idle in D, stall]" in said
    assert "estimated or typical" in said
    assert "With no current the pressure is full: at 100 % the solenoid has its least current" in said
    unknown = replace(box, pattern=replace(box.pattern, pressure_unplugged=""))
    assert "Nobody knows what the pressure does with no current" in " ".join(pressure_says(unknown, made))
    least = replace(box, pattern=replace(box.pattern, pressure_unplugged="least"))
    assert "at 100 % the solenoid has its most current" in " ".join(pressure_says(least, made))
    assert "Reverse" not in said
    assert any("Reverse has the pressure of first" in one for one in pressure_says(BOX, MADE))
