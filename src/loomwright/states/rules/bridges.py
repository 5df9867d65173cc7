"""Which bridge would cure an open end, so that what follows from it can be folded beneath it?

An open terminal or wire end is bridged to the side it was meant for: the opposite of what the far end of its part
reaches. Where that cannot be told, there is no trial, and nothing is folded.
"""

from __future__ import annotations

from collections.abc import Iterable

from loomwright.network.records import Changes, Law, Short
from loomwright.states.asking.scene import Scene
from loomwright.states.paths.tracing import Ways

__all__ = ["bridge", "earthed_post", "first_four", "is_pull_winding", "live_post", "meant_side", "plain_side", "turned"]

_OPPOSITE = {"plus": "minus", "minus": "plus"}
_PASSING = ("switch", "contact", "coil", "resistor", "diode", "joint", "fuse")


def earthed_post(scene: Scene) -> str:
    """The battery post that is on the body."""
    return scene.compiled.network.nodes[scene.compiled.network.reference]


def live_post(scene: Scene) -> str:
    """The battery's other post."""
    last = scene.compiled.arrays.nodes
    for index, element in enumerate(scene.compiled.network.elements):
        if element.law == Law.BATTERY:
            a, b = scene.ends(index)
            return scene.name_of(a if b == last else b)
    return earthed_post(scene)


def meant_side(ways: Ways, node: int) -> str:
    """`plus` or `minus`: what an open node was meant to be joined to; nothing where it cannot be told."""
    scene = ways.scene
    inside = set(ways.region(node).nodes)
    sides = set()
    for index, element in enumerate(scene.compiled.network.elements):
        if element.type == "alternator":
            # a source that is cut off was meant for the post it charges
            sides |= {side for end, side in zip(scene.ends(index), ("plus", "minus"), strict=True) if end in inside}
        if not (element.load or element.type in _PASSING) or is_pull_winding(scene, index):
            continue
        for near, far in (scene.ends(index), scene.ends(index)[::-1]):
            if near in inside and far not in inside:
                sides.add(_OPPOSITE.get(ways.side_through_loads(far), ""))
    sides.discard("")
    return sides.pop() if len(sides) == 1 else ""


def is_pull_winding(scene: Scene, index: int) -> bool:
    """A starter's pull-in winding: it leads on to the motor, and over the main contact to the battery."""
    element = scene.element(index)
    if element.type != "resistor" or not element.part:
        return False
    return any(scene.element(other).type == "starter_motor" for other in scene.elements_of[element.part])


def bridge(scene: Scene, point: str, side: str) -> Changes | None:
    """The bridge from a point to one of the battery's posts; None where the side is not known."""
    if side not in _OPPOSITE:
        return None
    # the live side is called plus, whichever pole that is
    post = live_post(scene) if side == "plus" else earthed_post(scene)
    return Changes(shorts=(Short(point, post),))


def turned(scene: Scene, first: str, second: str) -> Changes | None:
    """The wires of two points exchanged: each wire opened where it ends and bridged to the other point."""
    opened: list[str] = []
    shorts: list[Short] = []
    for here, there in ((first, second), (second, first)):
        for wire in scene.wires_at.get(here, ()):
            far = [scene.point(end) for end in (wire.from_, wire.to) if end and scene.point(end) != here]
            if not far or far[0] in (first, second):
                return None
            opened.append(wire.id)
            shorts.append(Short(far[0], there, 0.01))
    return Changes(opened=tuple(opened), shorts=tuple(shorts)) if opened else None


def plain_side(side: str) -> str:
    """The word for a side in a sentence."""
    return {"plus": "feed", "minus": "earth"}.get(side, "feed or earth")


def first_four(names: Iterable[str]) -> tuple[str, ...]:
    """At most four places, each once."""
    return tuple(dict.fromkeys(names))[:4]
