"""As which line does each bent element stand in for the next step?

Its tangent, but for a diode that conducts: the tangent where it carries the amps the line before gave it, since its
volts say little and its amps much; and where an element is dark, a line through its working point.

In: volts, the elements, the lines before. Out: amps, slope and the volts they are those of; and how far the step after
may still move a node.
"""

from __future__ import annotations

from math import expm1, log

from loomwright.network.arrays import type_f, type_i
from loomwright.network.held import END_A, END_B, LAW, LIMIT, ROW
from loomwright.network.laws import DIODE_BLOCKED, DIODE_START, amps_of_row
from loomwright.network.lean import lean
from loomwright.network.records import Law

__all__ = ["AMPS", "AT", "NOMINAL_V", "ROUNDING", "SETTLED_V", "SLOPE", "first_lines", "next_lines"]

SETTLED_V = 1e-9
"""A step that moves no node further than this ends the search. [V]"""
NOMINAL_V = 12.0
"""Volts through which a dark load's first line goes; they decide the number of steps, not the answer. [V]"""
ROUNDING = 4e-15
"""Share of its amps by which a line may miss its law through rounding alone [-]."""
AMPS, SLOPE, AT = 0, 1, 2
"""Lines of `Work.line`: each bent element's amps and slope, and the volts they are those of."""
_LAMP, _DIODE, _CLAMP = int(Law.LAMP), int(Law.DIODE), int(Law.CLAMP)
_CURRENT, _MOTOR = int(Law.CURRENT), int(Law.MOTOR)
_STRAIGHT_KNEES = 30.0


@lean
def first_lines(count: int, bent: type_i, figures: type_f, line: type_f) -> None:
    """Lines at no volts; a dark lamp, motor or box is taken as working, a clamp as between its limits."""
    for k in range(count):
        law, row = bent[LAW, k], bent[ROW, k]
        first, second = figures[row, 0], figures[row, 1]
        line[AT, k] = 0.0
        bent[LIMIT, k] = 0
        if law == _LAMP:
            line[AMPS, k], line[SLOPE, k] = 0.0, second / first
        elif law == _CLAMP:
            line[AMPS, k], line[SLOPE, k] = -first * second, first
        elif law == _CURRENT:
            line[AMPS, k], line[SLOPE, k] = 0.0, first / max(second, NOMINAL_V)
        elif law == _MOTOR:
            line[AMPS, k], line[SLOPE, k] = 0.0, first * max(NOMINAL_V - second, second) / NOMINAL_V
        else:
            line[AMPS, k], line[SLOPE, k] = amps_of_row(law, figures, row, 0.0)


@lean
def _beyond(figures: type_f, row: int, i: float) -> int:
    """Which of its limits a clamp is beyond: 1 the upper, -1 the lower, 0 neither."""
    if i > figures[row, 3]:
        return 1
    return -1 if i < figures[row, 2] else 0


@lean
def next_lines(taken: int, count: int, bent: type_i, figures: type_f, v: type_f, line: type_f) -> float:
    """Lay every line anew for the volts v after so many steps; how far the step after may still move a node. [V]"""
    doubt_v = 0.0
    for k in range(count):
        law, row = bent[LAW, k], bent[ROW, k]
        across = v[bent[END_A, k]] - v[bent[END_B, k]]
        had = line[AMPS, k] + line[SLOPE, k] * (across - line[AT, k])
        led = line[SLOPE, k] > 0.0
        if law == _DIODE and across <= figures[row, 0] + DIODE_BLOCKED * figures[row, 1]:
            i = g = 0.0
        else:
            i, g = amps_of_row(law, figures, row, across)
        missed = abs(i - had)
        if missed > ROUNDING * abs(i):
            # where a diode now blocks, its line still leads beside what it is off
            doubt_v += missed / (g if g > 0.0 else line[SLOPE, k])
        turned = line[AT, k] * across < 0.0
        line[AT, k] = across
        if law == _LAMP:
            if taken == 1 and abs(across) < SETTLED_V:
                # a diode before it has opened for the next step only: it is still taken as working
                i = had
                g = line[SLOPE, k]
            elif turned:
                # about nothing a lamp is a resistor, and steps along the law beside it would go to and fro
                i = across / figures[row, 2]
                g = 1.0 / figures[row, 2]
        elif law == _DIODE:
            bent[LIMIT, k] = 1 if led else 0
            if led and g > 0.0:
                # tangent where it carries what its line gave it
                knee_v, siemens = figures[row, 1], figures[row, 2]
                knees = max(had, 0.0) / (knee_v * siemens) + DIODE_START
                if knees < _STRAIGHT_KNEES:
                    e = expm1(knees)
                    line[AT, k] = figures[row, 0] + knee_v * log(e)
                    i = max(had, 0.0)
                    g = siemens * e / (1.0 + e)
        elif law == _CLAMP:
            # between its limits once more, since a battery beside it is laid as what takes only now; and before one
            # would jump from one limit past the other
            between = (across - figures[row, 1]) * figures[row, 0]
            now = 0 if taken == 1 else _beyond(figures, row, between)
            if taken == 1 or now * bent[LIMIT, k] == -1:
                now = 0
                i = between
                g = figures[row, 0]
            bent[LIMIT, k] = now
        line[AMPS, k] = i
        line[SLOPE, k] = g
    return doubt_v
