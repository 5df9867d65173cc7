"""Which loads has the car, and how much of its rated current does each draw?

A load *works* from half its rated current. It has *started* where it draws that and drew less than a fifth before; a
lamp is seen from a fifth, so a lamp starts from there on.

Source: `works_frac` and `glow_dim_frac` in `constants.csv`, common practice.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loomwright.network.arrays import type_f
from loomwright.network.compiled import Compiled
from loomwright.states.asking.answers import type_bool
from loomwright.tables.constants import constant

__all__ = ["Loads", "drawn", "loads_in", "started", "works"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Loads:
    """The loads of a network that have a rated current. names: `part.element`. places: elements of each. rated_a: [A]

    seen_frac: the share of its rated current from which each is seen to be on. [0..1]
    """

    names: tuple[str, ...]
    places: tuple[tuple[int, ...], ...]
    rated_a: type_f
    seen_frac: type_f


def loads_in(compiled: Compiled) -> Loads:
    """The loads of a network."""
    elements = compiled.network.elements
    first: dict[str, int] = {}
    for k, element in enumerate(elements):
        if element.load and element.rated_a:
            first.setdefault(element.name, k)
    lamps = [elements[k].type == "lamp" for k in first.values()]
    return Loads(
        names=tuple(first),
        places=tuple(compiled.elements_of[name] for name in first),
        rated_a=np.array([elements[k].rated_a for k in first.values()], float),
        seen_frac=np.where(lamps, constant("glow_dim_frac"), constant("works_frac")),
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
