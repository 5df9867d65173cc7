"""Which state variables decide what a thing in the car sees?

The *cone* of a node: the variables of every contact that lies on some way, through wires and contacts but not through
loads, from the node to what is always tied to the battery's posts or a metal; and, for a relay contact or a driver on
such a way, the cone of the coil, supply or key input that works it. All other variables act on the node only through
the
volts of the supply and through other loads; they are met by solving with the rest of the car off and loaded (`plan`).

Method: graph of low resistances; the always-tied nodes are drawn together; the two-connected pieces hang together as a
tree, so one walk over it serves all nodes; within a piece those ways count that some state can close (`closed_ways`).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import networkx as nx

from loomwright.network.compiled import Compiled
from loomwright.network.records import Element, Guard, Law
from loomwright.states.asking.closed_ways import Edge, HangsOn, Lead, Term, leads_of, ways_from
from loomwright.states.asking.idle_diodes import idle_diodes
from loomwright.states.asking.islands import islands_of

__all__ = ["REMEMBERS", "Cones", "LooksAt", "Term", "cones_of", "is_way", "terms_at", "tied_nodes"]

REMEMBERS = ("relay", "alive", "key_input", "excited")
"""Devices that may lie either way in one state, by what was before it [-]."""

_LOW_OHM = 0.3
_TIED = -1


class LooksAt(NamedTuple):
    """All that an answer hangs on, by index: the volts of nodes, the places of variables, how devices lie. [-]"""

    nodes: tuple[int, ...] = ()
    variables: tuple[int, ...] = ()
    devices: tuple[int, ...] = ()


@dataclass(frozen=True, eq=False)
class Cones:
    """Variables (by index) that decide each element and each device.

    terms_of_element, terms_of_device: which of their values are told apart there.
    holds_itself: relays and controllers whose own contacts lie on a way to what works them, so that they may stay in.
    meeting: of each island (`islands`) the variables that decide what is on it.
    """

    of_element: Mapping[int, frozenset[int]]
    of_device: Mapping[int, frozenset[int]]
    terms_of_element: Mapping[int, frozenset[Term]]
    terms_of_device: Mapping[int, frozenset[Term]]
    holds_itself: frozenset[int]
    meeting: frozenset[frozenset[int]]

    @cached_property
    def asked(self) -> frozenset[frozenset[Term]]:
        """The terms of everything that is asked about, each set once."""
        return frozenset((*self.terms_of_element.values(), *self.terms_of_device.values()))

    def of(self, elements: Iterable[int]) -> frozenset[int]:
        """The variables that decide any of the elements."""
        return frozenset().union(*(self.of_element[element] for element in elements))


def cones_of(compiled: Compiled) -> Cones:
    """The cones of every element and device of a network."""
    tied, idle = tied_nodes(compiled), idle_diodes(compiled, is_way)
    ways = _Ways(compiled, tied, idle)
    arrays, network = compiled.arrays, compiled.network
    direct: list[tuple[set[Term], set[int]]] = []
    for index, element in enumerate(network.elements):
        terms, devices = ways.from_nodes((int(arrays.a[index]), int(arrays.b[index])))
        direct.append((terms | _own(element), devices | {device for device, _ in element.needs}))
    device_needs = _device_needs(compiled, ways)
    devices_all = _closed(device_needs)
    told = {k: frozenset(v | _union(devices_all, d)) for k, (v, d) in enumerate(direct)}
    of_element = {k: _variables_of(found) for k, found in told.items()}
    islands = islands_of(compiled, tied, idle)
    return Cones(
        of_element=of_element,
        of_device={k: _variables_of(found) for k, found in enumerate(devices_all)},
        terms_of_element=told,
        terms_of_device=dict(enumerate(devices_all)),
        holds_itself=_self_holding(compiled, device_needs),
        meeting=frozenset(frozenset().union(*(of_element[element] for element in island)) for island in islands),
    )


def terms_at(compiled: Compiled, asked: Iterable[LooksAt]) -> list[frozenset[Term]]:
    """The terms of all that decides each of a few answers, no diode taken to be idle.

    Less work than all cones of a network; these are the same or larger.
    """
    ways = _Ways(compiled, tied_nodes(compiled), frozenset())
    devices_all = _closed(_device_needs(compiled, ways))
    found: list[frozenset[Term]] = []
    for one in asked:
        terms, devices = ways.from_nodes(one.nodes)
        named = ((k, frozenset({value})) for k in one.variables for value in range(_values_of(compiled, k)))
        found.append(frozenset({*terms, *named, *_union(devices_all, {*devices, *one.devices})}))
    return found


def _values_of(compiled: Compiled, variable: int) -> int:
    return len(compiled.network.variables[variable].values)


def _device_needs(compiled: Compiled, ways: _Ways) -> list[tuple[set[Term], set[int]]]:
    """For each device the terms that decide what it looks at, and the devices."""
    arrays, network = compiled.arrays, compiled.network
    found: list[tuple[set[Term], set[int]]] = []
    for index, device in enumerate(network.devices):
        own = _terms_of(device.guards)
        needed: set[int] = set()
        for sense in range(arrays.sense_ptr[index], arrays.sense_ptr[index + 1]):
            watched = int(arrays.sense_element[sense])
            ends = (
                (int(arrays.a[watched]), int(arrays.b[watched]))
                if watched >= 0
                else (int(arrays.sense_a[sense]), int(arrays.sense_b[sense]))
            )
            more, devices = ways.from_nodes(ends)
            own |= more
            needed |= devices
            if watched >= 0:
                needed |= {other for other, _ in network.elements[watched].needs}
                own |= _own(network.elements[watched])
        found.append((own, needed))
    return found


def _own(element: Element) -> set[Term]:
    return _terms_of(element.guards)


def _terms_of(guards: Iterable[Guard]) -> set[Term]:
    return {term for guard in guards for term in guard.holds}


def _variables_of(terms: Iterable[Term]) -> frozenset[int]:
    return frozenset(variable for variable, _ in terms)


def _union(sets: list[frozenset[Term]], which: Iterable[int]) -> set[Term]:
    return set().union(*(sets[k] for k in which))


def _closed(needs: list[tuple[set[Term], set[int]]]) -> list[frozenset[Term]]:
    """Every device's terms with those of the devices it rests on, until nothing is added."""
    found = [set(terms) for terms, _ in needs]
    changed = True
    while changed:
        changed = False
        for index, (_, devices) in enumerate(needs):
            more = set().union(*(found[device] for device in devices)) - found[index]
            if more:
                found[index] |= more
                changed = True
    return [frozenset(one) for one in found]


def _self_holding(compiled: Compiled, needs: list[tuple[set[Term], set[int]]]) -> frozenset[int]:
    graph: nx.DiGraph[int] = nx.DiGraph()
    working = {k for k, device in enumerate(compiled.network.devices) if device.what in REMEMBERS}
    graph.add_edges_from((k, other) for k in working for other in needs[k][1] & working)
    loops = {k for piece in nx.strongly_connected_components(graph) if len(piece) > 1 for k in piece}
    return frozenset(loops | {k for k in working if k in needs[k][1]})


class _Ways:
    """The graph of low resistances, always-tied nodes drawn together, and the edges on ways to them."""

    def __init__(self, compiled: Compiled, tied: Set[int], idle: Set[int]) -> None:
        self._tied = tied
        arrays = compiled.arrays
        # a fuse is whole until it blows, a motor's two laws are one motor: neither is a choice of the car
        devices = frozenset(k for k, d in enumerate(compiled.network.devices) if d.what not in ("fuse", "motor"))
        leads_on: dict[Edge, list[Lead]] = {}
        for index, element in enumerate(compiled.network.elements):
            if not is_way(element) or index in idle:
                continue
            a, b = self._drawn(int(arrays.a[index])), self._drawn(int(arrays.b[index]))
            leads = leads_of(element, devices)
            if a != b and leads:
                leads_on.setdefault((min(a, b), max(a, b)), []).extend(leads)
        self._known = _all_ways(leads_on)

    def _drawn(self, node: int) -> int:
        return _TIED if node in self._tied else node

    def from_nodes(self, nodes: Iterable[int]) -> tuple[set[Term], set[int]]:
        """Terms and devices on the ways from any of the nodes to the tied ones."""
        terms: set[Term] = set()
        devices: set[int] = set()
        for node in nodes:
            on = self._known.get(self._drawn(node), HangsOn())
            terms |= on.terms
            devices |= on.devices
        return terms, devices


def _all_ways(leads_on: Mapping[Edge, Sequence[Lead]]) -> Mapping[int, HangsOn]:
    """Terms and devices on the ways from every node to the tied ones.

    A line put between a node and the tied ones would join every piece that lies on the way between them into one; so
    the ways of a node are those of its own piece to the node at which that piece hangs on the next, and that node's.
    """
    graph: nx.Graph[int] = nx.Graph(leads_on.keys())
    if _TIED not in graph:
        return {}
    pieces = [[(min(edge), max(edge)) for edge in edges] for edges in nx.biconnected_component_edges(graph)]
    pieces_at: dict[int, list[int]] = {}
    for index, edges in enumerate(pieces):
        for node in {end for edge in edges for end in edge}:
            pieces_at.setdefault(node, []).append(index)
    known: dict[int, HangsOn] = {_TIED: HangsOn()}
    done: set[int] = set()
    waiting = [_TIED]
    while waiting:
        joint = waiting.pop()
        for index in pieces_at[joint]:
            if index in done:
                continue
            done.add(index)
            for node, on in ways_from(joint, {edge: leads_on[edge] for edge in pieces[index]}).items():
                known[node] = known[joint].with_(on)
                waiting.append(node)
    return known


def is_way(element: Element) -> bool:
    """Whether an element lets current through as a wire or a contact does, not as a load."""
    if element.law == Law.DIODE:
        return True
    if element.law == Law.CLAMP:
        return element.figures[0][1] == 0.0 and element.figures[0][0] > 1.0 / _LOW_OHM
    if element.law != Law.LINEAR or element.figures[0][1] != 0.0 or element.load:
        return False
    return max(row[0] for row in element.figures) >= 1.0 / _LOW_OHM and element.type not in (
        "motor",
        "coil",
        "starter_motor",
    )


def tied_nodes(compiled: Compiled) -> set[int]:
    """Nodes tied to a battery post by low resistances that nothing opens."""
    graph: nx.Graph[int] = nx.Graph()
    arrays = compiled.arrays
    roots = {compiled.arrays.nodes}
    for index, element in enumerate(compiled.network.elements):
        a, b = int(arrays.a[index]), int(arrays.b[index])
        if element.law == Law.BATTERY:
            roots |= {a, b}
        only_fuses = all(compiled.network.devices[device].what == "fuse" for device, _ in element.needs)
        if is_way(element) and element.law == Law.LINEAR and not element.guards and only_fuses:
            graph.add_edge(a, b)
    tied: set[int] = set()
    for root in roots:
        tied |= nx.node_connected_component(graph, root) if root in graph else {root}
    return tied
