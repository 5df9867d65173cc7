"""Which loads can draw on each supply: battery, alternator, fuse, the contact that feeds a circuit?

By the ways of the car, every contact closed that one state can close: from a source everything it reaches, fuses
passed; from the far side of a fuse what is reached without the fuse and without a source's own post; beyond a contact
what lies on its side away from the supplies. What does work there are its loads: lamps, motors, coils, electronics.

Limits: a load that a second fuse feeds too is told with both; how they share the current is a matter of the state.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from loomwright.findings import id_order
from loomwright.network.records import Law
from loomwright.sizing.fused import reach_of, region_of
from loomwright.states.asking.scene import Scene
from loomwright.states.paths.conduction import SWITCHING, Conduction, beyond, conduction_of, reached, touching
from loomwright.states.paths.surroundings import element_label

__all__ = ["DrawnOn", "drawn_on"]

_SOURCES = ("battery", "alternator")


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnOn:
    """One supply. what: battery, alternator, source, fuse, contact.   loads: parts, in order.

    rated_a: what those with a rated current draw together, if all are on. [A]   rating_a: its own, where known. [A]
    """

    name: str
    what: str
    label: str
    loads: tuple[str, ...]
    rated_a: float
    rating_a: float | None = None


def drawn_on(scene: Scene) -> tuple[DrawnOn, ...]:
    """Every supply of the car that a load can draw on."""
    conduction = conduction_of(scene)
    reach = reach_of(scene, conduction)
    posts = frozenset(source.node for source in reach.sources)
    found: list[DrawnOn] = []
    for source in reach.sources:
        nodes = region_of(conduction, source.node, ())
        what = next(e.type for e in scene.compiled.network.elements if e.part == source.part and _is_source(e.type))
        label = f"{source.part} ({scene.title(source.part)})"
        found.append(_of(scene, touching(scene, conduction, nodes), source.part, what, label, source.most_a))
    for part, fuse in reach.fuses.items():
        beyond_it: set[int] = set()
        for side in reach.sides:
            if side.fuse == part:
                beyond_it |= set(_past(conduction, side.node, fuse.element, posts))
        label = f"{part} ({scene.title(part)})"
        found.append(_of(scene, touching(scene, conduction, beyond_it), part, "fuse", label, fuse.rating_a))
    found += _contacts(scene, conduction)
    return tuple(one for one in found if one.loads)


def _is_source(word: str) -> bool:
    return word in (*_SOURCES, "source")


def _past(conduction: Conduction, node: int, fuse: int, posts: frozenset[int]) -> frozenset[int]:
    """Nodes that are reached from one side of a fuse, the fuse itself and the posts of sources left out."""
    if node in conduction.earth:
        return frozenset()
    return reached(
        conduction,
        (node,),
        through=lambda element: element != fuse,
        into=lambda other: other not in conduction.earth and other not in posts,
    )


def _contacts(scene: Scene, conduction: Conduction) -> Iterator[DrawnOn]:
    for index, element in enumerate(scene.compiled.network.elements):
        if element.type in SWITCHING and element.part in scene.parts:
            loads = beyond(scene, conduction, index)
            yield _of(scene, loads, element.part, "contact", element_label(scene, element), element.rating_a)


def _of(scene: Scene, elements: Iterable[int], name: str, what: str, label: str, rating_a: float | None) -> DrawnOn:
    mine = [k for k in elements if _works(scene, k) and scene.element(k).part != name]
    rated = {scene.element(k).name: scene.element(k).rated_a or 0.0 for k in mine if scene.element(k).load}
    parts = {scene.element(k).part for k in mine}
    return DrawnOn(
        name=name,
        what=what,
        label=label,
        loads=tuple(sorted(parts, key=id_order)),
        rated_a=sum(rated.values()),
        rating_a=rating_a,
    )


def _works(scene: Scene, index: int) -> bool:
    """Whether an element is a load: no source, no diode, no joint of a battery."""
    element = scene.element(index)
    if element.part not in scene.parts or _is_source(element.type) or element.law in (Law.DIODE, Law.BATTERY):
        return False
    return element.load or element.type in ("coil", "pin", "starter_motor")
