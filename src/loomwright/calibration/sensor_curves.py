"""Which table does a controller need for a sensor, and what does an earth that is up make of its reading?

A thermistor is given by two or three pairs of degrees and ohms, any other sensor by two or more pairs of volts and what
they mean. The table stands at as many breakpoints as the controller takes, placed so that the straight lines between
them are least wrong over the span asked for.

A sensor whose earth is up by e volts gives e + (Vref - e) s where it would give s Vref, whether it is a divider or
ratiometric. So each sensor that is compared with a thermometer or a barometer says an e of its own,
e = Vref (r - s) / (1 - s): where they agree one earth is up, where they do not it is the one sensor.

Source: divider and straight lines; the tolerance of 15 mV is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from loomwright.calibration.breakpoints import Placed, place_breakpoints
from loomwright.calibration.sensors import points_at
from loomwright.calibration.start_records import StartTable
from loomwright.calibration.thermistor import PullUp, Thermistor, divider_v, pull_up_for, thermistor_of
from loomwright.refusals import OutOfReach

__all__ = ["Compared", "SensorCurve", "earth_lift", "points_curve", "thermistor_curve"]

_FINE = 241
_SAME_V = 0.015
_LEAST_POINTS = 2

Pairs = Sequence[tuple[float, float]]


@dataclass(frozen=True, slots=True, kw_only=True)
class SensorCurve:
    """A sensor's table. worst, even: largest distance from the curve, placed well and evenly spread. [-]

    curve: of a thermistor, None else.   pull_up: what would suit it, None else.   says: what to mind, in words.
    """

    table: StartTable
    worst: float
    even: float
    unit: str
    curve: Thermistor | None
    pull_up: PullUp | None
    says: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """One sensor beside the truth, as shares of its reference.

    expected: where it should be. [-]   read: where it is. [-]
    """

    name: str
    expected: float
    read: float


def thermistor_curve(
    points: Pairs,
    *,
    pull_up_ohm: float,
    reference_v: float = 5.0,
    least_c: float = -40.0,
    most_c: float = 120.0,
    count: int = 16,
) -> SensorCurve:
    """The table of a thermistor.

    Args:
        points: two or three pairs of degrees and ohms. [-]
        pull_up_ohm: of the controller. [ohm]
        reference_v: behind the pull-up. [V]
        least_c: coldest the table reaches. [C]
        most_c: hottest. [C]
        count: breakpoints the controller takes. [-]
    Raises:
        BadDocument: points that do not fall with temperature.
        OutOfReach: no pull-up, no span, or a count no table can have.
    Example:
        >>> made = thermistor_curve([(0, 5975), (50, 806.9), (100, 175.7)], pull_up_ohm=1000, count=8)
        >>> len(made.table.rows), made.worst < made.even
        (8, True)
    """
    if not (0.0 < pull_up_ohm <= 1e6 and 0.0 < reference_v <= 30.0):
        raise OutOfReach("pull-up", f"{pull_up_ohm:g} Ω at {reference_v:g} V", "above nothing to 1 MΩ, to 30 V")
    if not -80.0 <= least_c < most_c <= 300.0:
        raise OutOfReach("span", f"{least_c:g} to {most_c:g} °C", "the colder end first, within -80 to 300 °C")
    curve = thermistor_of(points)
    at_c = np.linspace(most_c, least_c, _FINE)
    ohms = [curve.resistance_ohm(float(t)) for t in at_c]
    volts = [divider_v(ohm, pull_up_ohm, reference_v) for ohm in ohms]
    placed = _placed(volts, at_c.tolist(), count)
    table = StartTable(
        name="thermistor",
        says=f"temperature against volts at the input, {pull_up_ohm:g} Ω to {reference_v:g} V",
        columns=("sensor_v", "sensor_c", "sensor_ohm"),
        rows=tuple(
            (round(v, 4), round(t, 2), round(_ohms(v, pull_up_ohm, reference_v), 1))
            for v, t in zip(placed.at, placed.reads, strict=True)
        ),
        unit="°C",
        formula="1/T = A + B ln R + C (ln R)^3" if curve.beta_k is None else "R = R1 exp(beta (1/T - 1/T1))",
        source="worked-out",
        standing="as good as its points: read the coolant beside a thermometer, cold and hot",
    )
    return SensorCurve(
        table=table,
        worst=placed.worst,
        even=placed.even,
        unit="K",
        curve=curve,
        pull_up=pull_up_for(curve, least_c, most_c, reference_v),
        says=tuple(_to_mind(curve, (least_c, most_c), (volts[0], volts[-1]), reference_v)),
    )


def _to_mind(
    curve: Thermistor, span_c: tuple[float, float], volts: tuple[float, float], reference_v: float
) -> Iterator[str]:
    """What is to be minded of a thermistor's table, in words.

    Args:
        span_c: from where to where it reaches. [C]
        volts: at its hot and its cold end. [V]
    """
    if not all(curve.is_inside(end_c) for end_c in span_c):
        yield (
            f"Its points reach from {curve.least_c:g} to {curve.most_c:g} °C: beyond them the curve is a guess; "
            "measure one more in ice water or near the boil"
        )
    for volt, word in zip(volts, ("shorted", "open"), strict=True):
        if not 0.02 * reference_v <= volt <= 0.98 * reference_v:
            yield (
                f"At one end of the span it gives {volt:.3g} V, which a controller takes for {word}: another pull-up, "
                "or a shorter span"
            )


def points_curve(points: Pairs, *, count: int = 16, unit: str = "") -> SensorCurve:
    """The table of a sensor that is given by volts and what they mean: two for a straight one, more for one that bends.

    Args:
        points: two or more pairs of volts and readings, in order. [-]
        count: breakpoints the controller takes. [-]
        unit: of the reading, in words.
    Raises:
        BadDocument: points that turn back, so that one voltage would mean two things.
        OutOfReach: a count no table can have.
    Example:
        >>> [row for row in points_curve([(0.5, 0.0), (4.5, 10.0)], count=2, unit="bar").table.rows]
        [(0.5, 0.0), (4.5, 10.0)]
    """
    points_at(points, points[0][0] if points else 0.0)  # refuses what turns back
    rows = sorted(points)
    at, reads = [v for v, _ in rows], [y for _, y in rows]
    if count >= len(rows) > _LEAST_POINTS or len(rows) == _LEAST_POINTS:
        kept, worst, even = rows, 0.0, 0.0
    else:
        fine = np.union1d(np.linspace(at[0], at[-1], _FINE), at)
        placed = _placed(fine.tolist(), np.interp(fine, at, reads).tolist(), count)
        kept, worst, even = list(zip(placed.at, placed.reads, strict=True)), placed.worst, placed.even
    low, high = rows[0][0], rows[-1][0]
    says = []
    if low < 0.1 or high > 4.9:
        says.append(
            f"It is told to give {low:g} to {high:g} V: an open or a shorted line looks the same as a reading there"
        )
    table = StartTable(
        name="sensor",
        says=f"reading{f' in {unit}' if unit else ''} against volts at the input",
        columns=("sensor_v", "reading"),
        rows=tuple((v, y) for v, y in kept),
        unit=unit or "-",
        formula="straight from point to point",
        source="as typed; its maker's sheet",
        standing="check two points against a gauge",
    )
    return SensorCurve(table=table, worst=worst, even=even, unit=unit, curve=None, pull_up=None, says=tuple(says))


def earth_lift(compared: Sequence[Compared], *, reference_v: float = 5.0) -> tuple[str, ...]:
    """Whether one earth that is up explains what several sensors say too much, in words; nothing where all agree.

    Args:
        compared: sensors that share an earth, each beside the truth.
        reference_v: their supply. [V]
    Example:
        >>> said = earth_lift([Compared(name="coolant", expected=0.5, read=0.505), Compared(name="air", expected=0.2,
        ...     read=0.208)])
        >>> said[0][:46]
        'One earth that is up by 50 mV explains coolant'
    """
    for one in compared:
        if not (0.0 < one.expected < 1.0 and 0.0 < one.read < 1.0):
            raise OutOfReach(one.name, f"{one.read:g} beside {one.expected:g}", "shares of the reference, 0 to 1")
    lifts = [reference_v * (one.read - one.expected) / (1.0 - one.expected) for one in compared]
    off = [n for n, lift in enumerate(lifts) if abs(lift) > _SAME_V]
    if not off:
        return ()
    if len(off) == len(lifts) > 1 and max(lifts) - min(lifts) <= 2.0 * _SAME_V:
        mean = float(np.mean(lifts))
        names = ", ".join(one.name for one in compared)
        told = (
            f"One earth that is up by {mean * 1000.0:.0f} mV explains {names} together: measure from their common "
            "earth to the battery's post with everything on, and give sensors an earth of their own at the controller"
        )
        return (told,)
    return tuple(
        f"{compared[n].name}: {lifts[n] * 1000.0:+.0f} mV by itself; an earth would lift the others too, so it is its "
        "curve, its pull-up or its own wire"
        for n in off
    )


def _placed(x: Sequence[float], y: Sequence[float], count: int) -> Placed:
    if not _LEAST_POINTS <= count <= 64:
        raise OutOfReach("breakpoints", count, "2 to 64")
    return place_breakpoints(x, y, count)


def _ohms(volts: float, pull_up_ohm: float, reference_v: float) -> float:
    """Resistance behind a voltage, also where `ohms_of_volts` takes the line for open or shorted."""
    return pull_up_ohm * volts / (reference_v - volts)
