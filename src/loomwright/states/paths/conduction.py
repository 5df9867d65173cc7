"""Through what does current pass without doing work, and what lies beyond a contact?

A *way* is an element that only passes current on: wire, joint, strap, contact, fuse, a small series resistance such as
an ammeter. Lamps, motors, coils and resistors do work; current that passes through them is limited by them, and a
driver of a controller limits it too: they end a way. Any contact may be closed, but a row of them only if one state can
close them all: not two positions of one switch, not the make and the break contact of one relay.

In: a `Scene`. Out: `Conduction`: the ways at every node, the nodes always tied to earth and to the battery's live post,
and how many contacts lie between each node and those. Method: breadth-first search; where contacts are passed, each
node keeps what its way asks of switches and relays, the least demanding ones only.

Assumption: a diode that is a part of its own may fail and counts as a way; a relay's suppression diode, a controller's
inner diodes and a starter's pull winding do not.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Collection, Iterable, Mapping, Set
from dataclasses import dataclass

from loomwright.network.records import Element, Law
from loomwright.states.asking.scene import Scene
from loomwright.states.paths.supply_cells import live_post_of

__all__ = ["JOINTS", "SWITCHING", "Conduction", "beyond", "conduction_of", "reached", "touching"]

SWITCHING = ("switch", "contact")
"""Element types that open and close."""
JOINTS = ("joint", "case", "bond", "bolted")
"""Element types that only join."""
_ALWAYS_WAYS = ("wire", "fuse", "breaker", "link", *SWITCHING, *JOINTS)
_SERIES_OHM = 0.3
_MOST_LABELS = 12
_METALS = ("body", "engine", "gearbox", "axle")


Asked = Mapping[tuple[str, int], Set[int]]
"""What a way asks of the car: ("variable", index) or ("device", index) -> the values that will do."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Conduction:
    """The ways of a car.

    at: node -> (element, node at its other end), ways only. all_at: the same for every element.
    earth: nodes always tied to a metal or to the battery's earthed post. live: to its other post, fuses whole.
    depth: contacts between a node and the nearest of those; nodes no way reaches are missing. [-]
    live_post: the battery's unearthed post, -1 where there is no battery.
    asks: contact -> what closes it, one entry a way of closing it: variable or device -> its values.
    """

    at: Mapping[int, tuple[tuple[int, int], ...]]
    all_at: Mapping[int, tuple[tuple[int, int], ...]]
    earth: frozenset[int]
    live: frozenset[int]
    depth: Mapping[int, int]
    live_post: int
    asks: Mapping[int, tuple[Asked, ...]]


def conduction_of(scene: Scene) -> Conduction:
    """The ways of the car as the sheets have it."""
    return scene.once("conduction", _conduction_of)


def _conduction_of(scene: Scene) -> Conduction:
    network = scene.compiled.network
    ways: dict[int, list[tuple[int, int]]] = {}
    every: dict[int, list[tuple[int, int]]] = {}
    metals = {scene.compiled.node_of[name] for name in _metals(scene) if name in scene.compiled.node_of}
    for index, element in enumerate(network.elements):
        a, b = scene.ends(index)
        if a == b:
            continue
        passes = is_way(scene, element, (a, b), metals)
        for node, other in ((a, b), (b, a)):
            every.setdefault(node, []).append((index, other))
            if passes:
                ways.setdefault(node, []).append((index, other))
    at = {node: tuple(found) for node, found in ways.items()}
    earth = _tied(scene, at, {scene.compiled.arrays.nodes, *metals}, frozenset())
    live_post = live_post_of(scene)
    live = _tied(scene, at, {live_post} - {-1}, earth)
    return Conduction(
        at=at,
        all_at={node: tuple(found) for node, found in every.items()},
        earth=earth,
        live=live,
        depth=_depths(scene, at, earth | live),
        live_post=live_post,
        asks={k: asked for k in range(len(network.elements)) if (asked := _asked(scene, k)) != ({},)},
    )


def is_way(scene: Scene, element: Element, ends: tuple[int, int], metals: Set[int]) -> bool:
    """Whether an element only passes current on.

    Args:
        ends: its nodes, compiled numbering.
        metals: nodes of the pieces of metal; what lies between a terminal and a metal is an earth joint.
    """
    if element.type == "diode":
        return element.polar and element.part in scene.parts and scene.kind(element.part).duty == "passive"
    if element.law != Law.LINEAR or all(row[0] <= 0.0 for row in element.figures):
        return False
    if element.type in _ALWAYS_WAYS:
        return True
    if element.type == "pin":
        return element.name.endswith(".earth")
    if element.type != "resistor" or element.load or element.figures[0][1] != 0.0:
        return False
    if not metals.isdisjoint(ends) and len(scene.kind(element.part).terminals) == 1:
        return scene.kind(element.part).duty == "supply"
    return max(row[0] for row in element.figures) >= 1.0 / _SERIES_OHM and not _is_starter(scene, element.part)


def reached(
    conduction: Conduction,
    starts: Iterable[int],
    *,
    through: Callable[[int], bool] = lambda element: True,
    into: Callable[[int], bool] = lambda node: True,
    until: Collection[int] = (),
) -> frozenset[int]:
    """Nodes that ways reach in some state, the starts among them.

    Args:
        through: whether an element may be passed.
        into: whether a node may be entered.
        until: where only these are asked about: nothing is followed on once all of them are reached.
    """
    nothing: Asked = {}
    labels: dict[int, list[Asked]] = {node: [nothing] for node in starts}
    free = set(labels)  # reached by a way that asks nothing: none is milder
    left = set(until)
    waiting = deque((node, nothing) for node in labels)
    while waiting:
        node, asked = waiting.popleft()
        for element, other in conduction.at.get(node, ()):
            if other in free or not through(element) or not into(other):
                continue
            for more in conduction.asks.get(element, (nothing,)):
                both = _both(asked, more)
                if both is None:
                    continue
                known = labels.setdefault(other, [])
                # a way that asks nothing is the first such one here: none that is known is milder
                if len(known) >= _MOST_LABELS or (both and any(_milder(old, both) for old in known)):
                    continue
                known.append(both)
                waiting.append((other, both))
                if not both:
                    free.add(other)
                if other in left:
                    left.remove(other)
                    if not left:
                        return frozenset(labels)
    return frozenset(node for node, known in labels.items() if known)


def _both(one: Asked, other: Asked) -> Asked | None:
    """What asks for both; None where no state gives it."""
    if not other:
        return one
    both = dict(one)
    for key, values in other.items():
        both[key] = both[key] & values if key in both else values
        if not both[key]:
            return None
    return both


def _milder(one: Asked, other: Asked) -> bool:
    """Whether whatever gives `other` gives `one` too."""
    if len(one) > len(other):
        return False
    for key, values in one.items():
        its = other.get(key)
        if its is None or not its <= values:
            return False
    return True


def touching(scene: Scene, conduction: Conduction, nodes: Iterable[int]) -> tuple[int, ...]:
    """Elements that do work at any of the nodes: lamps, motors, coils, resistors, drivers; in order."""
    found: set[int] = set()
    for node in nodes:
        ways = {element for element, _ in conduction.at.get(node, ())}
        found |= {element for element, _ in conduction.all_at.get(node, ()) if element not in ways}
    return tuple(sorted(found))


def beyond(scene: Scene, conduction: Conduction, index: int, *, at_once: bool = False) -> tuple[int, ...]:
    """What a contact or driver switches: the elements that do work on the side of it away from the supplies.

    The side away is the one with more contacts between it and the battery's posts or the metals; the search goes on
    only to nodes at least as far from them.

    Args:
        at_once: only what has no further contact before it.
    """
    ends = scene.ends(index)
    far = {node: conduction.depth.get(node, len(conduction.at)) for node in ends}
    most = max(far.values())
    if most == 0:
        return ()
    tied = conduction.earth | conduction.live
    starts = [node for node in ends if far[node] == most and node not in tied]

    def may_enter(node: int) -> bool:
        depth = conduction.depth.get(node, most)
        return node not in tied and (depth == most if at_once else depth >= most)

    nodes = reached(conduction, starts, through=lambda element: element != index, into=may_enter)
    return tuple(element for element in touching(scene, conduction, nodes) if element != index)


def _metals(scene: Scene) -> tuple[str, ...]:
    return (*_METALS, *(metal.id for metal in scene.job.metals))


def _is_starter(scene: Scene, part: str) -> bool:
    return any(scene.element(index).type == "starter_motor" for index in scene.elements_of.get(part, ()))


def _asked(scene: Scene, index: int) -> tuple[Asked, ...]:
    """What closes an element, one entry a guard; one empty entry where nothing opens it."""
    element = scene.element(index)
    whats = scene.compiled.network.devices
    needs: dict[tuple[str, int], Set[int]] = {
        ("device", device): frozenset({int(on)}) for device, on in element.needs if whats[device].what != "fuse"
    }
    if not element.guards:
        return (needs,)
    return tuple({**needs, **{("variable", k): values for k, values in guard.holds}} for guard in element.guards)


def _is_fixed(scene: Scene, index: int) -> bool:
    element = scene.element(index)
    devices = scene.compiled.network.devices
    return not element.guards and all(devices[device].what == "fuse" for device, _ in element.needs)


def _tied(
    scene: Scene, at: Mapping[int, tuple[tuple[int, int], ...]], roots: Collection[int], not_into: Collection[int]
) -> frozenset[int]:
    """Nodes joined to the roots by ways that nothing opens."""
    found = set(roots)
    waiting = deque(found)
    while waiting:
        for element, other in at.get(waiting.popleft(), ()):
            if other not in found and other not in not_into and _is_fixed(scene, element):
                found.add(other)
                waiting.append(other)
    return frozenset(found)


def _depths(scene: Scene, at: Mapping[int, tuple[tuple[int, int], ...]], roots: Collection[int]) -> Mapping[int, int]:
    """Fewest contacts between the roots and each node."""
    depth = dict.fromkeys(roots, 0)
    waiting = deque(sorted(roots))
    while waiting:
        node = waiting.popleft()
        for element, other in at.get(node, ()):
            step = 0 if _is_fixed(scene, element) else 1
            if depth[node] + step < depth.get(other, len(at) + 1):
                depth[other] = depth[node] + step
                (waiting.appendleft if step == 0 else waiting.append)(other)
    return depth
