"""What do the devices ask for, from the state they are in and what their senses say?

A device is on while every sense of it says so: amps through an element, or volts between two points, above one figure
to come on, above another to stay on. Volts that are not yet settled say how far they may still be off; then only a
device whose every answer stands for all volts within that counts as sure.

In: volts by step, which elements act, how the devices lie. Out: how each device wants to lie, and whether any is to
change.
"""

from __future__ import annotations

from typing import NamedTuple

from loomwright.network.arrays import FREE, TIER_FUSE, TIER_MOTOR, type_b, type_f, type_i
from loomwright.network.laws import amps_of_row
from loomwright.network.lean import lean

__all__ = ["MOVES", "RESTS", "UNSURE", "Senses", "want"]

RESTS, MOVES, UNSURE = 0, 1, -1
"""What devices answer together: none is to change, some are, or the volts are not settled enough to say."""
_LEAST_V = 0.1


class Senses(NamedTuple):
    """What the devices look at and how they answer, and the elements they look at it through."""

    ptr: type_i
    element: type_i
    a: type_i
    b: type_i
    beside: type_i
    on: type_f
    off: type_f
    tier: type_b
    stuck: type_b
    step_of: type_i
    from_step: type_i
    to_step: type_i
    law: type_i
    figures: type_f


@lean
def want(
    senses: Senses, may: type_b, rows: type_i, acts: type_b, v: type_f, off_v: float, lies: type_b, wanted: type_b
) -> int:  # fmt: skip
    """The state each device's senses call for, from the state it is in; fuses stay.

    Args:
        off_v: how far volts between two points may still be off; nothing once they are settled. [V]
        wanted: written over.
    Returns:
        RESTS, MOVES or UNSURE.
    """
    step_of, law, figures = senses.step_of, senses.law, senses.figures
    found = RESTS
    for d in range(len(lies)):
        wanted[d] = lies[d]
        tier = senses.tier[d]
        if tier == TIER_FUSE:
            continue
        on = 1 if may[d] else 0
        open_yet = False
        if senses.stuck[d] != FREE:
            on = 1 if senses.stuck[d] else 0
        elif on:
            for k in range(senses.ptr[d], senses.ptr[d + 1]):
                bound = senses.off[k] if lies[d] else senses.on[k]
                e = senses.element[k]
                slack = off_v
                if e >= 0:
                    size = 0.0
                    if acts[e]:
                        i, g = amps_of_row(law[e], figures, rows[e], v[senses.from_step[e]] - v[senses.to_step[e]])
                        size = abs(i)
                        slack = off_v * g
                        # beside a straight line the slope tells no more than how it is here
                        open_yet = open_yet or (off_v > 0.0 and law[e] != 0)
                    else:
                        slack = 0.0
                else:
                    size = v[step_of[senses.a[k]]] - v[step_of[senses.b[k]]]
                    if tier == TIER_MOTOR:
                        size = abs(size)
                    if senses.beside[k] >= 0:
                        whole = v[step_of[senses.beside[k]]] - v[step_of[senses.b[k]]]
                        open_yet = open_yet or (off_v > 0.0 and abs(whole - _LEAST_V) <= off_v)
                        if whole > _LEAST_V:
                            slack = off_v * (whole + abs(size)) / (whole * whole)
                            size = size / whole
                        else:
                            size, slack = 0.0, 0.0
                if size + slack < bound:
                    on = 0
                    break
                open_yet = open_yet or size - slack < bound
        if open_yet and on:
            return UNSURE
        wanted[d] = on
        if on != lies[d]:
            found = MOVES
    return found
