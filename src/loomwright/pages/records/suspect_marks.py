"""Where are the suspects of the fault finder, on a circuit's drawing and on the car plan?

What is suspected travels in the address as `1.W12 2.F3`: the rank of its group, and the wire or part. On a drawing it
is struck through, with its rank in a ring beside; on the plan the ring stands on its place, or on the runs of its wire.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from markupsafe import escape

from loomwright.car import Car
from loomwright.drawings.screens import Screen, Touched
from loomwright.pages.records.plan_view import DrawnPlace, View
from loomwright.proving.locate import SuspectGroup

__all__ = [
    "NO_SUSPECTS",
    "PlanMark",
    "SuspectLine",
    "struck",
    "suspect_lines",
    "suspects_of_address",
    "suspects_text",
    "view_marks",
]

NO_SUSPECTS: Mapping[str, int] = MappingProxyType({})
_MOST_GROUPS, _MOST_EACH = 5, 12
_LEAST = 0.005
_RING_MM = 2.0
_SYMBOL_MM = 2.4
"""A symbol stands at the left of its words; half its width, typical [mm]."""
_STRIKE_MM = 3.2
_BESIDE = 13.0
"""From a place's dot to the middle of its ring, in units of the drawing: a little more than its radius. [-]"""
_ALONG = 0.28
"""How far along its run a ring stands: names stand about the middle. [0..1]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanMark:
    """A ring on the plan. says: the ranks in it.   x, y: in units of the drawing. [-]"""

    x: float
    y: float
    says: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SuspectLine:
    """One rank and its things. rank: 1 is the likeliest group. [-]"""

    rank: int
    things: tuple[str, ...]


def suspects_text(groups: Sequence[SuspectGroup]) -> str:
    """The likeliest groups as an address carries them; empty where nothing is suspected."""
    told: dict[str, int] = {}
    likely = [one for one in groups[:_MOST_GROUPS] if one.odds >= _LEAST]
    for rank, group in enumerate(likely, start=1):
        names = dict.fromkeys(_hand(one.kind, one.at) for one in group.suspects if one.at)
        for thing in [name for both in names for name in both][:_MOST_EACH]:
            told.setdefault(thing, rank)
    return " ".join(f"{rank}.{thing}" for thing, rank in told.items())


def suspects_of_address(text: str) -> Mapping[str, int]:
    """Thing -> its rank; what is no rank and a thing is left out.

    Example:
        >>> dict(suspects_of_address("1.W12 2.F3 nonsense"))
        {'W12': 1, 'F3': 2}
    """
    found: dict[str, int] = {}
    for word in text.split():
        rank, _, thing = word.partition(".")
        if rank.isdigit() and thing:
            found.setdefault(thing, int(rank))
    return found


def suspect_lines(suspects: Mapping[str, int]) -> tuple[SuspectLine, ...]:
    """The suspects by rank."""
    ranks = sorted(set(suspects.values()))
    return tuple(
        SuspectLine(rank=rank, things=tuple(name for name, one in suspects.items() if one == rank)) for rank in ranks
    )


def struck(screen: Screen, suspects: Mapping[str, int]) -> str:
    """The marks of a sheet as SVG: each suspect struck through, its rank in a ring."""
    pieces = []
    for one in screen.things:
        if one.about in suspects:
            x, y = _middle(one)
            rank = suspects[one.about]
            pieces.append(
                f'<g class="suspect"><title>{escape(one.about)}: suspect {rank}</title>'
                f'<path d="M{x - _STRIKE_MM:g} {y + _STRIKE_MM:g}L{x + _STRIKE_MM:g} {y - _STRIKE_MM:g}'
                f'M{x - _STRIKE_MM:g} {y - _STRIKE_MM:g}L{x + _STRIKE_MM:g} {y + _STRIKE_MM:g}"/>'
                f'<circle cx="{x - 2 * _RING_MM:g}" cy="{y - 2 * _RING_MM:g}" r="{_RING_MM:g}"/>'
                f'<text x="{x - 2 * _RING_MM:g}" y="{y - 2 * _RING_MM + 0.9:g}" font-size="2.6" text-anchor="middle">'
                f"{rank}</text></g>"
            )
    return "".join(pieces)


def view_marks(car: Car, view: View, suspects: Mapping[str, int]) -> tuple[PlanMark, ...]:
    """The rings of a view: parts at their places, wires on their runs, at their ends where they follow none."""
    places = {one.place: _beside(one) for one in view.places}
    runs = {one.run: (one.x1 + _ALONG * (one.x2 - one.x1), one.y1 + _ALONG * (one.y2 - one.y1)) for one in view.runs}
    parts = {part.id: part.place for part in car.job.parts}
    wires = {wire.id: wire for wire in car.filled.wires}
    found: dict[tuple[float, float], set[int]] = {}
    for thing, rank in suspects.items():
        spots: Iterable[tuple[float, float] | None]
        if thing in wires:
            way = car.routes.wires.get(thing)
            spots = [runs.get(run) for run in way.runs] if way is not None else []
            if not any(spots):
                ends = (wires[thing].from_, wires[thing].to)
                spots = [places.get(parts.get(end.split(".")[0], "")) for end in ends]
        else:
            spots = [places.get(parts.get(thing, ""))]
        for spot in spots:
            if spot is not None:
                found.setdefault(spot, set()).add(rank)
    return tuple(
        PlanMark(x=round(x, 1), y=round(y, 1), says=" ".join(map(str, sorted(ranks))))
        for (x, y), ranks in found.items()
    )


def _beside(place: DrawnPlace) -> tuple[float, float]:
    """Where the ring of a place stands: beside its dot, on the side its name does not take. [-]"""
    if place.anchor == "middle":
        return place.x, place.y + (_BESIDE if place.label_y < place.y else -_BESIDE)
    return place.x + (-_BESIDE if place.anchor == "start" else _BESIDE), place.y


def _hand(kind: str, at: tuple[str, ...]) -> tuple[str, ...]:
    """The wires and parts a hand is put to: both of two that touch or have changed places, both of a pair."""
    return tuple(name.split(".")[0] for name in (at if kind in ("neighbour", "swapped", "two at once") else at[:1]))


def _middle(one: Touched) -> tuple[float, float]:
    """Where a thing is struck: on a part's symbol, in the middle of a wire's longest stretch."""
    if len(one.points_mm) < 2:
        return one.left_mm + min(one.wide_mm / 2.0, _SYMBOL_MM), one.top_mm + one.high_mm / 2.0
    pairs = list(zip(one.points_mm, one.points_mm[1:], strict=False))
    (x1, y1), (x2, y2) = max(pairs, key=lambda pair: abs(pair[0][0] - pair[1][0]) + abs(pair[0][1] - pair[1][1]))
    return (x1 + x2) / 2.0, (y1 + y2) / 2.0
