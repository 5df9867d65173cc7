"""Which nodes hang together for good, what lies between such islands, and which bent elements may be taken as straight?

An island is nodes joined by wires, joints and straps that never change. From islands and what acts between them follows
in any state what a source reaches (`foreseen`). A diode may be taken as straight, that is as blocked, where it lies
across another element and is there to catch what that gives back; a clamp, as between its limits, where no battery is
beside it; a load, as dark or as working, where its earth is so short that others' amps lift it by little.

In: elements, their ends as nodes, which of them change. Out: `Reach`, made once a job.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import numpy as np
from scipy.sparse import csr_array
from scipy.sparse.csgraph import connected_components, dijkstra

from loomwright.network.arrays import Reach, type_b, type_f, type_i
from loomwright.network.records import Element, Law

__all__ = ["IDLE", "MAY", "NEVER", "reach_of"]

NEVER, MAY, IDLE = 0, 1, 2
"""Whether an element may be taken as straight; or nothing leads on from one of its ends: no volts come across it."""
_WIRE_SIEMENS = 1.0
"""What conducts less is no wire, joint or contact but a load. [S]"""
_SHORT_EARTH_OHM = 0.05
"""Behind a longer earth a dead lamp may be lifted further than its filament stays cold. [ohm]"""


def reach_of(
    elements: Sequence[Element], a: Sequence[int], b: Sequence[int], live: Sequence[int], step_of: type_i
) -> Reach:
    """Islands, what lies between them, and what may be taken as straight.

    Args:
        a, b: ends of each element as nodes; the reference is the last.
        live: elements that change or are no straight line.
        step_of: step of each node.
    """
    changes = set(live)
    leads = [e.law == Law.LINEAR and all(row[0] >= _WIRE_SIEMENS for row in e.figures) for e in elements]
    still = [k for k in range(len(elements)) if leads[k] and k not in changes and a[k] != b[k]]
    wires = _joined(elements, a, b, still, len(step_of))
    count, found = connected_components(wires, directed=False)
    island = found.tolist()
    touching: list[list[tuple[int, int]]] = [[] for _ in range(count)]
    for k, (p, q) in enumerate(zip(a, b, strict=True)):
        if island[p] != island[q]:
            touching[island[p]].append((k, island[q]))
            touching[island[q]].append((k, island[p]))
    gives = [k for k in live if elements[k].law == Law.BATTERY or _has_emf(elements[k])]
    beside_battery = {island[end] for k in gives if elements[k].law == Law.BATTERY for end in (a[k], b[k])}
    earth_ohm = dijkstra(wires, directed=False, indices=np.array([len(step_of) - 1]))[0]
    straight = _straight(elements, a, b, earth_ohm)
    for k in live:
        if elements[k].law == Law.CLAMP and {island[a[k]], island[b[k]]} & (beside_battery - {island[-1]}):
            straight[k] = NEVER
    if not (straight == MAY).any():
        gives = []  # nobody asks what is fed
    return Reach(
        island=found[np.argsort(step_of)].astype(np.int64),
        ptr=np.cumsum([0, *(len(group) for group in touching)]),
        element=np.array([k for group in touching for k, _ in group], np.int64),
        other=np.array([other for group in touching for _, other in group], np.int64),
        leads=np.array([leads[k] for group in touching for k, _ in group], np.uint8),
        source=np.repeat(np.array(gives, np.int64), 2),
        end=np.array([island[end] for k in gives for end in (a[k], b[k])], np.int64),
        straight=straight,
    )


def _joined(
    elements: Sequence[Element], a: Sequence[int], b: Sequence[int], still: Sequence[int], nodes: int
) -> csr_array:
    """The ohms between nodes of wires that never change, the least of several. [ohm]"""
    ohm: dict[tuple[int, int], float] = {}
    for k in still:
        pair = (min(a[k], b[k]), max(a[k], b[k]))
        ohm[pair] = min(ohm.get(pair, np.inf), 1.0 / elements[k].figures[0][0])
    ends = ([p for p, _ in ohm], [q for _, q in ohm])
    return csr_array((np.array(list(ohm.values()), float), ends), shape=(nodes, nodes))


def _has_emf(element: Element) -> bool:
    return element.law in (Law.LINEAR, Law.CLAMP) and any(row[1] != 0.0 for row in element.figures)


def _straight(elements: Sequence[Element], a: Sequence[int], b: Sequence[int], earth_ohm: type_f) -> type_b:
    """Of each element NEVER, MAY or IDLE."""
    pairs = [frozenset(pair) for pair in zip(a, b, strict=True)]
    across, touches = Counter(pairs), Counter(end for pair in zip(a, b, strict=True) for end in pair)
    reference = len(earth_ohm) - 1
    driven = {pairs[k] for k, element in enumerate(elements) if element.law == Law.BATTERY or _has_emf(element)}
    found = np.full(len(elements), NEVER, np.uint8)
    for k, element in enumerate(elements):
        hangs = any(end != reference and touches[end] == across[pairs[k]] for end in pairs[k])
        if element.law == Law.DIODE and hangs and pairs[k] not in driven:
            found[k] = IDLE
        elif element.law == Law.DIODE:
            found[k] = MAY if across[pairs[k]] > 1 else NEVER
        elif element.law in (Law.LAMP, Law.CURRENT, Law.MOTOR):
            earths = [earth_ohm[end] for end in pairs[k] if np.isfinite(earth_ohm[end])]
            found[k] = NEVER if any(ohm > _SHORT_EARTH_OHM for ohm in earths) else MAY
        elif element.law == Law.CLAMP:
            found[k] = MAY
    return found
