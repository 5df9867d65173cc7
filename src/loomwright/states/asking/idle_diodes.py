"""Which diodes of the car never carry a current, whatever the state?

A diode across a coil, or from a driver's star to its pin, has its back to every supply: current could come to its
anode only from the lowest metals, which no node of the car lies under, or through the very thing it lies across. It
blocks in every state, so that the network without it is the same network, and no way leads over it (`cones`).

In: a compiled network. Out: the places of such diodes among its elements. Method:

    low metals   what is tied to the one lowest battery post by wires alone, less what stands more than 0.5 V above
                 the lowest of them: each variable's own lift, solved one at a time, added up
    behind it    what could pass current to the anode without the diode, through ways and other diodes
    idle         all that touches what is behind it ends there too, at a low metal, or at the very wires of the cathode,
                 and none of it is a source

Where a source does not stand on the low metals (an alternator with its strap lost, batteries in series) a node may lie
lower than they do, and no diode is held idle.

Source: the maximum principle of networks of positive conductances; ours, from memory.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence

import networkx as nx
import numpy as np

from loomwright.network.compiled import Compiled
from loomwright.network.records import Element, Law
from loomwright.network.solve import rest_values, solve_many, values_of

__all__ = ["idle_diodes"]

_LIFT_MOST_V = 0.5
"""At this many volts a silicon diode of the car lets less than 6 mA through: our choice. [V]"""
_BASES = ({"key": "run", "engine": "running"}, {"key": "start", "engine": "cranking"})
_OTHERS = (Law.LINEAR, Law.CLAMP)


def idle_diodes(compiled: Compiled, is_way: Callable[[Element], bool]) -> frozenset[int]:
    """The places of the diodes that carry nothing in any state.

    Args:
        compiled: the network.
        is_way: whether an element lets current through as a wire or a contact does, not as a load.
    """
    elements = compiled.network.elements
    if not any(element.law == Law.DIODE for element in elements):
        return frozenset()
    ends = [(int(a), int(b)) for a, b in zip(compiled.arrays.a, compiled.arrays.b, strict=True)]
    wires = _joined_by_wires(elements, ends, is_way)
    low = _low_metals(compiled, elements, ends, wires)
    if not low:
        return frozenset()
    at: dict[int, list[int]] = {}
    for index, pair in enumerate(ends):
        for node in pair:
            at.setdefault(node, []).append(index)
    return frozenset(
        index
        for index, element in enumerate(elements)
        if element.law == Law.DIODE and _has_its_back(index, elements, ends, at, wires, low, is_way)
    )


def _joined_by_wires(
    elements: Sequence[Element], ends: Sequence[tuple[int, int]], is_way: Callable[[Element], bool]
) -> nx.Graph[int]:
    """Nodes joined by what nothing opens, no fuse either."""
    graph: nx.Graph[int] = nx.Graph()
    for element, (a, b) in zip(elements, ends, strict=True):
        graph.add_nodes_from((a, b))
        if element.law == Law.LINEAR and is_way(element) and not element.guards and not element.needs:
            graph.add_edge(a, b)
    return graph


def _low_metals(
    compiled: Compiled, elements: Sequence[Element], ends: Sequence[tuple[int, int]], wires: nx.Graph[int]
) -> frozenset[int]:
    """Nodes on the one lowest battery post that no load lifts; none where a source stands elsewhere."""
    lows = {ends[k][1] for k, element in enumerate(elements) if element.law == Law.BATTERY}
    highs = {ends[k][0] for k, element in enumerate(elements) if element.law == Law.BATTERY}
    if not lows:
        return frozenset()
    tied = nx.node_connected_component(wires, min(lows))
    feet = {ends[k][1] for k, element in enumerate(elements) if _is_source(element) and not _is_small(element)}
    if not lows <= tied or highs & tied or not feet <= tied:
        return frozenset()
    nodes = sorted(tied)
    return frozenset(node for node, lift in zip(nodes, _lifts(compiled, nodes), strict=True) if lift <= _LIFT_MOST_V)


def _lifts(compiled: Compiled, nodes: Sequence[int]) -> Iterable[float]:
    """How far each node comes to stand above the lowest of them with everything on, at most. [V]"""
    variables = compiled.network.variables
    names = compiled.variable_of
    most = np.zeros(len(nodes))
    for wanted in _BASES:
        known = {n: w for n, w in wanted.items() if n in names and w in variables[names[n]].values}
        base = values_of(compiled, known) if known else rest_values(compiled)
        free = [(k, value) for k, v in enumerate(variables) if v.name not in known for value in range(len(v.values))]
        states = np.repeat(base[None, :], len(free) + 1, axis=0)
        for row, (k, value) in enumerate(free, start=1):
            states[row, k] = value
        solved = solve_many(compiled, states).v
        # the reference has no place of its own among the solved: it stands at nought
        volts = np.concatenate([solved, np.zeros((len(solved), 1))], axis=1)[:, list(nodes)]
        above = volts - volts.min(axis=1, keepdims=True)
        own: dict[int, np.ndarray[tuple[int], np.dtype[np.float64]]] = {}
        for row, (k, _) in enumerate(free, start=1):
            own[k] = np.maximum(own.get(k, 0.0), above[row] - above[0])
        most = np.maximum(most, above[0] + sum(own.values(), np.zeros(len(nodes))))
    return [float(lift) for lift in most]


def _is_source(element: Element) -> bool:
    """True where an element can drive a current by itself."""
    return element.law == Law.BATTERY or (element.law in _OTHERS and any(row[1] != 0.0 for row in element.figures))


def _is_small(element: Element) -> bool:
    """True for the supply of sensors inside a controller, which lifts what hangs on it and lowers nothing."""
    return element.type == "pin"


def _has_its_back(
    diode: int,
    elements: Sequence[Element],
    ends: Sequence[tuple[int, int]],
    at: Mapping[int, Sequence[int]],
    wires: nx.Graph[int],
    low: frozenset[int],
    is_way: Callable[[Element], bool],
) -> bool:
    anode, cathode = ends[diode]
    across = nx.node_connected_component(wires, cathode)
    behind = {anode} - low
    waiting = list(behind)
    while waiting:
        node = waiting.pop()
        if node in across:
            return False
        for index in at[node]:
            element, (a, b) = elements[index], ends[index]
            if index == diode or (element.law == Law.DIODE and a == node):
                continue
            other = b if a == node else a
            if _is_source(element):
                return False
            if (
                other in low
                or other in behind
                or (other in across and element.law != Law.DIODE and not is_way(element))
            ):
                continue
            if not is_way(element):
                return False
            behind.add(other)
            waiting.append(other)
    return True
