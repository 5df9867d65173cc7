"""What do the colour and the place of an old wire say of its function, before anything is measured?

Weak evidence. A colour tells the truth on `colour_true_frac` of old wires; which national habit the car follows is
weighed from its own readings: with Q(f) what the readings of a wire say alone,

    odds of habit c, without wire i  =  product over other wires of  sum over f of Q(f) P(colour | f, c)

A wire whose colour changes along its way is weighed by the mean of its stretches: the sheet's `colour`, and any colour
code that stands in `segment`. Words of a place that stand beside a function (`near`) make it `place_factor` times as
likely. No word decides anything alone.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from loomwright.job.colours import parse_colour
from loomwright.job.rows import OldWire
from loomwright.tables.limits import COLOURS
from loomwright.tables.old_wires import WireFunction, survey_figure, wire_colours

__all__ = ["colour_weights", "place_weights", "stretches_of"]

Numbers = NDArray[np.float64]

_CODE = re.compile(r"\b[A-Z]{2,4}(?:/[A-Z]{2,4})?\b")
_UNKNOWN_HABIT = "none known"


def stretches_of(wire: OldWire) -> tuple[str, ...]:
    """The colours a wire has along its way.

    Example:
        >>> stretches_of(OldWire(id="7", colour="GN", segment="BU/RD behind the bulkhead plug"))
        ('GN', 'BU/RD')
    """
    found = [wire.colour] if wire.colour else []
    found += [code for code in _CODE.findall(wire.segment) if parse_colour(code)]
    return tuple(dict.fromkeys(found))


def colour_weights(
    wires: Sequence[OldWire], functions: Sequence[WireFunction], by_readings: Numbers
) -> tuple[Numbers, dict[str, float]]:
    """Wires x functions: what the colours say, and how likely each habit is.

    Args:
        wires: in the order of the rows.
        functions: in the order of the columns.
        by_readings: what the readings of each wire say alone. [0..1]
    """
    habits = [*dict.fromkeys(row.convention for row in wire_colours()), _UNKNOWN_HABIT]
    if not len(wires):
        return np.ones((0, len(functions))), dict.fromkeys(habits, 1.0 / len(habits))
    stretches = [stretches_of(wire) for wire in wires]
    by_colour = {colour: _chances(colour, habits, functions) for colours in stretches for colour in colours}
    nothing = np.ones((len(functions), len(habits)))
    chances = np.array(
        [sum(by_colour[one] for one in colours) / len(colours) if colours else nothing for colours in stretches]
    )
    alone = np.log(np.einsum("wf,wfh->wh", by_readings, chances))
    total = alone.sum(axis=0)
    others = _shares(total - alone)
    weights = np.einsum("wfh,wh->wf", chances, others)
    return np.asarray(weights), dict(zip(habits, map(float, _shares(total[None, :])[0]), strict=True))


def place_weights(wires: Sequence[OldWire], functions: Sequence[WireFunction]) -> Numbers:
    """Wires x functions: what the words of the place and the plug say. [-]"""
    factor = survey_figure("place_factor")
    places = [f"{wire.where} {wire.plug}".lower() for wire in wires]
    return np.array([[factor if any(word in place for word in f.near) else 1.0 for f in functions] for place in places])


def _chances(colour: str, habits: Sequence[str], functions: Sequence[WireFunction]) -> Numbers:
    """Functions x habits: how likely a colour is. [0..1]"""
    true = survey_figure("colour_true_frac")
    any_frac = 1.0 / (len(COLOURS) * 2)
    chances = np.full((len(functions), len(habits)), any_frac)
    rows = {function.key: row for row, function in enumerate(functions)}
    stood: dict[tuple[str, str], list[str]] = {}
    for each in wire_colours():
        stood.setdefault((each.convention, each.function), []).append(each.colour)
    for (habit, function), colours in stood.items():
        if function in rows:
            told = true / len(colours) if colour in colours else 0.0
            chances[rows[function], habits.index(habit)] = told + (1.0 - true) * any_frac
    return chances


def _shares(log: Numbers) -> Numbers:
    weights = np.exp(log - log.max(axis=1, keepdims=True))
    return np.asarray(weights / weights.sum(axis=1, keepdims=True))
