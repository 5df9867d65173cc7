"""How much does an injector give at the pressure it really has, how large must it be, and how late does it open?

Flow goes with the root of the pressure across it: q2 = q1 * sqrt(p2 / p1), the pressure of the rail against that of the
manifold, both absolute. Size: each gives its share of power * consumption within its duty. What one pulse gives is
m = slope * (pulse - delay): a straight line through bench figures taken at one pressure and at one voltage; figures at
others are set apart and told, never averaged in.

Opening delay against volts: its coil must reach the pull-in current, t = -(L/R) ln(1 - I R / V), and the needle move.

Source: page-injector-flow (root law, absolute pressures), page-injector-size (consumption, duty); the line of a pulse
and the coil are common practice and physics.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import inf, log, sqrt

import numpy as np

from loomwright.refusals import OutOfReach

__all__ = [
    "BenchPulse",
    "PulseLine",
    "cc_per_min_of",
    "charging_s",
    "delay_says",
    "difference_kpa",
    "flow_cc_per_min",
    "needed_cc_per_min",
    "opening_ms",
    "pulse_line",
]

_LB_G = 453.59237
_MINUTES = 60.0
_MS = 1000.0
_SAME_PRESSURE_FRAC = 0.02
_SAME_VOLTS_V = 0.25
_LEAST_PULSES = 3
_STEEP = (1.5, 3.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchPulse:
    """One bench figure. pulse_ms: how long it was driven.   mass_mg: given a pulse.   kpa: across it.   supply_v."""

    pulse_ms: float
    mass_mg: float
    kpa: float
    supply_v: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PulseLine:
    """What a pulse gives. slope_g_per_s: flow.   delay_ms, within_ms: opening delay and half its 95 % interval.

    used: the figures in it.   apart: those left out, each with why.
    """

    slope_g_per_s: float
    delay_ms: float
    within_ms: float
    used: tuple[BenchPulse, ...]
    apart: tuple[tuple[BenchPulse, str], ...]


def difference_kpa(fuel_kpa: float, manifold_kpa: float, *, baro_kpa: float, follows_manifold: bool) -> float:
    """Pressure across an injector.

    Args:
        fuel_kpa: what the regulator is set to, as a gauge shows it with the engine off. [kPa]
        manifold_kpa: absolute. [kPa]
        baro_kpa: the air's. [kPa]
        follows_manifold: its regulator has a hose to the manifold; without one the rail stays as it is (returnless).
    Example:
        >>> difference_kpa(400.0, 30.0, baro_kpa=100.0, follows_manifold=False)
        470.0
    """
    return fuel_kpa if follows_manifold else fuel_kpa + baro_kpa - manifold_kpa


def flow_cc_per_min(rated_cc_per_min: float, rated_kpa: float, at_kpa: float) -> float:
    """What an injector gives at another pressure across it.

    Raises:
        OutOfReach: a flow or a pressure that is not above nothing.
    Example:
        >>> round(flow_cc_per_min(440.0, 300.0, 400.0), 1)
        508.1
    """
    if not (rated_cc_per_min > 0.0 and rated_kpa > 0.0 and at_kpa > 0.0):
        raise OutOfReach("injector", f"{rated_cc_per_min:g} at {rated_kpa:g} kPa, asked at {at_kpa:g}", "above nothing")
    return rated_cc_per_min * sqrt(at_kpa / rated_kpa)


def cc_per_min_of(lb_per_h: float, density_kg_per_l: float) -> float:
    """Volume flow of a flow given in pounds an hour.

    Args:
        lb_per_h: as printed. [-]
        density_kg_per_l: of the fluid it was measured with. [kg/L]
    Example:
        >>> round(cc_per_min_of(1.0, 0.72), 2)
        10.5
    """
    return lb_per_h * _LB_G / (_MINUTES * density_kg_per_l)


def needed_cc_per_min(
    power_kw: float, g_per_kwh: float, injectors: int, *, duty_frac: float, density_kg_per_l: float
) -> float:
    """Flow each injector must have, open for good, for a power.

    Args:
        power_kw: at the crankshaft. [kW]
        g_per_kwh: fuel for one kilowatt-hour. [-]
        injectors: how many share it. [-]
        duty_frac: share of the time they may be open. [0..1]
        density_kg_per_l: of the fuel. [kg/L]
    Example:
        >>> round(needed_cc_per_min(150.0, 300.0, 4, duty_frac=0.85, density_kg_per_l=0.745), 1)
        296.1
    """
    if injectors < 1 or not 0.0 < duty_frac <= 1.0:
        raise OutOfReach("injectors", f"{injectors} at a duty of {duty_frac:g}", "one or more, 0 to 1")
    return power_kw * g_per_kwh / _MINUTES / (injectors * duty_frac) / density_kg_per_l


def charging_s(supply_v: float, mh: float, ohm: float, reach_a: float) -> float:
    """Time in which a coil reaches a current; `inf` where it never does.

    t = -(L/R) ln(1 - I R / V).

    Args:
        supply_v: across the coil and its resistance. [V]
        mh: its inductance. [mH]
        ohm: its resistance, that of the wires with it. [ohm]
        reach_a: the current. [A]
    Example:
        >>> round(charging_s(14.0, 3.0, 0.5, 7.0) * 1000, 4)
        1.7261
    """
    if supply_v <= reach_a * ohm:
        return inf
    if ohm == 0.0:
        return mh / _MS * reach_a / supply_v
    return -(mh / _MS / ohm) * log(1.0 - reach_a * ohm / supply_v)


def opening_ms(supply_v: float, *, mh: float, ohm: float, pull_in_a: float, mechanical_ms: float) -> float:
    """How late an injector opens at a voltage, by its coil; `inf` where its current never gets there.

    Args:
        supply_v: across it. [V]
        mh: its inductance. [mH]
        ohm: its resistance. [ohm]
        pull_in_a: current at which the needle begins to move. [A]
        mechanical_ms: what the needle takes. [ms]
    Example:
        >>> round(opening_ms(12.0, mh=13.5, ohm=14.5, pull_in_a=0.40, mechanical_ms=0.35), 3)
        0.965
    """
    return charging_s(supply_v, mh, ohm, pull_in_a) * _MS + mechanical_ms


def pulse_line(pulses: Sequence[BenchPulse], *, at_kpa: float, supply_v: float) -> PulseLine:
    """The straight line of what a pulse gives, from figures at one pressure and one voltage.

    Args:
        pulses: bench figures; those at another pressure or other volts are set apart.
        at_kpa: the pressure across it that is wanted. [kPa]
        supply_v: the volts that are wanted. [V]
    Raises:
        OutOfReach: fewer than three figures are left, or the line does not rise.
    Example:
        >>> given = [(2, 5.852), (3, 11.292), (4, 16.767), (5, 22.217), (6, 27.692), (8, 38.592), (10, 49.522)]
        >>> bench = [BenchPulse(pulse_ms=p, mass_mg=m, kpa=300, supply_v=14) for p, m in given]
        >>> line = pulse_line(bench, at_kpa=300, supply_v=14)
        >>> round(line.slope_g_per_s, 4), round(line.delay_ms, 4)
        (5.4593, 0.9294)
    """
    used: list[BenchPulse] = []
    apart: list[tuple[BenchPulse, str]] = []
    for one in pulses:
        if abs(one.kpa - at_kpa) > _SAME_PRESSURE_FRAC * at_kpa:
            apart.append((one, f"taken at {one.kpa:g} kPa across it, not {at_kpa:g}: measure it again at {at_kpa:g}"))
        elif abs(one.supply_v - supply_v) > _SAME_VOLTS_V:
            apart.append((one, f"taken at {one.supply_v:g} V, not {supply_v:g}: its delay is another"))
        else:
            used.append(one)
    if len({one.pulse_ms for one in used}) < _LEAST_PULSES:
        found = f"{len(used)} of {len(pulses)} at {at_kpa:g} kPa and {supply_v:g} V"
        raise OutOfReach("bench figures", found, "three pulse lengths or more at that pressure and those volts")
    x = np.array([one.pulse_ms for one in used])
    y = np.array([one.mass_mg for one in used])
    slope, begin = np.polyfit(x, y, 1)
    if slope <= 0.0:
        raise OutOfReach("bench figures", f"a slope of {slope:.3g} mg/ms", "more from a longer pulse")
    delay = -begin / slope
    return PulseLine(
        slope_g_per_s=float(slope),
        delay_ms=float(delay),
        within_ms=_within(x, y, float(slope), float(begin), float(delay)),
        used=tuple(used),
        apart=tuple(apart),
    )


def delay_says(delays: Sequence[tuple[float, float]]) -> tuple[str, ...]:
    """What is strange about a table of opening delay against volts; nothing where it may be used.

    Args:
        delays: volts and milliseconds. [-]
    Example:
        >>> delay_says([(8, 1.552), (10, 1.158), (12, 0.965), (14, 0.848), (16, 0.769)])
        ()
    """
    rows = sorted(delays)
    says = [
        f"{late:g} ms at {volts:g} V is not less than {before:g} ms at {lower:g} V: the delay falls as volts rise"
        for (lower, before), (volts, late) in pairwise(rows)
        if late >= before
    ]
    if says:
        return tuple(says)
    falls = [(a[1] - b[1]) / (b[0] - a[0]) for a, b in pairwise(rows)]
    says += [
        f"it falls faster above {rows[k + 1][0]:g} V than below: one of the figures round there is wrong"
        for k, (low, high) in enumerate(pairwise(falls))
        if high > low
    ]
    known = dict(rows)
    if 8.0 in known and 14.0 in known and not _STEEP[0] <= known[8.0] / known[14.0] <= _STEEP[1]:
        ratio = known[8.0] / known[14.0]
        says.append(f"at 8 V it is {ratio:.2g} times that at 14 V, where 1.5 to 3 is usual: ask whose table it is")
    return tuple(says)


def _within(x: np.ndarray, y: np.ndarray, slope: float, begin: float, delay: float) -> float:
    """Half the 95 % interval of where the line meets nothing."""
    free = len(x) - 2
    if free < 1:
        return inf
    spread = float(np.sum((y - slope * x - begin) ** 2)) / free
    about = float(np.sum((x - x.mean()) ** 2))
    sigma = sqrt(spread * (1.0 / len(x) + (delay - float(x.mean())) ** 2 / about)) / slope
    from scipy.special import stdtrit  # here: a quarter of a second that few questions need

    return float(stdtrit(free, 0.975)) * sigma
