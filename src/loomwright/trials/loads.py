"""Which loads has the car, and how much of its rated current does each draw?

A load *works* from half its rated current. It has *started* where it draws that and drew less than a fifth before; a
lamp is seen from a fifth, so a lamp starts from there on.

A gauge has no rated current: what it draws at most in the sound car stands for it. From half of that it reads, below it
is dead or far from what it read. That one reads by itself is not told: it moves nothing.

Source: `works_frac` and `glow_dim_frac` in `constants.csv`, common practice.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from loomwright.network.arrays import type_f
from loomwright.network.compiled import Compiled
from loomwright.states.asking.answers import type_bool
from loomwright.tables.constants import constant

__all__ = ["Loads", "drawn", "loads_in", "started", "works"]

_LEAST_READ_A = 1e-4
"""A gauge through which less flows at most reads nothing in the sound car either: our choice. [A]"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Loads:
    """The loads of a network that have a rated current. names: `part.element`. places: elements of each. rated_a: [A]

    seen_frac: the share of its rated current from which each is seen to be on; of a gauge without end. [0..]
    """

    names: tuple[str, ...]
    places: tuple[tuple[int, ...], ...]
    rated_a: type_f
    seen_frac: type_f


def loads_in(compiled: Compiled, gauges: Mapping[str, float] | None = None) -> Loads:
    """The loads of a network, and its gauges.

    Args:
        gauges: the element of each that shows whether it reads, with what it draws at most in the sound car. [A]
    """
    elements = compiled.network.elements
    first: dict[str, int] = {}
    for k, element in enumerate(elements):
        if element.load and element.rated_a:
            first.setdefault(element.name, k)
    lamps = [elements[k].type == "lamp" for k in first.values()]
    seen = [*np.where(lamps, constant("glow_dim_frac"), constant("works_frac"))]
    rated_a = [elements[k].rated_a for k in first.values()]
    more = {name: most_a for name, most_a in (gauges or {}).items() if name not in first and most_a >= _LEAST_READ_A}
    return Loads(
        names=(*first, *more),
        places=tuple(compiled.elements_of[name] for name in (*first, *more)),
        rated_a=np.array([*rated_a, *more.values()], float),
        seen_frac=np.array([*seen, *(np.inf for _ in more)], float),
    )


def drawn(loads: Loads, amps: type_f) -> type_f:
    """What each load draws, as a share of its rated current, one row a state. [-]

    Args:
        amps: by element, one row a state. [A]
    """
    if not loads.names:
        return np.zeros((len(amps), 0))
    found = np.stack([np.abs(amps[:, places].sum(axis=1)) for places in map(list, loads.places)], axis=1)
    return np.asarray(found / loads.rated_a)


def works(share: type_f) -> type_bool:
    """Where a load works."""
    return np.asarray(share >= constant("works_frac"))


def started(loads: Loads, before: type_f, now: type_f) -> type_bool:
    """Where a load is on that was off.

    Args:
        before: shares while nothing is wrong. [-]
        now: shares with the failure. [-]
    """
    return np.asarray((before < constant("glow_dim_frac")) & (now >= loads.seen_frac) & (now > 2.0 * before))
