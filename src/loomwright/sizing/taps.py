"""Which wires may do without a fuse of their own: taps and the starter's cable?

A *tap* is a short wire that ends in fuses: whatever flows through it for long flows through them, so it may lie behind
a larger fuse, or behind none, if it stands 135 % of theirs. The *starter's cable* is every wire on the shortest unfused
way from the battery to the starter's main terminal; no fuse stands its current.
"""

from __future__ import annotations

from loomwright.network.records import Element
from loomwright.sizing.fused import FUSES, Fuse, Fused
from loomwright.states.asking.scene import Scene
from loomwright.states.paths.conduction import JOINTS, Conduction, reached
from loomwright.states.ratings.wire_limits import WireLimit, carries_a
from loomwright.tables.constants import constant

__all__ = ["is_short", "is_tap", "only_wire_before", "starter_cables"]


def is_short(scene: Scene, wire: str) -> bool:
    """Whether a wire is known to be no longer than a tap may be."""
    length_mm = scene.wires[wire].length_mm
    return length_mm is not None and length_mm <= constant("tap_mm")


def is_tap(scene: Scene, conduction: Conduction, fused: Fused, fuse: Fuse, limit: WireLimit) -> bool:
    """Whether a wire behind a fuse is a tap: short, ending in nothing but other fuses, and standing 135 % of them."""
    if not is_short(scene, limit.wire):
        return False
    index = scene.compiled.elements_of[limit.wire][0]
    beyond = _beyond(scene, conduction, fused, fuse, index)
    if beyond is None:
        return False
    ends_in = {element for node in beyond for element, _ in conduction.all_at.get(node, ()) if element != index}
    others = [scene.element(element) for element in ends_in if element != fuse.element]
    if any(not (other.is_wire or other.type in (*FUSES, *JOINTS)) for other in others):
        return False
    fuses = [other for other in others if other.type in FUSES]
    if not fuses or any(other.rating_a is None for other in fuses):
        # what it ends in is not chosen yet: not judged
        return bool(fuses)
    return carries_a(limit) >= constant("overload_factor") * sum(other.rating_a or 0.0 for other in fuses)


def only_wire_before(scene: Scene, conduction: Conduction, fused: Fused, fuse: Fuse) -> tuple[str, ...]:
    """The unfused wire all of a fuse's current comes through, where its feeding terminal has no other."""
    found = []
    for node in scene.ends(fuse.element):
        others = [scene.element(element) for element, _ in conduction.all_at.get(node, ()) if element != fuse.element]
        if len(others) == 1 and others[0].name in fused.unfused:
            found.append(others[0].name)
    return tuple(found)


def starter_cables(scene: Scene, conduction: Conduction, fused: Fused) -> frozenset[str]:
    """Wires on the shortest unfused way from the battery to the starter's main terminal."""
    opens = {fuse.element for fuse in fused.fuses.values()}
    came: dict[int, tuple[int, int]] = {}
    waiting = [conduction.live_post]
    for node in waiting:
        for element, other in conduction.at.get(node, ()):
            if other not in came and other != conduction.live_post and element not in opens | set(_own(scene)):
                came[other] = (element, node)
                waiting.append(other)
    found: set[str] = set()
    for node in _main_terminals(scene, conduction):
        while node in came:
            element, node = came[node]
            found.add(scene.element(element).name)
    return frozenset(found)


def _beyond(scene: Scene, conduction: Conduction, fused: Fused, fuse: Fuse, wire: int) -> frozenset[int] | None:
    """Nodes on the side of a wire away from a fuse; None where the wire is not the only way there."""
    opens = {other.element for other in fused.fuses.values()}
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
