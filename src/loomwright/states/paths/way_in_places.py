"""Where does one put a hand at a way into a supply, and what takes part in it?

The hand goes to the wire that comes to the way in from beyond, then to the part, then to the wire that leads on to the
supply; where the way in is a contact, only that last wire is wrong. What takes part: the wires and parts beyond, those
between it and the supply's own contact, and for outputs of a controller the loads on them and what feeds those.
"""

from __future__ import annotations

from loomwright.states.asking.scene import Scene
from loomwright.states.paths.joined import Joined, places_between, wires_only

__all__ = ["way_in_places"]

_MOST_TOUCHED = 12
"""A net beyond with more wires than this is not listed [-]."""


def way_in_places(
    scene: Scene, joined: Joined, net: int, part: str, elements: list[int], inside: tuple[str, ...]
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Where to put a hand, and what else takes part.

    Args:
        net: the supply.
        part: what the way in leads through.
        elements: the way in.
        inside: places between it and the supply's own contact.
    """
    beyond: list[str] = []
    for k in elements:
        a, b = scene.ends(k)
        far = b if joined.net_of[a] == net else a
        beyond.extend(_beyond(scene, joined, far))
    near = wires_only(scene, inside)
    first = _first_wire(scene, joined, net, elements)
    if scene.element(elements[0]).type in ("switch", "contact"):
        # a contact is where it should be: the wire that joins it to the supply is not
        hand = tuple(dict.fromkeys((*near[:2], part)))
    else:
        hand = tuple(dict.fromkeys((*first, part, *near[:1])))
    touched = dict.fromkeys((*inside, *beyond, *_beside(scene, joined, net, elements)))
    return hand[:4], tuple(place for place in touched if place not in hand[:4])


def _first_wire(scene: Scene, joined: Joined, net: int, elements: list[int]) -> tuple[str, ...]:
    """The wire that comes to the way in from beyond; inside a controller that is the output's own wire."""
    a, b = scene.ends(elements[0])
    far = b if joined.net_of[a] == net else a
    wires = scene.wires_at.get(scene.name_of(far), ())
    return (wires[0].id,) if wires else ()


def _beyond(scene: Scene, joined: Joined, far: int) -> list[str]:
    """Wires and parts of the far side: its whole net where that is small, else the way to the battery's post."""
    net = joined.net_of[far]
    if net in joined.live:
        return list(places_between(scene, joined, far, joined.posts))
    if len(joined.wires[net]) > _MOST_TOUCHED:
        return []
    parts = [scene.element(k).part for k in joined.border[net]]
    ends = [scene.name_of(node).split(".")[0] for node in joined.nodes[net]]
    found = [*joined.wires[net], *(part for part in (*ends, *parts) if part in scene.parts)]
    for k in joined.border[net]:
        if scene.element(k).type == "diode":
            for other in scene.ends(k):
                found.extend(wire.id for wire in scene.wires_at.get(scene.name_of(other), ()))
    return found


def _beside(scene: Scene, joined: Joined, net: int, elements: list[int]) -> list[str]:
    """For outputs of a controller: their wires, the loads on them, and what feeds those."""
    found: list[str] = []
    for k in elements:
        if scene.element(k).type != "pin":
            continue
        a, b = scene.ends(k)
        far = joined.net_of[b if joined.net_of[a] == net else a]
        for load in joined.border[far]:
            if scene.element(load).type == "pin":
                continue
            for node in scene.ends(load):
                found.extend(wire.id for wire in scene.wires_at.get(scene.name_of(node), ()))
            found.append(scene.element(load).part)
    return [place for place in found if place]
