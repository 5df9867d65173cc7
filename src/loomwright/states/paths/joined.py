"""What is always joined, and through which gates can it meet the supply or earth?

A *net* is every node that wires, joints, straps and fuses hold together whatever the switches do. A *gate* lies between
two nets and lets current pass without using it: a contact, a driver of a controller, a diode that is a part of its own,
a small series resistor. Everything else at the border of a net uses current: lamps, motors, coils, inputs.

In: a `Scene`. Out: `Joined`, and the wires between two nodes of one net. Method: union of nodes over the elements that
nothing opens. Currents are taken in the sense of the car: `polarity` is -1 on a positive-earth car, so that current
into a net from the live post counts positive on both.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from loomwright.network.records import Element, Law
from loomwright.states.asking.scene import Scene

__all__ = ["SOURCE", "Gate", "Joined", "joined_of", "places_between", "wires_only"]

SOURCE = -1
"""The net behind a gate that is a source by itself: an alternator's output, an old feed with volts of its own."""

_LOW_OHM = 0.3
_SERIES_OHM = 10.0
_NOT_JOINED = ("pin", "coil", "motor", "starter_motor", "lamp", "field", "trio")
_PIN_GATES = (".drive", ".unpowered", ".earth")


@dataclass(frozen=True, slots=True, kw_only=True)
class Gate:
    """A way between a net and another. inward: a diode that lets current into the net (True) or out; None = both.

    series: a resistor or a diode, not a contact: it is always there.
    """

    element: int
    other: int
    inward: bool | None = None
    series: bool = False


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Joined:
    """The nets of a car, by number.

    net_of: net of each node. nodes, wires: of each net. border: elements between a net and another.
    gates: of each net. live: nets tied to a battery's live post, one of `posts`. earth: to its earthed post.
    stars: inside controllers. at: node -> (element, node at its other end), elements inside nets only.
    """

    net_of: tuple[int, ...]
    nodes: tuple[tuple[int, ...], ...]
    wires: tuple[tuple[str, ...], ...]
    border: tuple[tuple[int, ...], ...]
    gates: tuple[tuple[Gate, ...], ...]
    live: frozenset[int]
    earth: frozenset[int]
    stars: frozenset[int]
    at: Mapping[int, tuple[tuple[int, int], ...]]
    polarity: int
    posts: tuple[int, ...]

    def nets(self, scene: Scene, element: int) -> tuple[int, int]:
        """The nets at the two ends of an element."""
        a, b = scene.ends(element)
        return self.net_of[a], self.net_of[b]


def joined_of(scene: Scene, without: Iterable[str] = ()) -> Joined:
    """The nets of the car.

    Args:
        without: wires taken as not there.
    """
    cut = frozenset(without)
    return _joined_of(scene, cut) if cut else scene.once("joined", lambda scene: _joined_of(scene, cut))


def _joined_of(scene: Scene, cut: frozenset[str]) -> Joined:
    elements = scene.compiled.network.elements
    inside = [k for k, e in enumerate(elements) if _joins(scene, e) and not (e.is_wire and e.name in cut)]
    net_of = _numbered(scene, inside)
    count = 1 + max(net_of)
    nodes: list[list[int]] = [[] for _ in range(count)]
    for node, net in enumerate(net_of):
        nodes[net].append(node)
    wires: list[list[str]] = [[] for _ in range(count)]
    at: dict[int, list[tuple[int, int]]] = {}
    for k in inside:
        a, b = scene.ends(k)
        at.setdefault(a, []).append((k, b))
        at.setdefault(b, []).append((k, a))
        if elements[k].is_wire:
            wires[net_of[a]].append(elements[k].name)
    border: list[list[int]] = [[] for _ in range(count)]
    gates: list[list[Gate]] = [[] for _ in range(count)]
    for k, element in enumerate(elements):
        a, b = (net_of[node] for node in scene.ends(k))
        if a == b or (element.is_wire and element.name in cut):
            continue
        border[a].append(k)
        border[b].append(k)
        for net, gate in _gates(scene, k, element, a, b):
            gates[net].append(gate)
    reference = scene.compiled.arrays.nodes
    posts = [node for node in _live_posts(scene) if net_of[node] != net_of[reference]]
    stars = {net_of[node] for name, node in scene.compiled.node_of.items() if name.endswith("._star")}
    return Joined(
        net_of=tuple(net_of),
        nodes=tuple(tuple(found) for found in nodes),
        wires=tuple(tuple(found) for found in wires),
        border=tuple(tuple(found) for found in border),
        gates=tuple(tuple(found) for found in gates),
        live=frozenset(net_of[node] for node in posts),
        earth=frozenset({net_of[reference]}),
        stars=frozenset(stars),
        at={node: tuple(found) for node, found in at.items()},
        polarity=scene.vehicle.live_sign,
        posts=tuple(posts),
    )


def places_between(scene: Scene, joined: Joined, start: int, ends: Iterable[int]) -> tuple[str, ...]:
    """Wires and parts on the shortest way inside a net from a node to any of the others, in order; empty if none."""
    wanted = set(ends)
    came: dict[int, tuple[int, int] | None] = {start: None}
    waiting = deque([start])
    while waiting:
        node = waiting.popleft()
        if node in wanted:
            return _along(scene, came, node)
        for element, other in joined.at.get(node, ()):
            if other not in came:
                came[other] = (element, node)
                waiting.append(other)
    return ()


def wires_only(scene: Scene, places: Iterable[str]) -> tuple[str, ...]:
    """Of a list of places, the wires, each once."""
    return tuple(dict.fromkeys(place for place in places if place in scene.wires))


def _along(scene: Scene, came: Mapping[int, tuple[int, int] | None], node: int) -> tuple[str, ...]:
    found = []
    step = came[node]
    while step is not None:
        element = scene.element(step[0])
        found.append(element.part or element.name)
        step = came[step[1]]
    known = (place for place in reversed(found) if place in scene.wires or place in scene.parts)
    return tuple(dict.fromkeys(known))


def _joins(scene: Scene, element: Element) -> bool:
    """Whether nothing opens an element and next to nothing is lost in it."""
    if element.law != Law.LINEAR or element.guards or (element.needs and element.type not in ("fuse", "breaker")):
        return False
    if element.load or element.type in _NOT_JOINED or element.figures[0][1] != 0.0:
        return False
    if element.type == "resistor" and scene.kind(element.part).duty == "load":
        return False  # a starter's pull winding is thick, and still a winding
    most = max(row[0] for row in element.figures)
    return most > 0.0 and (element.is_wire or most >= 1.0 / _LOW_OHM)


def _numbered(scene: Scene, inside: Iterable[int]) -> list[int]:
    """The number of each node's net, in order of first node."""
    root = list(range(scene.compiled.arrays.nodes + 1))

    def find(node: int) -> int:
        while root[node] != node:
            root[node] = root[root[node]]
            node = root[node]
        return node

    for k in inside:
        a, b = (find(node) for node in scene.ends(k))
        root[max(a, b)] = min(a, b)
    number: dict[int, int] = {}
    return [number.setdefault(find(node), len(number)) for node in range(len(root))]


def _gates(scene: Scene, k: int, element: Element, a: int, b: int) -> Iterator[tuple[int, Gate]]:
    """The gates an element makes, with the net each belongs to."""
    if element.type == "alternator" or (element.type == "source" and element.figures[0][1] != 0.0):
        yield a, Gate(element=k, other=SOURCE)
    elif element.type == "diode":
        if element.polar and _is_passive(scene, element):
            yield a, Gate(element=k, other=b, inward=False, series=True)
            yield b, Gate(element=k, other=a, inward=True, series=True)
    elif _is_contact(element):
        yield a, Gate(element=k, other=b)
        yield b, Gate(element=k, other=a)
    elif element.type == "resistor" and _is_passive(scene, element) and element.figures[0][0] >= 1.0 / _SERIES_OHM:
        yield a, Gate(element=k, other=b, series=True)
        yield b, Gate(element=k, other=a, series=True)


def _is_contact(element: Element) -> bool:
    if element.type in ("switch", "contact", "source"):
        return element.figures[0][1] == 0.0
    return (
        element.type == "pin"
        and element.name.endswith(_PIN_GATES)
        and element.law in (Law.LINEAR, Law.CLAMP)
        and element.figures[0][1] == 0.0
    )


def _is_passive(scene: Scene, element: Element) -> bool:
    return element.part in scene.parts and scene.kind(element.part).duty == "passive"


def _live_posts(scene: Scene) -> list[int]:
    """The ends of every battery that are not the reference."""
    reference = scene.compiled.arrays.nodes
    cells = (k for k, element in enumerate(scene.compiled.network.elements) if element.law == Law.BATTERY)
    return [node for k in cells for node in scene.ends(k) if node != reference]
