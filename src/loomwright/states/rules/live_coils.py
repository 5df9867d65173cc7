"""Is a relay's coil live when the contact its own circuit belongs to is? LIV-1 of coils.

A circuit that has wires and coils and no load of its own is a coil's circuit, and its `feed` is meant for the coil: the
start relay on 50, a fan's relay on 30 so that the fan runs on, a lamp bar's relay on the main beam. Where the coil's
wires belong to the circuit of a load, the feed is that of the load, and nothing is asked here. Nor is it of a coil that
a controller drives.
"""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.states.asking.scene import Scene
from loomwright.states.paths.tracing import Ways
from loomwright.states.rules.feeds import feed_end
from loomwright.states.rules.load_elements import LoadElement, load_elements

__all__ = ["fed_coils"]

_GROUP = "relays"


def fed_coils(scene: Scene, ways: Ways) -> Iterator[tuple[LoadElement, str]]:
    """The coils whose circuit names a feed of their own, with its name."""
    loaded = _circuits_of_loads(scene)
    for index, element in enumerate(scene.compiled.network.elements):
        part = scene.parts.get(element.part)
        if element.type != "coil" or part is None or scene.kind(part.id).group != _GROUP:
            continue
        a, b = scene.ends(index)
        coil = LoadElement(
            name=element.name,
            part=part.id,
            type="coil",
            indices=(index,),
            a=a,
            b=b,
            rated_a=None,
            rated_v=scene.vehicle.system_v,
        )
        own = {wire.circuit or "" for node in (a, b) for wire in scene.wires_at.get(scene.name_of(node), ())}
        feeds = {scene.circuits[name].feed for name in own if name in scene.circuits} - {""}
        if len(feeds) == 1 and not own & loaded and feed_end(ways, coil) is not None:
            yield coil, feeds.pop()


def _circuits_of_loads(scene: Scene) -> frozenset[str]:
    """The circuits that have a load: its part's, and those of the wires at it."""
    found: set[str] = set()
    for load in load_elements(scene):
        found.add(scene.parts[load.part].circuit or "")
        for node in (load.a, load.b):
            found |= {wire.circuit or "" for wire in scene.wires_at.get(scene.name_of(node), ())}
    return frozenset(found)
