"""Which parts share a two-wire bus, where are its ends, and what closes them?

A *bus* is what wires join to the H and L terminals of parts that have them, and to the bus pins of controllers. An *end
resistor* is a part with no more than some hundred ohm between its H and L. In: a `Scene`. Out: the buses that have a
part with H and L; two controllers alone say nothing of what is inside them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from heapq import heappop, heappush

from loomwright.job.rows import Wire
from loomwright.network.records import Law
from loomwright.states.asking.scene import Scene
from loomwright.states.signals.earth_nets import part_at, pins_with, wired_nodes

__all__ = ["Bus", "Far", "bus_span", "buses_of"]

_END_MOST_OHM = 1000.0
_SIDES = {"can_high": 0, "can_low": 1}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Bus:
    """One bus. nodes: its parts. ends: those that are end resistors. ohms: between H and L of each that says. [ohm]

    wires: of H, of L. high: nodes of H. crossed: parts whose H meets others' L.
    """

    nodes: tuple[str, ...]
    ends: tuple[str, ...]
    ohms: Mapping[str, float]
    wires: tuple[tuple[Wire, ...], tuple[Wire, ...]]
    high: frozenset[int]
    crossed: tuple[str, ...]

    @property
    def between_ohm(self) -> float | None:
        """What a meter reads between the two wires with the power off; None where nothing closes it. [ohm]"""
        siemens = sum(1.0 / ohm for ohm in self.ohms.values())
        return 1.0 / siemens if siemens > 0.0 else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Far:
    """A part beyond an end resistor, and how far along the wire. [mm]"""

    part: str
    resistor: str
    beyond_mm: float


def buses_of(scene: Scene) -> tuple[Bus, ...]:
    """The buses of the car."""
    sides = dict(_terminals(scene))
    found: list[Bus] = []
    seen: set[int] = set()
    for node in sorted(sides):
        if node in seen or sides[node][1] != 0:
            continue
        high, _ = wired_nodes(scene, (node,))
        parts = {sides[n][0] for n in high if n in sides}
        low_starts = [n for n, (part, side) in sides.items() if part in parts and side == 1 and n not in high]
        low, _ = wired_nodes(scene, low_starts)
        seen |= high
        parts |= {sides[n][0] for n in low if n in sides}
        if len(parts) > 1 and any(_has_own(scene, part) for part in parts):
            found.append(_bus(scene, sides, high, low, sorted(parts)))
    return tuple(found)


def bus_span(scene: Scene, bus: Bus) -> Far | None:
    """The part that lies farthest from the nearest end resistor, along H; None where a length is not known."""
    if any(wire.length_mm is None for wire in bus.wires[0]):
        return None
    from_end = {part: _distances(scene, bus, part) for part in bus.ends}
    best: Far | None = None
    for part in bus.nodes:
        if part in bus.ends:
            continue
        node = _high_node(scene, bus, part)
        near = min(((far.get(node, 0.0), end) for end, far in from_end.items()), default=None)
        others = [far.get(node, 0.0) for far in from_end.values()]
        between = _between(scene, bus, from_end)
        # on the way between the two resistors the distances add up to the whole: what is more is a stub
        beyond_mm = (sum(others) - between) / 2.0 if len(others) == 2 else 0.0
        if near is not None and (best is None or beyond_mm > best.beyond_mm):
            best = Far(part=part, resistor=near[1], beyond_mm=beyond_mm)
    return best


def _terminals(scene: Scene) -> Iterator[tuple[int, tuple[str, int]]]:
    for part in scene.parts:
        for side, name in enumerate("HL"):
            point = f"{part}.{name}"
            if _has_own(scene, part) and scene.wires_at.get(point):
                yield scene.node(point), (part, side)
    for point, ability in pins_with(scene, *_SIDES).items():
        if scene.wires_at.get(point):
            yield scene.node(point), (point.split(".")[0], _SIDES[ability])


def _has_own(scene: Scene, part: str) -> bool:
    names = {terminal.name for terminal in scene.kind(part).terminals}
    return {"H", "L"} == names


def _bus(
    scene: Scene, sides: Mapping[int, tuple[str, int]], high: frozenset[int], low: frozenset[int], parts: list[str]
) -> Bus:
    ohms = {part: ohm for part in parts if (ohm := _ohm(scene, part)) is not None}
    crossed = [sides[n][0] for n in high if n in sides and sides[n][1] == 1]
    crossed += [sides[n][0] for n in low if n in sides and sides[n][1] == 0]
    return Bus(
        nodes=tuple(parts),
        ends=tuple(part for part in parts if ohms.get(part, _END_MOST_OHM) < _END_MOST_OHM),
        ohms=ohms,
        wires=(_wires(scene, high), _wires(scene, low)),
        high=high,
        crossed=tuple(dict.fromkeys(sorted(crossed))),
    )


def _ohm(scene: Scene, part: str) -> float | None:
    """What a part closes the bus with. [ohm]"""
    if not _has_own(scene, part):
        return None
    elements = [scene.element(k) for k in scene.elements_of.get(part, ())]
    siemens = sum(element.figures[0][0] for element in elements if element.law == Law.LINEAR)
    return 1.0 / siemens if siemens > 0.0 else None


def _wires(scene: Scene, nodes: Iterable[int]) -> tuple[Wire, ...]:
    found = {wire.id: wire for node in sorted(nodes) for wire in scene.wires_at.get(scene.name_of(node), ())}
    return tuple(found.values())


def _high_node(scene: Scene, bus: Bus, part: str) -> int:
    return next((node for node in sorted(bus.high) if part_at(scene, node) == part), -1)


def _between(scene: Scene, bus: Bus, from_end: Mapping[str, Mapping[int, float]]) -> float:
    """Along H from one end resistor to the other. [mm]"""
    first, second = bus.ends
    return from_end[first].get(_high_node(scene, bus, second), 0.0)


def _distances(scene: Scene, bus: Bus, part: str) -> Mapping[int, float]:
    """Along the wires of H from a part to every node. [mm]"""
    at: dict[int, list[tuple[int, float]]] = {}
    for index, element in enumerate(scene.compiled.network.elements):
        a, b = scene.ends(index)
        if a in bus.high and b in bus.high and element.type in ("wire", "joint"):
            length_mm = (scene.wires[element.name].length_mm or 0.0) if element.is_wire else 0.0
            at.setdefault(a, []).append((b, length_mm))
            at.setdefault(b, []).append((a, length_mm))
    found: dict[int, float] = {}
    waiting = [(0.0, _high_node(scene, bus, part))]
    while waiting:
        so_far, node = heappop(waiting)
        if node in found:
            continue
        found[node] = so_far
        for other, length_mm in at.get(node, ()):
            heappush(waiting, (so_far + length_mm, other))
    return found
