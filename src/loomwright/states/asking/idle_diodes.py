"""Which diodes of the car never carry a current, whatever the state?

A diode across a coil, or from a driver's star to its pin, has its back to every supply: current could come to its
anode only from the lowest metals, which no node of the car lies under, or through the very thing it lies across. It
blocks in every state, so that the network without it is the same network, and no way leads over it (`cones`).

In: a compiled network. Out: the places of such diodes among its elements. Method:

    low metals   what is tied to the one lowest battery post by wires alone, less what stands more than 1 V above the
                 lowest of them: each variable's own lift, solved one at a time, added up
    behind it    what could pass current to the anode without the diode, through ways and other diodes
    idle         all that touches what is behind it ends there too, at a low metal, or at the very wires of the cathode,
                 none of it is a source, and the diode carried less than 10 mA in all the states solved so far

An engine stands up to a volt above the body while it is cranked. What that could drive through such a diode in another
state comes to stand at 0.7 V at most behind it, and works no lamp, coil or sensor.

Where a source does not stand on the low metals (an alternator with its strap lost, batteries in series) a node may lie
lower than they do, and no diode is held idle.

Source: the maximum principle of networks of positive conductances; ours, from memory.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import networkx as nx
import numpy as np

from loomwright.network.arrays import type_f
from loomwright.network.compiled import Compiled
from loomwright.network.records import Element, Law
from loomwright.network.solve import Batch, rest_values, solve_many, values_of
from loomwright.states.asking.moved import moved

__all__ = ["idle_diodes"]

_LIFT_MOST_V = 1.0
"""A metal that comes to stand higher than this is none to lean on: our choice. [V]"""
_LEAST_A = 0.01
"""What a diode carries at least to count: no lamp, coil or sensor of a car is worked by less: our choice. [A]"""
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
    looks = tuple(_looks(compiled))
    low = _low_metals(compiled, elements, ends, wires, looks)
    if not low:
        return frozenset()
    at: dict[int, list[int]] = {}
    for index, pair in enumerate(ends):
        for node in pair:
            at.setdefault(node, []).append(index)
    carried = np.max([np.abs(look.batch.amps).max(axis=0) for look in looks], axis=0)
    return frozenset(
        index
        for index, element in enumerate(elements)
        if element.law == Law.DIODE
        and carried[index] < _LEAST_A
        and _has_its_back(index, elements, ends, at, wires, low, is_way)
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


@dataclass(frozen=True, slots=True, eq=False)
class _Look:
    """A state solved, and after it those with one variable moved; moved: which one, for each of these."""

    batch: Batch
    moved: tuple[int, ...]


def _looks(compiled: Compiled) -> Iterator[_Look]:
    variables = compiled.network.variables
    names = compiled.variable_of
    for wanted in _BASES:
        known = {n: w for n, w in wanted.items() if n in names and w in variables[names[n]].values}
        base = values_of(compiled, known) if known else rest_values(compiled)
        free = [(k, value) for k, v in enumerate(variables) if v.name not in known for value in range(len(v.values))]
        states = moved(base, [(), *((one,) for one in free)])
        yield _Look(solve_many(compiled, states), tuple(k for k, _ in free))


def _low_metals(
    compiled: Compiled,
    elements: Sequence[Element],
    ends: Sequence[tuple[int, int]],
    wires: nx.Graph[int],
    looks: Sequence[_Look],
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
    lifts_v = np.max([_lifts_v(look, nodes) for look in looks], axis=0)
    return frozenset(node for node, lift_v in zip(nodes, lifts_v.tolist(), strict=True) if lift_v <= _LIFT_MOST_V)


def _lifts_v(look: _Look, nodes: Sequence[int]) -> type_f:
    """How far each node comes to stand above the lowest of them with everything on, at most. [V]"""
    volts = look.batch.v[:, list(nodes)]
    above = volts - volts.min(axis=1, keepdims=True)
    own: dict[int, type_f] = {}
    for row, variable in enumerate(look.moved, start=1):
        own[variable] = np.maximum(own.get(variable, 0.0), above[row] - above[0])
    return np.asarray(above[0] + sum(own.values(), np.zeros(len(nodes))))


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
