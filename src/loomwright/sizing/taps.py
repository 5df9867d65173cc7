"""Which wires may do without a fuse of their own: taps and the starter's cable?

A *tap* is a short wire that ends in fuses: whatever flows through it for long flows through them, so it may lie behind
a larger fuse, or behind none, if it stands 135 % of theirs. The *starter's cable* is every wire on the shortest unfused
way from the battery to the starter's main terminal, and from battery to battery in a string of them; no fuse stands its
current.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from itertools import pairwise

from loomwright.network.records import Element
from loomwright.sizing.fused import FUSES, Fuse, Fused
from loomwright.states.asking.scene import Scene
from loomwright.states.paths.conduction import JOINTS, Conduction, reached
from loomwright.states.paths.supply_cells import string_cells
from loomwright.states.ratings.wire_limits import WireLimit, carries_a
from loomwright.tables.constants import constant

__all__ = ["fuses_at_its_end", "is_short", "is_tap", "only_wire_before", "stands_its_fuses", "starter_cables"]


def is_short(scene: Scene, wire: str) -> bool:
    """Whether a wire is known to be no longer than a tap may be."""
    length_mm = scene.wires[wire].length_mm
    return length_mm is not None and length_mm <= constant("tap_mm")


def is_tap(scene: Scene, conduction: Conduction, fused: Fused, fuse: Fuse, limit: WireLimit) -> bool:
    """Whether a wire behind a fuse is a tap: short, ending in nothing but other fuses, and standing 135 % of them."""
    opens = {other.element for other in fused.fuses.values()}
    return stands_its_fuses(limit, fuses_at_its_end(scene, conduction, opens, fuse, limit.wire))


def fuses_at_its_end(
    scene: Scene, conduction: Conduction, opens: Collection[int], fuse: Fuse, wire: str
) -> tuple[Element, ...]:
    """The fuses a short wire behind a fuse ends in; none where it is long, or where it ends in anything else.

    Args:
        opens: the elements of all fuses.
    """
    if not is_short(scene, wire):
        return ()
    index = scene.compiled.elements_of[wire][0]
    beyond = _beyond(scene, conduction, opens, fuse, index)
    if beyond is None:
        return ()
    ends_in = {element for node in beyond for element, _ in conduction.all_at.get(node, ()) if element != index}
    others = [scene.element(element) for element in sorted(ends_in) if element != fuse.element]
    if any(not (other.is_wire or other.type in (*FUSES, *JOINTS)) for other in others):
        return ()
    return tuple(other for other in others if other.type in FUSES)


def stands_its_fuses(limit: WireLimit, fuses: Sequence[Element]) -> bool:
    """Whether a wire stands 135 % of the fuses it ends in; True where one of them is not chosen yet, so not judged."""
    if not fuses or any(fuse.rating_a is None for fuse in fuses):
        return bool(fuses)
    return carries_a(limit) >= constant("overload_factor") * sum(fuse.rating_a or 0.0 for fuse in fuses)


def only_wire_before(scene: Scene, conduction: Conduction, fused: Fused, fuse: Fuse) -> tuple[str, ...]:
    """The unfused wire all of a fuse's current comes through, where its feeding terminal has no other."""
    found = []
    for node in scene.ends(fuse.element):
        others = [scene.element(element) for element, _ in conduction.all_at.get(node, ()) if element != fuse.element]
        if len(others) == 1 and others[0].name in fused.unfused:
            found.append(others[0].name)
    return tuple(found)


def starter_cables(scene: Scene, conduction: Conduction, fused: Fused) -> frozenset[str]:
    """Wires on the shortest unfused way from the battery to the starter's main terminal, and from battery to battery
    where several stand in series."""
    found = _on_the_way(scene, conduction, fused, conduction.live_post, _main_terminals(scene, conduction))
    for lower, upper in pairwise(string_cells(scene)):
        for post in scene.ends(lower):
            if post not in conduction.earth:
                found |= _on_the_way(scene, conduction, fused, post, scene.ends(upper))
    return frozenset(found)


def _on_the_way(scene: Scene, conduction: Conduction, fused: Fused, start: int, targets: Iterable[int]) -> set[str]:
    """Wires and joints on the shortest ways that no fuse is in."""
    opens = {fuse.element for fuse in fused.fuses.values()} | set(_own(scene))
    came: dict[int, tuple[int, int]] = {}
    waiting = [start]
    for node in waiting:
        for element, other in conduction.at.get(node, ()):
            if other not in came and other != start and element not in opens:
                came[other] = (element, node)
                waiting.append(other)
    found: set[str] = set()
    for target in targets:
        node = target
        while node in came:
            element, node = came[node]
            found.add(scene.element(element).name)
    return found


def _beyond(
    scene: Scene, conduction: Conduction, opens: Collection[int], fuse: Fuse, wire: int
) -> frozenset[int] | None:
    """Nodes on the side of a wire away from a fuse; None where the wire is not the only way there."""
    sides = [
        reached(
            conduction,
            (node,),
            through=lambda element: element != wire and element not in opens,
            into=lambda other: other not in conduction.earth,
        )
        for node in scene.ends(wire)
    ]
    away = [side for side in sides if side.isdisjoint(scene.ends(fuse.element))]
    return away[0] if len(away) == 1 else None


def _main_terminals(scene: Scene, conduction: Conduction) -> list[int]:
    """Live nodes of a starter's main contact, or of its motor where it has none."""
    found = []
    for part in scene.parts:
        mine = [k for k in scene.elements_of.get(part, ()) if _carries_start(scene.element(k))]
        if any(scene.element(k).type == "starter_motor" for k in mine):
            found += [node for k in mine for node in scene.ends(k) if node not in conduction.earth]
    return found


def _carries_start(element: Element) -> bool:
    return element.type == "starter_motor" or (element.type == "contact" and element.make_a is not None)


def _own(scene: Scene) -> tuple[int, ...]:
    """Contacts inside starters: what lies behind them is no cable."""
    starters = {element.part for element in scene.compiled.network.elements if element.type == "starter_motor"}
    return tuple(k for k, e in enumerate(scene.compiled.network.elements) if e.part in starters and e.type == "contact")
