"""What hangs on a controller's earth pins before they meet metal?

An *earth net* is what wires, splices and connectors join to one or more earth pins of a controller, up to a piece of
metal, an earth point or a busbar: there everybody's current may meet. In: a `Scene`. Out: the nets of an ability
(`sensor_earth` or `power_earth`), with the elements of other parts that hang on each, and the wire each hangs by.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from loomwright.network.controller import pin_ability
from loomwright.states.asking.scene import Scene

__all__ = ["EarthNet", "Hanging", "earth_nets", "meets_others", "part_at", "pins_with", "wired_nodes"]

_PASS = ("wire", "joint")


@dataclass(frozen=True, slots=True, kw_only=True)
class Hanging:
    """A part on an earth net. elements: those of it that touch the net. wire: what it hangs by, empty if unknown."""

    part: str
    elements: tuple[int, ...]
    wire: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class EarthNet:
    """One net. controller: whose. pins: its earth pins in it, by element. nodes: of the net, where all meet left out.

    meets: wires that lead from it to metal, earth points and busbars, with their elements.
    hanging: other parts. wires: all of it.
    """

    controller: str
    pins: tuple[int, ...]
    nodes: frozenset[int]
    wires: tuple[str, ...]
    meets: tuple[tuple[str, int], ...]
    hanging: tuple[Hanging, ...]


def pins_with(scene: Scene, *abilities: str) -> Mapping[str, str]:
    """Points of controller pins that act by one of the abilities, and by which."""
    found = {}
    for pin in scene.job.controller_pins:
        if pin.part in scene.parts:
            ability = pin_ability(pin, scene.job.needs)
            if ability in abilities:
                found[f"{pin.part}.{pin.terminal}"] = ability
    return found


def earth_nets(scene: Scene, ability: str) -> tuple[EarthNet, ...]:
    """The nets of all earth pins of one ability, in order of pins."""
    nets: list[EarthNet] = []
    for point in pins_with(scene, ability):
        if point not in scene.compiled.node_of:
            continue
        node = scene.node(point)
        if not any(node in net.nodes for net in nets):
            nets.append(_net(scene, point.split(".")[0], ability, node))
    return tuple(nets)


def wired_nodes(scene: Scene, starts: Iterable[int]) -> tuple[frozenset[int], frozenset[int]]:
    """Nodes that wires, splices and connectors join to the starts, and those among their ends where everybody meets."""
    at = scene.at
    found, shared = set(starts), set()
    waiting = deque(found)
    while waiting:
        for element, other in at.get(waiting.popleft(), ()):
            if other in found or scene.element(element).type not in _PASS:
                continue
            if meets_others(scene, other):
                shared.add(other)
                continue
            found.add(other)
            waiting.append(other)
    return frozenset(found), frozenset(shared)


def meets_others(scene: Scene, node: int) -> bool:
    """Whether a node is metal, an earth point, a busbar or a post: a place where everybody's current meets."""
    part = part_at(scene, node)
    if part is None:
        return True
    kind = scene.kind(part)
    if kind.duty == "supply":
        return True
    # a busbar is numbered without a seal or a cavity; a splice belongs to the loom and to one circuit
    return kind.id == "busbar"


def part_at(scene: Scene, node: int) -> str | None:
    """The part a node is a terminal of; None for metal."""
    part = scene.name_of(node).split(".")[0]
    return part if part in scene.parts else None


def _net(scene: Scene, controller: str, ability: str, start: int) -> EarthNet:
    at = scene.at
    nodes, shared = wired_nodes(scene, (start,))
    pins, wires, meets = [], [], []
    by_part: dict[str, list[int]] = {}
    for node in sorted(nodes):
        for index, other in at.get(node, ()):
            element = scene.element(index)
            if element.is_wire:
                wires.append(element.name)
                if other in shared:
                    meets.append((element.name, index))
            elif element.part == controller and element.name.endswith(".earth"):
                pins.append(index)
            elif element.type != "joint" and element.part in scene.parts:
                by_part.setdefault(element.part, []).append(index)
    own = set(pins_with(scene, ability))
    strange = [k for k in pins if scene.element(k).name.removesuffix(".earth") not in own]
    if strange:
        by_part.setdefault(controller, []).extend(strange)
    return EarthNet(
        controller=controller,
        pins=tuple(k for k in dict.fromkeys(pins) if k not in strange),
        nodes=nodes,
        wires=tuple(dict.fromkeys(wires)),
        meets=tuple(dict.fromkeys(meets)),
        hanging=tuple(_hanging(scene, nodes, part, tuple(dict.fromkeys(ks))) for part, ks in by_part.items()),
    )


def _hanging(scene: Scene, nodes: frozenset[int], part: str, elements: tuple[int, ...]) -> Hanging:
    ends = [node for k in elements for node in scene.ends(k) if node in nodes]
    names = [wire.id for node in ends for wire in scene.wires_at.get(scene.name_of(node), ())]
    return Hanging(part=part, elements=elements, wire=names[0] if names else "")
