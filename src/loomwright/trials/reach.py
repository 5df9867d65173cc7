"""How far does a failure reach: which contacts, relays and drivers can matter to what it does?

Nodes that are tied to the battery's posts by wires and fuses alone hold the car together; what lies between them is in
*islands*. A failure in an island reaches that island, what hangs on the fuses that feed it, and every island with a
contact of a relay that it reaches. One on the tied nodes reaches what it cuts off, or everything where another way is
left. Only what lies alike is told apart by this; what is solved is always the whole car.
"""

from __future__ import annotations

from collections.abc import Iterable

import networkx as nx
import numpy as np

from loomwright.network.arrays import type_i
from loomwright.network.records import Law
from loomwright.states.asking.scene import Scene
from loomwright.trials.failures import Failure

__all__ = ["Reach"]

_LOW_OHM = 0.3
_FUSES = ("fuse", "breaker", "link")


class Reach:
    """The islands of a car, worked out once."""

    def __init__(self, scene: Scene) -> None:
        self._scene = scene
        elements = scene.compiled.network.elements
        self._ends = [scene.ends(k) for k in range(len(elements))]
        self._roots = {scene.compiled.arrays.nodes}
        self._tie: nx.MultiGraph[int] = nx.MultiGraph()
        for k, element in enumerate(elements):
            if element.law == Law.BATTERY:
                self._roots |= set(self._ends[k])
            if self._ties(k):
                self._tie.add_edge(*self._ends[k], key=k)
        self._tied = self._joined_to_roots(self._tie)
        self._island, self._nodes_of = self._islands()
        self._at: dict[int, list[int]] = {}
        for k, ends in enumerate(self._ends):
            for node in set(ends):
                self._at.setdefault(node, []).append(k)
        self._cut_by = {k: self._cut_off(k) for k, element in enumerate(elements) if element.type in _FUSES}
        self._works = self._worked_by()

    def of(self, failure: Failure) -> tuple[type_i, type_i, type_i]:
        """The elements with guards, the devices, and the loads, that a failure can reach."""
        nodes = self._nodes(failure)
        elements = self._scene.compiled.network.elements
        if nodes is None:
            every = [k for k, element in enumerate(elements) if element.guards]
            loads = self._loads(range(len(elements)))
            return np.array(every, np.int64), np.array(self._telling(), np.int64), loads
        touched = {k for node in nodes for k in self._at.get(node, ())}
        guarded = sorted(k for k in touched if elements[k].guards)
        needed = {device for k in touched for device, _ in elements[k].needs} & set(self._telling())
        devices = sorted(needed | self._sensing(touched, nodes))
        return np.array(guarded, np.int64), np.array(devices, np.int64), self._loads(sorted(touched))

    def _loads(self, which: Iterable[int]) -> type_i:
        elements = self._scene.compiled.network.elements
        return np.array([k for k in which if elements[k].load and elements[k].rated_a], np.int64)

    def _nodes(self, failure: Failure) -> set[int] | None:
        """Every node that it reaches; None for the whole car."""
        seeds = self._seeds(failure)
        if seeds is None:
            return None
        found: set[int] = set()
        waiting = set(seeds)
        while waiting:
            node = waiting.pop()
            if node in found:
                continue
            found.add(node)
            inside = self._nodes_of[self._island[node]] if node in self._island else {node}
            found |= inside
            touched = {k for one in inside for k in self._at.get(one, ())}
            near = {end for k in touched for end in self._ends[k]}
            waiting |= {end for end in near if end in self._island} - found
            for k, behind in self._cut_by.items():
                if behind and behind & near and k not in self._main():
                    waiting |= (behind | self._hanging(behind)) - found
            for device in self._sensing(touched, inside):
                for k in self._works.get(device, ()):
                    waiting |= {end for end in self._ends[k] if end in self._island} - found
        return found

    def _seeds(self, failure: Failure) -> set[int] | None:
        touched: list[int] = [*failure.opened, *failure.closed]
        if failure.held:
            touched += [k for device in failure.held for k in self._works.get(device, ())]
        ends = {end for k in touched for end in self._ends[k]}
        scene = self._scene
        if failure.changes is not None:
            for short in failure.changes.shorts:
                ends |= {scene.node(short.a), scene.node(short.b)}
            cut = set(failure.cut)
            if cut:
                ends |= {
                    end for k, e in enumerate(scene.compiled.network.elements) if e.name in cut for end in self._ends[k]
                }
        inside = {end for end in ends if end in self._island}
        if inside:
            return inside
        if len(failure.opened) == 1 and self._ties(failure.opened[0]):
            behind = self._cut_off(failure.opened[0])
            return behind | self._hanging(behind) if behind else None
        return None

    def _main(self) -> set[int]:
        """Fuses behind which most of the car hangs: what blows them is seen in any state."""
        most = len(self._tied) // 3
        return {k for k, behind in self._cut_by.items() if len(behind) > most}

    def _hanging(self, nodes: Iterable[int]) -> set[int]:
        return {end for node in nodes for k in self._at.get(node, ()) for end in self._ends[k] if end in self._island}

    def _ties(self, k: int) -> bool:
        element, devices = self._scene.element(k), self._scene.compiled.network.devices
        return (
            element.law == Law.LINEAR
            and not element.guards
            and not element.load
            and element.figures[0][1] == 0.0
            and max(row[0] for row in element.figures) >= 1.0 / _LOW_OHM
            and element.type not in ("motor", "coil", "starter_motor")
            and all(devices[device].what == "fuse" for device, _ in element.needs)
        )

    def _joined_to_roots(self, graph: nx.MultiGraph[int]) -> set[int]:
        return set().union(
            *(nx.node_connected_component(graph, root) if root in graph else {root} for root in self._roots)
        )

    def _cut_off(self, k: int) -> set[int]:
        """The tied nodes that an element alone holds."""
        a, b = self._ends[k]
        if not self._tie.has_edge(a, b, key=k):
            return set()
        self._tie.remove_edge(a, b, key=k)
        sides = [nx.node_connected_component(self._tie, end) for end in (a, b)]
        self._tie.add_edge(a, b, key=k)
        if b in sides[0]:
            return set()
        loose = [side for side in sides if not side & self._roots]
        return set(loose[0]) if loose else set()

    def _islands(self) -> tuple[dict[int, int], list[set[int]]]:
        graph: nx.Graph[int] = nx.Graph()
        graph.add_nodes_from(node for node in range(self._scene.compiled.arrays.nodes) if node not in self._tied)
        graph.add_edges_from(ends for ends in self._ends if not set(ends) & self._tied)
        pieces = [set(piece) for piece in nx.connected_components(graph)]
        return {node: index for index, piece in enumerate(pieces) for node in piece}, pieces

    def _worked_by(self) -> dict[int, list[int]]:
        """Device -> the elements that need it."""
        found: dict[int, list[int]] = {}
        for k, element in enumerate(self._scene.compiled.network.elements):
            for device, _ in element.needs:
                found.setdefault(device, []).append(k)
        return found

    def _telling(self) -> list[int]:
        """Relays, controllers and the like; whether a motor turns or a fuse is whole follows from the rest."""
        devices = self._scene.compiled.network.devices
        return [k for k, device in enumerate(devices) if device.what not in ("motor", "fuse")]

    def _sensing(self, touched: Iterable[int], nodes: Iterable[int]) -> set[int]:
        """Relays and controllers that look at any of the elements or nodes; motors and fuses are left out."""
        arrays = self._scene.compiled.arrays
        elements, inside = set(touched), set(nodes)
        found = set()
        for k in self._telling():
            for sense in range(arrays.sense_ptr[k], arrays.sense_ptr[k + 1]):
                if int(arrays.sense_element[sense]) in elements or int(arrays.sense_a[sense]) in inside:
                    found.add(k)
        return found
