"""What would cure a load that hangs on the wrong feed? The trials by which its consequences are found.

taken_off   a load that is live when it should be dead: its feed wire open
moved       a load that the key cuts and should not: the feed of its fuse (or what the key's contact feeds on its
            way) open, and what lay behind it joined to the battery
"""

from __future__ import annotations

from dataclasses import dataclass

from loomwright.network.records import Changes, Short
from loomwright.states.asking.scene import Scene
from loomwright.states.paths.tracing import Ways
from loomwright.states.rules.bridges import live_post

__all__ = ["MovedFeed", "moved", "taken_off"]


@dataclass(frozen=True, slots=True, kw_only=True)
class MovedFeed:
    """A feed to move to terminal 30. wire: the one that is moved.   fuse: whose feed it is, or nothing."""

    wire: str
    fuse: str
    trial: Changes

    @property
    def words(self) -> str:
        """What is moved, in words."""
        return f"{self.wire}, which feeds {self.fuse}" if self.fuse else self.wire


def taken_off(ways: Ways, node: int) -> Changes | None:
    """The wires at the live end of a load open; None where no wire ends there."""
    wires = tuple(wire.id for wire in ways.scene.wires_at.get(ways.scene.name_of(node), ()))
    return Changes(opened=wires) if wires else None


def moved(ways: Ways, node: int) -> MovedFeed | None:
    """The feed to move for a load that the key cuts, by its live end; None where its way goes over no key contact.

    Of the wires between its own fuse and the key's contact the one at the fuse is moved, else the one at the contact.
    """
    scene = ways.scene
    region = ways.region(node)
    way = region.way_to(region.plus)
    cut = next((place for place, index in enumerate(way) if _is_keys(scene, index)), None)
    if cut is None:
        return None
    fuse = next((place for place, index in enumerate(way[:cut]) if scene.element(index).type == "fuse"), None)
    places = range(cut) if fuse is None else range(fuse + 1, cut)
    wires = [place for place in places if scene.element(way[place]).is_wire]
    if not wires:
        return None
    place = wires[-1] if fuse is None else wires[0]
    near = _end_towards(scene, way, place, node)
    wire = scene.element(way[place]).name
    trial = Changes(opened=(wire,), shorts=(Short(scene.name_of(near), live_post(scene)),))
    return MovedFeed(wire=wire, fuse="" if fuse is None else scene.element(way[fuse]).part, trial=trial)


def _is_keys(scene: Scene, index: int) -> bool:
    """True of a contact that the key moves."""
    key = scene.compiled.variable_of.get("key")
    element = scene.element(index)
    return element.type == "switch" and any(variable == key for guard in element.guards for variable, _ in guard.holds)


def _end_towards(scene: Scene, way: tuple[int, ...], place: int, node: int) -> int:
    """The end of an element of a way that is nearer to where the way starts."""
    here = node
    for index in way[:place]:
        a, b = scene.ends(index)
        here = b if here == a else a
    return here
