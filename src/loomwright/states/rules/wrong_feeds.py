"""What would cure a load that hangs on the wrong feed? The trials by which its consequences are found.

taken_off   a load that is live when it should be dead: its feed wire open
moved       a load that the key cuts and should not: the feed of its fuse (or what the key's contact feeds on its
            way) open, and what lay behind it joined to the battery; always before its own switch, which goes on
            working it
"""

from __future__ import annotations

from dataclasses import dataclass

from loomwright.network.records import Changes, Short
from loomwright.states.asking.scene import Scene
from loomwright.states.paths.tracing import Ways, closed_at_rest
from loomwright.states.rules.bridges import live_post

__all__ = ["MovedFeed", "moved", "moved_for", "taken_off"]


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


def moved(ways: Ways, node: int, without: frozenset[int] = frozenset()) -> MovedFeed | None:
    """The feed to move for a load that the key cuts, by its live end; None where its way goes over no key contact.

    Of the wires between its own switch and the key's contact the one at a fuse is moved, else the one at the contact.

    Args:
        without: elements that the way does not go over.
    """
    scene = ways.scene
    region = ways.region(node, without)
    way = region.way_to(region.plus)
    cut = next((place for place, index in enumerate(way) if _is_keys(scene, index)), None)
    if cut is None:
        return None
    behind = max((place + 1 for place, index in enumerate(way[:cut]) if _switches(scene, index)), default=0)
    fuse = next((place for place in range(behind, cut) if scene.element(way[place]).type == "fuse"), None)
    places = range(behind, cut) if fuse is None else range(fuse + 1, cut)
    wires = [place for place in places if scene.element(way[place]).is_wire]
    if not wires:
        return None
    place = wires[-1] if fuse is None else wires[0]
    near = _end_towards(scene, way, place, node)
    wire = scene.element(way[place]).name
    trial = Changes(opened=(wire,), shorts=(Short(scene.name_of(near), live_post(scene)),))
    return MovedFeed(wire=wire, fuse="" if fuse is None else scene.element(way[fuse]).part, trial=trial)


def moved_for(ways: Ways, part: str) -> MovedFeed | None:
    """The feed to move for a switch that the key cuts: at a terminal that it closes onto only when it is worked."""
    scene = ways.scene
    own = [index for index in scene.elements_of.get(part, ()) if scene.element(index).type == "switch"]
    at_rest = {node for index in own if closed_at_rest(scene, scene.element(index)) for node in scene.ends(index)}
    worked = dict.fromkeys(node for index in own for node in scene.ends(index) if node not in at_rest)
    found = (moved(ways, node, frozenset(own)) for node in worked)
    return next((one for one in found if one is not None), None)


def _switches(scene: Scene, index: int) -> bool:
    """True of a contact on the way that is no fuse: what is moved is moved before it."""
    return scene.element(index).type in ("switch", "contact")


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
