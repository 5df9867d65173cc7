"""Which fuse stands between a wire and each source, and which wires lie behind which fuse?

In: the car's ways (`states.paths.conduction`), every contact taken as closed. Out: `Fused`.

A *source* is the battery, or an alternator, a converter or an end of the old car whose most amps exceed what the wire
stands. From a source the ways are followed up to fuses and to what is always earthed: the wires met have no fuse before
them. From the far side of a fuse they are followed to the next fuses and to earth: those wires lie *behind* it, if its
near side meets a source and if no battery meets them another way. A wire that only a load or a driver feeds lies behind
nothing: these limit its current. Earth returns are always tied to earth and lie behind nothing either.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from loomwright.network.records import Element, Law
from loomwright.states.asking.scene import Scene
from loomwright.states.paths.conduction import Conduction, reached
from loomwright.states.ratings.wire_limits import WireLimit, carries_a
from loomwright.tables.kinds import resolve_settings

__all__ = [
    "FUSES",
    "Fuse",
    "Fused",
    "Reach",
    "Side",
    "Source",
    "fed_without",
    "feeds",
    "fused_of",
    "fused_with",
    "reach_of",
    "region_of",
    "with_ratings",
]

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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Side:
    """One side of a fuse: its node, the sources that feed the other side, the wires here up to the next fuses."""

    fuse: str
    node: int
    feeding: tuple[Source, ...]
    wires: frozenset[str]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Reach:
    """Which sources and fuses reach which wires; whether they count for one depends on what it stands.

    wires: all of them, in the order of the sheets. live: source -> wires it reaches past no fuse.
    """

    fuses: Mapping[str, Fuse]
    sources: tuple[Source, ...]
    wires: tuple[str, ...]
    live: tuple[tuple[Source, frozenset[str]], ...]
    sides: tuple[Side, ...]

    def unfused(self, wire: str, limit: WireLimit | None) -> tuple[Source, ...]:
        """The sources that count for a wire and reach it past no fuse."""
        return tuple(source for source, wires in self.live if wire in wires and feeds(source, limit))

    def fuses_before(self, wire: str, limit: WireLimit | None) -> tuple[str, ...]:
        """The fuses a wire lies behind; none where a battery reaches it another way."""
        if any(source.most_a is None for source in self.unfused(wire, limit)):
            return ()
        guarding = {
            side.fuse
            for side in self.sides
            if wire in side.wires and any(feeds(source, limit) for source in side.feeding)
        }
        return tuple(part for part in self.fuses if part in guarding)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Pieces:
    """Nodes that hang together past no fuse. of: node -> its piece.   beside: piece -> fuses, with what is beyond."""

    of: Mapping[int, int]
    beside: Mapping[int, Sequence[tuple[int, int]]]


def fused_of(scene: Scene, conduction: Conduction, limits: Mapping[str, WireLimit]) -> Fused:
    """What protects what in the car as the sheets have it.

    Args:
        limits: of the wires whose size is known; a source with a limit counts for a wire that stands less.
    """
    return fused_with(reach_of(scene, conduction), limits)


def reach_of(scene: Scene, conduction: Conduction) -> Reach:
    """Which sources and fuses reach which wires, whatever the wires stand."""
    fuses = {fuse.part: fuse for fuse in _fuses(scene)}
    sources = _sources(scene, conduction)
    opens = frozenset(fuse.element for fuse in fuses.values())
    ends = {name: scene.ends(scene.compiled.elements_of[name][0]) for name in scene.wires if _is_in(scene, name)}
    wires_at: dict[int, list[str]] = {}
    for name, pair in ends.items():
        if conduction.earth.isdisjoint(pair):
            for node in pair:
                wires_at.setdefault(node, []).append(name)
    live = [(source, _wires_in(region_of(conduction, source.node, opens), wires_at)) for source in sources]
    pieces = tuple(_pieces(conduction, opens, past_contacts=closed) for closed in (False, True))
    sides = [
        side for fuse in fuses.values() for side in _sides(scene, conduction, pieces, fuse, opens, sources, wires_at)
    ]
    return Reach(fuses=fuses, sources=sources, wires=tuple(ends), live=tuple(live), sides=tuple(sides))


def with_ratings(reach: Reach, scene: Scene) -> Reach:
    """The same in the car with other ratings in its fuses: what reaches what stays."""
    return replace(reach, fuses={fuse.part: fuse for fuse in _fuses(scene)})


def fused_with(reach: Reach, limits: Mapping[str, WireLimit]) -> Fused:
    """What protects what, once it is known what the wires stand."""
    unfused = {name: found for name in reach.wires if (found := reach.unfused(name, limits.get(name)))}
    fuses_of = {name: reach.fuses_before(name, limits.get(name)) for name in reach.wires}
    behind = {part: tuple(name for name in reach.wires if part in fuses_of[name]) for part in reach.fuses}
    return Fused(fuses=reach.fuses, sources=reach.sources, unfused=unfused, behind=behind, fuses_of=fuses_of)


def fed_without(scene: Scene, conduction: Conduction, fused: Fused, wire: str) -> frozenset[str]:
    """The wires that a source still reaches past no fuse once one of them is off."""
    opens = {fuse.element for fuse in fused.fuses.values()} | set(scene.compiled.elements_of[wire])
    regions = {source: region_of(conduction, source.node, opens) for source in fused.sources}
    return frozenset(
        name
        for name, sources in fused.unfused.items()
        if name != wire
        and any(
            _lies_in(conduction, regions[source], scene.ends(scene.compiled.elements_of[name][0])) for source in sources
        )
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


def _sides(
    scene: Scene,
    conduction: Conduction,
    pieces: Sequence[_Pieces],
    fuse: Fuse,
    opens: Collection[int],
    sources: tuple[Source, ...],
    wires_at: Mapping[int, Sequence[str]],
) -> Iterator[Side]:
    """The sides of a fuse that lie away from a source."""
    a, b = scene.ends(fuse.element)
    for near, far in ((a, b), (b, a)):
        feeding = _feeding(conduction, pieces, near, fuse.element, sources)
        if feeding:
            wires = _wires_in(region_of(conduction, far, opens), wires_at)
            yield Side(fuse=fuse.part, node=far, feeding=feeding, wires=wires)


def _feeding(
    conduction: Conduction, pieces: Sequence[_Pieces], near: int, fuse: int, sources: tuple[Source, ...]
) -> tuple[Source, ...]:
    """The sources that the near side of a fuse meets through any way but the fuse itself, other fuses included.

    Ways past no contact make sure of a source, and one that no way reaches, whatever is closed, is none; whether one
    state can close all contacts is asked only of what lies between.
    """
    if near in conduction.earth:
        return ()
    nodes = {source.node for source in sources}
    past_none, past_all = pieces
    sure = _joined(past_none, near, fuse, nodes)
    open_ones = nodes - sure
    if open_ones and _joined(past_all, near, fuse, open_ones):
        sure |= reached(
            conduction,
            (near,),
            through=lambda element: element != fuse,
            into=lambda other: other not in conduction.earth,
            until=open_ones,
        )
    return tuple(source for source in sources if source.node in sure)


def _pieces(conduction: Conduction, opens: Collection[int], *, past_contacts: bool) -> _Pieces:
    """What hangs together past no fuse and past earth none, each contact open or each closed."""
    piece_of: dict[int, int] = {}
    fuses: list[tuple[int, int, int]] = []
    for first in conduction.at:
        if first in piece_of or first in conduction.earth:
            continue
        piece_of[first] = first
        waiting = [first]
        while waiting:
            node = waiting.pop()
            for element, other in conduction.at[node]:
                if other in conduction.earth or (element in conduction.asks and not past_contacts):
                    continue
                if element in opens:
                    fuses.append((node, element, other))
                elif other not in piece_of:
                    piece_of[other] = first
                    waiting.append(other)
    beside: dict[int, list[tuple[int, int]]] = {}
    for node, element, other in fuses:
        beside.setdefault(piece_of[node], []).append((element, piece_of[other]))
    return _Pieces(of=piece_of, beside=beside)


def _joined(pieces: _Pieces, near: int, fuse: int, nodes: Collection[int]) -> set[int]:
    """Those of some nodes that ways but one fuse join with a node."""
    if near not in pieces.of:
        return {near}.intersection(nodes)
    found = {pieces.of[near]}
    waiting = list(found)
    while waiting:
        for element, piece in pieces.beside.get(waiting.pop(), ()):
            if piece not in found and element != fuse:
                found.add(piece)
                waiting.append(piece)
    return {node for node in nodes if pieces.of.get(node) in found}


def _wires_in(region: Collection[int], wires_at: Mapping[int, Sequence[str]]) -> frozenset[str]:
    """The wires with an end in a region."""
    return frozenset(name for node in region for name in wires_at.get(node, ()))


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
        ends = scene.ends(index)
        if element.law == Law.BATTERY and scene.vehicle.earth == "positive":
            ends = ends[::-1]  # of a battery high in a string neither post is earth, and minus is the live one
        nodes = [node for node in ends if node not in conduction.earth]
        if nodes:
            found.append(Source(part=element.part, node=nodes[0], most_a=_most_a(element)))
    return tuple(found)


def _most_a(element: Element) -> float | None:
    """What a source gives at most; None where nothing limits it. [A]"""
    if element.law != Law.CLAMP:
        return None
    return max(max(abs(row[2]), abs(row[3])) for row in element.figures)
