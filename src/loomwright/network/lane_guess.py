"""Which lines are to be expected of the bent elements of many states once contacts have changed?

A load is the resistor it was when it last was lit; electronics and motors that lie between a source and the earth work,
others are dark; a driver is between its limits; batteries and diodes are as they were. The answer does not hang on it,
only how many rounds it takes (`lane_round`); but for constant power, whose law falls, so that a network that has it is
not solved by rounds.

In: lines before, which elements act, which loads work. Out: lines, in place.
"""

from __future__ import annotations

import numpy as np

from loomwright.network.arrays import type_f, type_i
from loomwright.network.lane_car import Car, type_bool
from loomwright.network.lane_feed import working
from loomwright.network.lane_laws import Laid, amps_and_slopes
from loomwright.network.lane_lines import Lines, leave_idle
from loomwright.network.lane_round import Rounds
from loomwright.network.lines import NOMINAL_V
from loomwright.network.records import Law

__all__ = ["lay_for"]

_LIT_V = 1.0


def lay_for(car: Car, rounds: Rounds, columns: type_i, acts: type_bool) -> None:
    """Lay the lines of some lanes for other contacts.

    Args:
        columns: where the lanes stand in `rounds`.
        acts: which live elements act in them.
    """
    works = working(car.feed, acts)
    for groups, lines, mine, runs in (
        (rounds.keen, rounds.keen_lines, acts[car.keen], None),
        (rounds.quiet, rounds.quiet_lines, acts[car.quiet], works),
    ):
        if len(columns) == lines.amps.shape[1]:
            _lay(groups, mine, lines, runs)
            continue
        had = lines.of(columns)
        _lay(tuple(group.of(columns) for group in groups), mine, had, runs)
        lines.amps[:, columns], lines.slope[:, columns] = had.amps, had.slope
        lines.at[:, columns], lines.limit[:, columns] = had.at, had.limit


def _lay(groups: tuple[Laid, ...], acts: type_bool, lines: Lines, works: type_bool | None) -> None:
    for group in groups:
        p, mine = group.p, group.lines
        amps, slope, at, on = lines.amps[mine], lines.slope[mine], lines.at[mine], acts[mine]
        if group.law == Law.LAMP:
            lit = (np.abs(at) > _LIT_V) & (amps != 0.0)
            slope[:] = on * np.where(lit, amps / np.where(lit, at, 1.0), p[1] / p[0])
            amps[:], at[:] = 0.0, 0.0
        elif group.law in (Law.CURRENT, Law.MOTOR) and works is not None:
            runs = works[mine] & on
            dark, runs_at = (_tangent(group, volts) for volts in (0.0, NOMINAL_V))
            amps[:] = np.where(runs, runs_at[0], 0.0)
            slope[:] = np.where(runs, runs_at[1], on * dark[1])
            at[:] = np.where(runs, NOMINAL_V, 0.0)
        elif group.law in (Law.CURRENT, Law.MOTOR):
            slope[:] = on * (_tangent(group, NOMINAL_V)[0] / NOMINAL_V)
            amps[:], at[:] = 0.0, 0.0
        elif group.law == Law.CLAMP and works is not None:
            _between(p, on, lines, mine)
        else:
            # a diode that did not act blocks; one that acts leads as it did
            if group.law == Law.CLAMP:
                _between(p, on, lines, mine, ~(on & (slope > 0.0)))
            elif group.law == Law.BATTERY:
                keeps = on & (slope > 0.0)
                begun = _tangent(group, 0.0)
                for own, new in ((amps, begun[0] * on), (slope, begun[1] * on), (at, 0.0)):
                    np.copyto(own, new, where=~keeps)
            leave_idle((group,), acts, lines.amps, lines.slope)


def _between(p: type_f, on: type_bool, lines: Lines, mine: slice, where: type_bool | bool = True) -> None:
    """Clamps between their limits."""
    for own, new in (
        (lines.amps[mine], on * (-p[0] * p[1])),
        (lines.slope[mine], on * p[0]),
        (lines.at[mine], 0.0),
        (lines.limit[mine], 0),
    ):
        np.copyto(own, new, where=where)


def _tangent(group: Laid, volts: float) -> tuple[type_f, type_f]:
    """Amps and slope at some volts. [A, S]"""
    own = Laid(group.law, slice(None), group.p)
    return amps_and_slopes((own,), np.full(group.p.shape[1:], volts))
