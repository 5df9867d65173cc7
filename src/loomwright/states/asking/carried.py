"""What can a bridge act on, and where does a finding stand?

A bridge that joins an open end to a battery post changes the piece of the loom it ends in, what the relays and
controllers that look at that piece switch, and pieces without a way of their own that hang on it through loads. Where
several loads end in such a lost piece, lamps that share one earth, current finds its way through it from one feed to
another, and it acts on those feeds as well. The rest of the car it meets only through the volts of the supply, which it
can lower but not mend. Where it works a source (an alternator's field), or is no plain bridge, it may act on
everything.

Method: the pieces that wires and contacts hold together once what is always tied to the battery is taken out; from the
bridge's piece on, through devices and lost pieces, until nothing is added.
"""

from __future__ import annotations

from collections.abc import Iterable

import networkx as nx

from loomwright.findings import Finding
from loomwright.network.compiled import Compiled
from loomwright.network.records import Changes, Law
from loomwright.states.asking.cones import is_way, tied_nodes

__all__ = ["Carried"]

_SOURCES = ("alternator", "battery")
_TIED = -1
"""Stands for all nodes that are tied to the battery [-]."""


class Carried:
    """The pieces of a network, and what each carries on to. Nodes are told in the compiled numbering."""

    def __init__(self, compiled: Compiled) -> None:
        """Find the pieces."""
        arrays, network = compiled.arrays, compiled.network
        self._compiled = compiled
        self._tied = tied_nodes(compiled)
        self._ends = list(zip(arrays.a.tolist(), arrays.b.tolist(), strict=True))
        self._at: dict[int, list[int]] = {}
        self._named: dict[str, set[int]] = {}
        self._switched: dict[int, list[int]] = {}
        graph: nx.Graph[int] = nx.Graph()
        fed: set[int] = set()
        for index, (element, ends) in enumerate(zip(network.elements, self._ends, strict=True)):
            own = [end for end in ends if end not in self._tied]
            graph.add_nodes_from(own)
            for node in own:
                self._at.setdefault(node, []).append(index)
            if is_way(element) and len(own) == 2:
                graph.add_edge(*own)
            elif is_way(element):
                fed.update(own)
            for name in {element.name, element.part} - {""}:
                self._named.setdefault(name, set()).update(ends)
            for device, _ in element.needs:
                self._switched.setdefault(device, []).append(index)
        self._pieces = [frozenset(piece) for piece in nx.connected_components(graph)]
        self._piece_of = {node: k for k, piece in enumerate(self._pieces) for node in piece}
        self._lost = {k for k, piece in enumerate(self._pieces) if piece.isdisjoint(fed)}
        self._led_on = self._through_lost_ones()
        self._looks_at: dict[int, set[int]] = {}
        for device in range(len(network.devices)):
            for node in self._looked_at(device):
                self._looks_at.setdefault(node, set()).add(device)

    def by(self, trial: Changes) -> frozenset[int] | None:
        """The nodes that bridges can act on; None: everything."""
        if trial != Changes(shorts=trial.shorts):
            return None
        begun: set[int] = set()
        for short in trial.shorts:
            ends = [self._node(short.a), self._node(short.b)]
            own = {end for end in ends if end is not None and end not in self._tied}
            if None in ends or not own:
                return None
            begun |= own
        return self._carried(begun)

    def of(self, finding: Finding) -> frozenset[int] | None:
        """The nodes that a finding tells of, less those tied to the battery; None where none of its places is one."""
        found: set[int] = set()
        for name in (*finding.at, *finding.touches, *finding.path):
            node = self._node(name)
            found |= self._named.get(name, set()) if node is None else {node}
        return frozenset(found - self._tied) if found else None

    def _node(self, point: str) -> int | None:
        compiled = self._compiled
        return compiled.node_of.get(compiled.network.aliases.get(point, point))

    def _looked_at(self, device: int) -> set[int]:
        arrays = self._compiled.arrays
        nodes: set[int] = set()
        for sense in range(arrays.sense_ptr[device], arrays.sense_ptr[device + 1]):
            element = int(arrays.sense_element[sense])
            if element >= 0:
                nodes.update(self._ends[element])
            else:
                nodes |= {int(arrays.sense_a[sense]), int(arrays.sense_b[sense])}
        return nodes

    def _far(self, piece: int) -> set[int]:
        """The nodes at the far ends of what ends in a piece; what is tied to the battery is one of them."""
        ends = (self._ends[index] for node in self._pieces[piece] for index in self._at[node])
        return {_TIED if end in self._tied else end for pair in ends for end in pair} - self._pieces[piece]

    def _pieces_of(self, nodes: Iterable[int]) -> set[int]:
        return {self._piece_of[node] for node in nodes if node in self._piece_of}

    def _through_lost_ones(self) -> dict[int, set[int]]:
        """For each lost piece the others that current may reach through it and the lost ones beside it."""
        far = {piece: self._far(piece) for piece in self._lost}
        graph: nx.Graph[int] = nx.Graph()
        graph.add_nodes_from(self._lost)
        graph.add_edges_from((piece, other) for piece in far for other in self._pieces_of(far[piece]) & self._lost)
        led_on: dict[int, set[int]] = {}
        for group in nx.connected_components(graph):
            around = set().union(*(far[piece] for piece in group))
            around -= {node for piece in group for node in self._pieces[piece]}
            # from a single load nothing goes on
            led_on |= dict.fromkeys(group, self._pieces_of(around) if len(around) > 1 else set())
        return led_on

    def _carried(self, begun: Iterable[int]) -> frozenset[int] | None:
        waiting = [self._piece_of[node] for node in begun if node in self._piece_of]
        done: set[int] = set()
        elements = self._compiled.network.elements
        while waiting:
            piece = waiting.pop()
            if piece in done:
                continue
            done.add(piece)
            onward = self._pieces_of(self._far(piece)) & self._lost | self._led_on.get(piece, set())
            for node in self._pieces[piece]:
                for index in self._at[node]:
                    if elements[index].type in _SOURCES or elements[index].law == Law.BATTERY:
                        return None
                for device in self._looks_at.get(node, ()):
                    for index in self._switched.get(device, ()):
                        own = {self._piece_of[end] for end in self._ends[index] if end in self._piece_of}
                        if not own or elements[index].type in _SOURCES:
                            return None
                        onward |= own
            waiting.extend(onward - done)
        return frozenset().union(*(self._pieces[piece] for piece in done))
