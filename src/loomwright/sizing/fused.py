"""Which fuse stands between a wire and each source, and which wires lie behind which fuse?

In: the car's ways (`states.conduction`), every contact taken as closed. Out: `Fused`.

A *source* is the battery, or an alternator, a converter or an end of the old car whose most amps exceed what the wire
stands. From a source the ways are followed up to fuses and to what is always earthed: the wires met have no fuse before
them. From the far side of a fuse they are followed to the next fuses and to earth: those wires lie *behind* it, if its
near side meets a source and if no battery meets them another way. A wire that only a load or a driver feeds lies behind
nothing: these limit its current. Earth returns are always tied to earth and lie behind nothing either.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from loomwright.network.records import Element, Law
from loomwright.states.asking.scene import Scene
from loomwright.states.paths.conduction import Conduction, reached
from loomwright.states.ratings.wire_limits import WireLimit, carries_a
from loomwright.tables.kinds import resolve_settings

__all__ = ["FUSES", "Fuse", "Fused", "Source", "feeds", "fused_of", "region_of"]

FUSES = ("fuse", "breaker", "link")
"""Element types that open when too much flows."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fuse:
    """A part that opens when too much flows.

    what: fuse, breaker or link. rating_a: None where not chosen yet. [A]   family: of its gates; empty for others.
    size_mm2: of a link. [mm2]   trips_at: times its rating at which a breaker must open. [-]
    """

    part: str
    element: int
    what: str
    rating_a: float | None
    family: str = ""
    size_mm2: float | None = None
    trips_at: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """Where current comes from: its part, its live node, and the most it gives, None = no limit worth the name. [A]"""

    part: str
    node: int
    most_a: float | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fused:
    """What protects what.

    fuses: by part. sources: all of them. unfused: wire -> sources that reach it past no fuse.
    behind: fuse -> wires behind it, in the order of the sheets. fuses_of: wire -> the fuses it lies behind.
    """

    fuses: Mapping[str, Fuse]
    sources: tuple[Source, ...]
    unfused: Mapping[str, tuple[Source, ...]]
    behind: Mapping[str, tuple[str, ...]]
    fuses_of: Mapping[str, tuple[str, ...]]


def fused_of(scene: Scene, conduction: Conduction, limits: Mapping[str, WireLimit]) -> Fused:
    """What protects what in the car as the sheets have it.

    Args:
        limits: of the wires whose size is known; a source with a limit counts for a wire that stands less.
    """
    fuses = {fuse.part: fuse for fuse in _fuses(scene)}
    sources = _sources(scene, conduction)
    opens = frozenset(fuse.element for fuse in fuses.values())
    ends = {name: scene.ends(scene.compiled.elements_of[name][0]) for name in scene.wires if _is_in(scene, name)}
    unfused: dict[str, list[Source]] = {}
    for source in sources:
        live = region_of(conduction, source.node, opens)
        for name, pair in ends.items():
            if _lies_in(conduction, live, pair) and feeds(source, limits.get(name)):
                unfused.setdefault(name, []).append(source)
    behind = {
        fuse.part: _behind(scene, conduction, fuse, opens, sources, ends, limits, unfused) for fuse in fuses.values()
    }
    fuses_of = {name: tuple(part for part, wires in behind.items() if name in wires) for name in ends}
    return Fused(
        fuses=fuses,
        sources=sources,
        unfused={name: tuple(found) for name, found in unfused.items()},
        behind=behind,
        fuses_of=fuses_of,
    )


def region_of(conduction: Conduction, node: int, opens: Collection[int]) -> frozenset[int]:
    """Nodes that ways reach from a node without passing a fuse or what is always earthed."""
    if node in conduction.earth:
        return frozenset()
    return reached(
        conduction,
        (node,),
        through=lambda element: element not in opens,
        into=lambda other: other not in conduction.earth,
    )


def feeds(source: Source, limit: WireLimit | None) -> bool:
    """Whether a source counts for a wire: it can give more than the wire stands, or its limit is not known."""
    return source.most_a is None or limit is None or source.most_a > carries_a(limit)


def _behind(
    scene: Scene,
    conduction: Conduction,
    fuse: Fuse,
    opens: Collection[int],
    sources: tuple[Source, ...],
    ends: Mapping[str, tuple[int, int]],
    limits: Mapping[str, WireLimit],
    unfused: Mapping[str, list[Source]],
) -> tuple[str, ...]:
    found: dict[str, None] = {}
    a, b = scene.ends(fuse.element)
    for near, far in ((a, b), (b, a)):
        feeding = [source for source in sources if source.node in _upstream(conduction, near, fuse.element)]
        region = region_of(conduction, far, opens) if feeding else frozenset()
        for name, pair in ends.items():
            if not _lies_in(conduction, region, pair):
                continue
            if any(source.most_a is None for source in unfused.get(name, ())):
                continue
            if any(feeds(source, limits.get(name)) for source in feeding):
                found[name] = None
    return tuple(name for name in ends if name in found)


def _upstream(conduction: Conduction, near: int, fuse: int) -> frozenset[int]:
    """Nodes the near side of a fuse meets through any way but the fuse itself, other fuses included."""
    if near in conduction.earth:
        return frozenset()
    return reached(
        conduction,
        (near,),
        through=lambda element: element != fuse,
        into=lambda other: other not in conduction.earth,
    )


def _lies_in(conduction: Conduction, region: frozenset[int], ends: tuple[int, int]) -> bool:
    return not region.isdisjoint(ends) and conduction.earth.isdisjoint(ends)


def _is_in(scene: Scene, wire: str) -> bool:
    return any(scene.element(index).is_wire for index in scene.compiled.elements_of.get(wire, ()))


def _fuses(scene: Scene) -> list[Fuse]:
    found = []
    for index, element in enumerate(scene.compiled.network.elements):
        if element.type in FUSES and element.part in scene.parts:
            found.append(_fuse(scene, index, element))
    return found


def _fuse(scene: Scene, index: int, element: Element) -> Fuse:
    part = scene.parts[element.part]
    settings = resolve_settings(scene.kind(part.id), part.settings, part.rated_v or scene.vehicle.system_v)
    size, trips = settings.get("size_mm2"), settings.get("max_trip_times")
    return Fuse(
        part=part.id,
        element=index,
        what=element.type,
        rating_a=element.rating_a,
        family=str(settings.get("family", "")),
        size_mm2=size if isinstance(size, float) else None,
        trips_at=trips if isinstance(trips, float) else 1.0,
    )


def _sources(scene: Scene, conduction: Conduction) -> tuple[Source, ...]:
    found = []
    for index, element in enumerate(scene.compiled.network.elements):
        if element.law != Law.BATTERY and element.type not in ("alternator", "source"):
            continue
        # of an end of the old car that follows the battery its own terminal is the first node
        nodes = [node for node in scene.ends(index) if node not in conduction.earth]
        if nodes:
            found.append(Source(part=element.part, node=nodes[0], most_a=_most_a(element)))
    return tuple(found)


def _most_a(element: Element) -> float | None:
    """What a source gives at most; None where nothing limits it. [A]"""
    if element.law != Law.CLAMP:
        return None
    return max(max(abs(row[2]), abs(row[3])) for row in element.figures)
