"""Does it decide which of two relays is first?

Two relays that lock each other out come to rest one way or the other, and nothing in the state says which. `settle`
changes devices one at a time where they will not come to rest together, the first in its list first; here the list is
turned round, so that the other is first. Both answers are asked where a job has a loop of devices with a resting
contact in it; without one the order cannot matter, since a relay that pulls in then only ever helps the others.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from loomwright.network.arrays import type_b, type_i
from loomwright.network.compiled import Compiled
from loomwright.network.solve import Batch, Remembered, solve_many
from loomwright.states.asking.cones import Cones

__all__ = ["order_matters", "solve_turned"]


def order_matters(compiled: Compiled, cones: Cones) -> bool:
    """Whether a resting contact of a relay in a loop is wired, so that which relay is first may decide."""
    elements = compiled.network.elements
    wired: dict[int, set[str]] = {}
    for element in elements:
        for node in (element.a, element.b):
            wired.setdefault(node, set()).add(element.part or element.name)
    resting = (
        element
        for element in elements
        if any(not on and device in cones.holds_itself for device, on in element.needs) and element.a != element.b
    )
    return any(len(wired[element.a]) > 1 and len(wired[element.b]) > 1 for element in resting)


def solve_turned(compiled: Compiled, values: type_i, start: type_b, remembered: Remembered | None) -> Batch:
    """States solved with the devices changed in the other order; devices are given and answered in the usual one.

    Args:
        start: how the devices lie at first, one row a state. [-]
    """
    batch = solve_many(_turned(compiled), values, np.ascontiguousarray(start[:, ::-1]), remembered)
    return replace(
        batch,
        devices=np.ascontiguousarray(batch.devices[:, ::-1]),
        buzz=np.ascontiguousarray(batch.buzz[:, ::-1]),
    )


def _turned(compiled: Compiled) -> Compiled:
    """The same network with its devices listed the other way round, in the arrays alone."""
    arrays = compiled.arrays
    count = len(arrays.tier)
    back = np.arange(count)[::-1]
    sense_ptr, senses = _regrouped(arrays.sense_ptr, back)
    first = int(arrays.device_guard_ptr[0]) if count else 0
    guard_ptr, guards = _regrouped(arrays.device_guard_ptr, back)
    every_guard = np.concatenate([np.arange(first), guards, np.arange(first + len(guards), len(arrays.term_ptr) - 1)])
    term_ptr, terms = _regrouped(arrays.term_ptr, every_guard)
    return replace(
        compiled,
        arrays=arrays._replace(
            need_device=count - 1 - arrays.need_device,
            device_guard_ptr=guard_ptr + first,
            term_ptr=term_ptr,
            term_variable=arrays.term_variable[terms],
            term_mask=arrays.term_mask[terms],
            sense_ptr=sense_ptr,
            sense_element=arrays.sense_element[senses],
            sense_a=arrays.sense_a[senses],
            sense_b=arrays.sense_b[senses],
            sense_beside=arrays.sense_beside[senses],
            sense_on=arrays.sense_on[senses],
            sense_off=arrays.sense_off[senses],
            tier=np.ascontiguousarray(arrays.tier[::-1]),
            at_rest=np.ascontiguousarray(arrays.at_rest[::-1]),
            stuck=np.ascontiguousarray(arrays.stuck[::-1]),
        ),
    )


def _regrouped(ptr: type_i, order: type_i) -> tuple[type_i, type_i]:
    """Groups in another order: where each begins now, and which items follow each other."""
    items = [np.arange(ptr[group], ptr[group + 1]) for group in order]
    starts = np.cumsum([0, *(len(group) for group in items)])
    return starts.astype(np.int64), np.concatenate([*items, np.arange(0)]).astype(np.int64)
