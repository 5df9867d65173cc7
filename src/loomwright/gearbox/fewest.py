"""Which lines change least for the fuel they take, and what does each change saved cost?

Sets of lines are drawn as a first set is, from `light`, `full_frac`, `bend` and `gap_frac` spread evenly over what a
programme may have, and once more close round the best. Each is driven over a published cycle and held against the
rules; one with a fault, one that lugs, one that leaves less pull in hand than is asked drops out. What is left is the
curve: the sets that no other beats both in changes and in fuel.

Two thirds of the sets are spread (a Halton sequence, the same every time), one third lies round the curve.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from loomwright.findings import Finding
from loomwright.gearbox.box import Box, Programme
from loomwright.gearbox.checking import line_findings
from loomwright.gearbox.cycles import Cycle, cycle_called
from loomwright.gearbox.driving import Road, drive_after
from loomwright.gearbox.fuel import fuel_g, pull_ms2
from loomwright.gearbox.hunting import Hunting, hunting
from loomwright.gearbox.judged import judged
from loomwright.gearbox.lines import Lines, first_lines, lines_of

__all__ = ["TradeOff", "Traded", "fewest_changes"]

Tell = Callable[[int, int], None]
SPANS = {"light": (0.95, 1.8), "full_frac": (0.6, 1.0), "bend": (0.8, 3.0), "gap_frac": (0.16, 0.42)}
"""What is looked through: figure of a programme -> from, to. [-]"""
_TRIED, _SPREAD_FRAC, _CLOSE_FRAC = 240, 2.0 / 3.0, 0.06
_PULL_KEPT_FRAC = 0.97
_M_PER_KM = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Traded:
    """One set of lines and what it costs.

    fuel_g_per_km: estimated. [g/km]
    changes_per_km: counts a kilometre. [1/km]
    pull_ms2: left in hand. [m/s2]   hunts_frac: of both maps. [0..1]
    """

    lines: Lines
    fuel_g_per_km: float
    changes_per_km: float
    undone: int
    pull_ms2: float
    hunts_frac: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TradeOff:
    """The curve, fewest changes first. now: the lines as they stand.   least_pull_ms2: that was asked for. [m/s2]

    tried, fit: sets that were driven, and that broke no rule. [-]
    """

    programme: str
    cycle: str
    now: Traded
    curve: tuple[Traded, ...]
    least_pull_ms2: float
    tried: int
    fit: int


def fewest_changes(
    box: Box,
    programme: Programme,
    *,
    cycle: str = "wltc",
    pull_frac: float = _PULL_KEPT_FRAC,
    tell: Tell | None = None,
    tried: int = _TRIED,
) -> TradeOff:
    """The fewest changes for the fuel, as a curve.

    Args:
        cycle: name of a published cycle to drive.
        pull_frac: of the pull that the lines of now leave in hand, at least. [0..1]
        tell: called with sets driven and to drive; may raise Stopped.
        tried: sets to drive. [-]
    Raises:
        OutOfReach: no cycle of that name.
    """
    told = tell or (lambda done, of: None)
    trace = cycle_called(cycle)
    lines = lines_of(box, programme)
    now = _traded(box, lines, trace, hunting(box, lines))
    least = pull_frac * now.pull_ms2
    spread = int(_SPREAD_FRAC * tried)
    fit: list[tuple[Programme, Traded]] = []
    for done, one in enumerate(_spread(programme, spread)):
        told(done, tried)
        fit += _fitting(box, one, trace, least)
    for done, one in enumerate(_close(_beaten_by_none(fit), tried - spread), start=spread):
        told(done, tried)
        fit += _fitting(box, one, trace, least)
    told(tried, tried)
    curve = tuple(found for _, found in _beaten_by_none(fit))
    return TradeOff(
        programme=programme.name, cycle=cycle, now=now, curve=curve, least_pull_ms2=least, tried=tried, fit=len(fit)
    )


def _traded(box: Box, lines: Lines, trace: Cycle, maps: Hunting) -> Traded:
    drive = drive_after(box, lines, np.array(trace.at_s), np.array(trace.speed_kmh), Road())
    told = judged(drive, programme=lines.programme, run=trace.name, gears=len(box.ratios))
    return Traded(
        lines=lines,
        fuel_g_per_km=fuel_g(box, drive) / told.distance_m * _M_PER_KM,
        changes_per_km=told.per_km,
        undone=told.undone,
        pull_ms2=pull_ms2(box, drive),
        hunts_frac=float(np.mean([np.mean(maps.by_pedal > 0), np.mean(maps.by_speed > 0)])),
    )


def _fitting(box: Box, programme: Programme, trace: Cycle, least: float) -> Iterator[tuple[Programme, Traded]]:
    lines = first_lines(box, programme)
    maps = hunting(box, lines)
    found = _traded(box, lines, trace, maps)
    if found.pull_ms2 >= least and not any(_breaks(one) for one in line_findings(box, lines, maps)):
        yield programme, found


def _breaks(one: Finding) -> bool:
    return one.severity == "fault" or (one.severity == "warning" and one.rule in ("GEA-1", "GEA-4", "GEA-7"))


def _spread(programme: Programme, count: int) -> Iterator[Programme]:
    yield programme
    shares = _halton(count)
    for row in shares[1:]:
        drawn = {
            name: low + share * (high - low) for (name, (low, high)), share in zip(SPANS.items(), row, strict=True)
        }
        yield _drawn(programme, drawn)


def _close(front: Sequence[tuple[Programme, Traded]], count: int) -> Iterator[Programme]:
    """Sets close round those that none beats, each in its turn."""
    shares = 2.0 * _halton(count + 1)[1:] - 1.0
    for place, row in enumerate(shares if front else ()):
        near = front[place % len(front)][0]
        drawn = {
            name: min(high, max(low, float(getattr(near, name)) + _CLOSE_FRAC * share * (high - low)))
            for (name, (low, high)), share in zip(SPANS.items(), row, strict=True)
        }
        yield _drawn(near, drawn)


def _halton(count: int) -> NDArray[np.float64]:
    from scipy.stats import qmc  # here: reading it in takes longer than most questions

    found: NDArray[np.float64] = qmc.Halton(d=len(SPANS), scramble=False).random(count)
    return found


def _drawn(programme: Programme, drawn: dict[str, float]) -> Programme:
    return replace(
        programme,
        light=drawn["light"],
        full_frac=drawn["full_frac"],
        bend=drawn["bend"],
        gap_frac=drawn["gap_frac"],
    )


def _beaten_by_none(fit: Sequence[tuple[Programme, Traded]]) -> tuple[tuple[Programme, Traded], ...]:
    """Those no other beats, fewest changes first, each taking less fuel than the one before."""
    kept: list[tuple[Programme, Traded]] = []
    for one in sorted(fit, key=lambda pair: (pair[1].changes_per_km, pair[1].fuel_g_per_km)):
        if not kept or one[1].fuel_g_per_km < kept[-1][1].fuel_g_per_km:
            kept.append(one)
    return tuple(kept)
