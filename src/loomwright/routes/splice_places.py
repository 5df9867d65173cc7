"""Where does each splice take the least copper, of the places where it may lie?

    copper = sum over its wires of   size x length of the way along the runs from the splice to the wire's other end

A wire's way is that of `ways`, so what harm counts in a route counts here; its copper is that of the length it has. The
sum along a run is least at one of its ends, so places suffice, and where a place will not do the nearest spot beside it
(`splice_ground`). Splices that a wire joins are placed together: along a tree of them by the least sum from the leaves
inward, which is the least there is; round a ring one after the other until none moves, and it is told as not proved.

Only new splices move, and none at which a wire is cut or taken off. One that could lie as well where it is stays.
Limits: ends at metals go to the nearest bolt wherever the splice lies, so they weigh nothing; sizes as they stand,
blank ones as the thinnest of their class; a splice takes no room in the bundle.
Source: worked out; copper by `copper_g_per_mm3`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import networkx as nx

from loomwright.findings import id_order
from loomwright.job.decided import cut_wires, with_decided
from loomwright.job.job import Job
from loomwright.job.points import Kinds, split_point
from loomwright.job.rows import Part, Wire
from loomwright.quantities.printing import for_print
from loomwright.routes.end_places import Ends, ends_of
from loomwright.routes.run_cut import place_within, with_run_cut
from loomwright.routes.splice_ground import SpliceGround, Spot, splice_ground
from loomwright.routes.ways import Asked, ways_through
from loomwright.tables.constants import constant
from loomwright.tables.limits import least_size_mm2

__all__ = ["PassedOver", "SplicePlace", "splice_places", "splice_says", "with_splices_placed"]

_PLAIN_CLASS = "supply"
_SPLICE = "splice"
_HERE = "\nsplice "
_SAME_G = 1e-6
_ROUNDS = 50
_TOLD = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class PassedOver:
    """A spot that would take less copper and will not do. copper_g: there, the others as they are chosen. [g]"""

    spot: str
    copper_g: float
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SplicePlace:
    """One splice. now: its place; empty where none is given.   now_g: copper of its wires from there. [g]

    now_barred: why it may not lie where it is.   best: where it takes least; None where no spot will do.
    best_g: copper of its wires from there. [g]   wires: that lead along the runs.   passed_over: the best of those.
    frozen: why it stays where it is; empty where it may move.   is_proved: no spot takes less.
    """

    splice: str
    now: str
    now_g: float | None
    now_barred: str
    best: Spot | None
    best_g: float | None
    wires: tuple[str, ...]
    passed_over: tuple[PassedOver, ...]
    frozen: str
    is_proved: bool

    @property
    def moves(self) -> bool:
        """Whether it is better laid somewhere else than where it is."""
        return self.best is not None and not self.frozen and self.best.called != self.now


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Pull:
    """A wire at a splice: to a place, through what must be passed, or to another splice; grams a hundredth of a mm."""

    wire: str
    to: str
    via: tuple[str, ...]
    other: str
    weight: float


def splice_places(job: Job, kinds: Kinds) -> tuple[SplicePlace, ...]:
    """Where each splice that is not removed takes the least copper, in order of id.

    Args:
        job: as the sheets have it; kept decisions give sizes where the sheets give none.
        kinds: the library's and the job's own.
    """
    ground = splice_ground(job)
    parts = {p.id: p for p in sorted(job.parts, key=_order) if p.kind == _SPLICE and p.fitted != "removed"}
    frozen = {name: _frozen(job, part) for name, part in parts.items()}
    pulls = _pulls(job, kinds, {name: part for name, part in parts.items() if not frozen[name]})
    grams = _Grams(ground, pulls)
    chosen: dict[str, Spot | None] = {}
    proved: dict[str, bool] = {}
    links: nx.Graph[str] = nx.Graph()
    links.add_nodes_from(pulls)
    links.add_edges_from((name, pull.other) for name, row in pulls.items() for pull in row if pull.other)
    for group in nx.connected_components(links):
        names = sorted(group, key=lambda name: (id_order(name), name))
        found, is_best = _together(grams, links.subgraph(names), {name: parts[name] for name in names})
        chosen |= found
        proved |= dict.fromkeys(names, is_best)
    return tuple(
        _record(grams, part, frozen[name], chosen.get(name), chosen, is_proved=proved.get(name, False))
        for name, part in parts.items()
    )


def with_splices_placed(job: Job, found: Iterable[SplicePlace]) -> Job:
    """The job with every splice at its best place; one that is best within a run gets a place there (`run_cut`)."""
    to: dict[str, str] = {}
    for one in found:
        if not one.moves or one.best is None:
            continue
        spot = one.best
        place = spot.place or place_within(job, spot.run, beyond=spot.beyond, apart_mm=spot.apart_mm)
        if not place:
            job = with_run_cut(job, spot.run, beyond=spot.beyond, apart_mm=spot.apart_mm)
            place = place_within(job, spot.run, beyond=spot.beyond, apart_mm=spot.apart_mm)
        if place:
            to[one.splice] = place
    return replace(job, parts=tuple(replace(p, place=to[p.id]) if p.id in to else p for p in job.parts))


def splice_says(one: SplicePlace) -> str:
    """Where a splice is best laid and why, in words with its figures."""
    if one.frozen:
        return f"stays at {one.now or 'no place'}: {one.frozen}."
    if one.best is None or one.best_g is None:
        why = f" ({one.now_barred})" if one.now_barred else ""
        return f"no place where it may lie is joined to all its wires by runs{why}: add the run that is missing."
    best = f"{for_print(one.best_g, side='up')} g of copper for {' '.join(one.wires)}"
    if not one.moves:
        says = f"stays at {one.now}, {best}; nowhere that will do takes less"
    else:
        was = "it has no place" if not one.now else f"{one.now} takes {_copper(one.now_g)}"
        says = f"{one.best.called}, {best}; {was}" + (f" and will not do: {one.now_barred}" if one.now_barred else "")
    over = next((each for each in one.passed_over if each.spot != one.now), None)
    if over is not None:
        says += f". {over.spot} would take {for_print(over.copper_g, side='up')} g and will not do: {over.why}"
    return says + (
        "." if one.is_proved else ". Splices that wires join in a ring: tried one after the other, not proved."
    )


def _copper(copper_g: float | None) -> str:
    return "nobody knows how much" if copper_g is None else f"{for_print(copper_g, side='up')} g"


class _Grams:
    """Copper between spots, each way asked once."""

    def __init__(self, ground: SpliceGround, pulls: Mapping[str, Sequence[_Pull]]) -> None:
        self.ground, self.pulls = ground, pulls
        asked: list[Asked] = []
        spots = tuple(ground.spots)
        for row in pulls.values():
            for pull in row:
                ends = spots if pull.other else (pull.to,)
                asked += [(spot, pull.via, end) for spot in spots for end in ends]
        self.ways = ways_through(ground.runs, dict.fromkeys(asked))

    def of(self, pull: _Pull, spot: str, end: str) -> float:
        """Of one wire from a spot to another; `inf` where no runs join them. [g]"""
        way = self.ways.get((spot, pull.via, end))
        return float("inf") if way is None else pull.weight * way.hundredths

    def alone(self, splice: str, spot: str) -> float:
        """Of a splice's wires to what does not move. [g]"""
        return sum(self.of(pull, spot, pull.to) for pull in self.pulls[splice] if not pull.other)

    def between(self, splice: str, spot: str, other: str, there: str) -> float:
        """Of the wires from a splice to another, each at a spot. [g]"""
        return sum(self.of(pull, spot, there) for pull in self.pulls[splice] if pull.other == other)

    def all_of(self, splice: str, spot: str, where: Mapping[str, Spot | None]) -> float:
        """Of all wires of a splice at a spot, other splices where they are chosen. [g]"""
        joined = dict.fromkeys(pull.other for pull in self.pulls[splice] if pull.other)
        found = self.alone(splice, spot)
        for other in joined:
            there = where.get(other)
            found += float("inf") if there is None else self.between(splice, spot, other, there.node)
        return found


def _together(grams: _Grams, links: nx.Graph[str], parts: Mapping[str, Part]) -> tuple[dict[str, Spot | None], bool]:
    """Spots for splices that wires join, and whether they are the best there are."""
    may = {name: _may(grams.ground, part) for name, part in parts.items()}
    if not all(may.values()):
        return dict.fromkeys(parts, None), False
    if nx.is_tree(links):
        found = _tree(grams, links, parts, may)
        return found, True
    where: dict[str, Spot | None] = {
        name: min(may[name], key=lambda spot, name=name: (grams.alone(name, spot.node), _rank(spot, parts[name])))  # type: ignore[misc]
        for name in parts
    }
    for _ in range(_ROUNDS):
        before = dict(where)
        for name, part in parts.items():
            where[name] = min(
                may[name],
                key=lambda spot, name=name, part=part: (grams.all_of(name, spot.node, where), _rank(spot, part)),  # type: ignore[misc]
            )
        if where == before:
            break
    return where, False


def _tree(
    grams: _Grams, links: nx.Graph[str], parts: Mapping[str, Part], may: Mapping[str, Sequence[Spot]]
) -> dict[str, Spot | None]:
    """The least sum from the leaves inward, then outward again with what was chosen."""
    root = next(iter(parts))
    inward = list(nx.dfs_postorder_nodes(links, root))
    above = dict(nx.dfs_predecessors(links, root))
    least: dict[str, dict[str, float]] = {}
    picks: dict[str, dict[str, Spot]] = {}
    for name in inward:
        below = [other for other in links[name] if above.get(other) == name]
        least[name] = {
            spot.node: grams.alone(name, spot.node) + sum(least_at[spot.node] for least_at in (least[b] for b in below))
            for spot in may[name]
        }
        if name == root:
            break
        # what this branch takes, and where it then lies, for each spot of the splice above it
        own, upward, to = least[name], above[name], {}
        picked: dict[str, Spot] = {}
        for there in may[upward]:
            cost = {s.node: own[s.node] + grams.between(name, s.node, upward, there.node) for s in may[name]}
            picked[there.node] = min(may[name], key=lambda s, cost=cost: (_step(cost[s.node]), _rank(s, parts[name])))  # type: ignore[misc]
            to[there.node] = cost[picked[there.node].node]
        least[name], picks[name] = to, picked
    where: dict[str, Spot | None] = {
        root: min(may[root], key=lambda s: (_step(least[root][s.node]), _rank(s, parts[root])))
    }
    for name in reversed(inward[:-1]):
        upward_at = where[above[name]]
        where[name] = picks[name][upward_at.node] if upward_at is not None else None
    return where


def _step(copper_g: float) -> float:
    """Copper in steps below which one spot is as good as another. [g]"""
    return round(copper_g / _SAME_G) if copper_g < float("inf") else copper_g


def _rank(spot: Spot, part: Part) -> tuple[object, ...]:
    """Of spots that take the same: where it is, then places before spots within runs, then by id."""
    return spot.place != part.place, not spot.place, id_order(spot.place or spot.run), spot.node


def _may(ground: SpliceGround, part: Part) -> list[Spot]:
    sealed = part.settings.get("sealed", "no") == "yes"
    return [spot for spot in ground.spots.values() if not spot.bars(is_sealed=sealed)]


def _record(
    grams: _Grams,
    part: Part,
    frozen: str,
    best: Spot | None,
    where: Mapping[str, Spot | None],
    *,
    is_proved: bool,
) -> SplicePlace:
    sealed = part.settings.get("sealed", "no") == "yes"
    now = grams.ground.spots.get(part.place)
    pulls = grams.pulls.get(part.id, ())
    costs = {} if frozen else {spot: grams.all_of(part.id, spot, where) for spot in grams.ground.spots}
    best_g = None if best is None or not costs else costs[best.node]
    if best_g is not None and best_g == float("inf"):
        best, best_g = None, None
    over = []
    if best_g is not None:
        for node, copper_g in sorted(costs.items(), key=lambda one: (one[1], one[0])):
            spot = grams.ground.spots[node]
            why = spot.bars(is_sealed=sealed)
            if why and spot.place and copper_g < best_g - _SAME_G:
                over.append(PassedOver(spot=spot.called, copper_g=copper_g, why=why))
    return SplicePlace(
        splice=part.id,
        now=part.place,
        now_g=None if now is None or not costs or costs[now.node] == float("inf") else costs[now.node],
        now_barred="" if now is None else now.bars(is_sealed=sealed),
        best=best,
        best_g=best_g,
        wires=tuple(dict.fromkeys(pull.wire for pull in pulls)),
        passed_over=tuple(over[:_TOLD]),
        frozen=frozen,
        is_proved=is_proved and best is not None,
    )


def _frozen(job: Job, part: Part) -> str:
    """Why a splice stays where it is; empty where it may move."""
    if part.fitted != "new":
        return f"it is {part.fitted}, and stays where it is"
    cut = cut_wires(job)
    at = [wire.id for wire in job.wires if part.id in _parts(wire) and wire.fitted != "removed"]
    done = next((name for name in at if name in cut), "")
    if done:
        return f"{done} at it is cut already"
    return "" if at else "no wire ends at it"


def _pulls(job: Job, kinds: Kinds, movable: Mapping[str, Part]) -> dict[str, list[_Pull]]:
    """The wires at each splice that may move, by where they lead; those that lead nowhere known are left out."""
    filled = with_decided(job)
    marked = replace(
        filled,
        parts=tuple(replace(p, place=_HERE + p.id) if p.id in movable else p for p in filled.parts),
    )
    ends = ends_of(marked, kinds)
    classes = {circuit.id: circuit.class_ for circuit in job.circuits}
    per_mm3 = constant("copper_g_per_mm3") / 100.0
    found: dict[str, list[_Pull]] = {name: [] for name in movable}
    for wire in marked.wires:
        end = ends.get(wire.id)
        if not isinstance(end, Ends) or end.near == "bolt" or end.first == end.last:
            continue
        size_mm2 = wire.size_mm2 or least_size_mm2(classes.get(wire.circuit, "") or _PLAIN_CLASS)
        for here, there, via in ((end.first, end.last, wire.via), (end.last, end.first, wire.via[::-1])):
            name = here.removeprefix(_HERE)
            if name == here or name not in movable:
                continue
            other = there.removeprefix(_HERE)
            is_splice = other != there
            found[name].append(
                _Pull(
                    wire=wire.id,
                    to="" if is_splice else there,
                    via=via,
                    other=other if is_splice else "",
                    weight=size_mm2 * per_mm3,
                )
            )
    return found


def _parts(wire: Wire) -> tuple[str, str]:
    return split_point(wire.from_)[0], split_point(wire.to)[0]


def _order(part: Part) -> tuple[object, ...]:
    return id_order(part.id), part.id
