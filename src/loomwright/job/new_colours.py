"""Which colour does a new wire take? That which the sheets give to what it leads; they are the shop's colour code.

    earth        it ends at an earth point or a piece of metal: as most wires to earth do
    carries on   wires end already where it ends, at one point or anywhere on a busbar or splice: as most of those do
    feed         it leaves a busbar, or leads to 30 of a relay with its other end open: as most wires on busbars do;
                 from a fuse to 30 of a relay: their base, with a tracer
    leg          else the base that most wires of its circuit have behind its feed, with a tracer that no wire has yet:
                 a circuit keeps its base, and the tracer tells its legs apart

Where no wire of the sheets says anything, earth is brown and a feed red, as the recipes have them; a leg stays blank.

Source: that one circuit keeps one base colour, and a return is brown, is common practice, no source; so is red for what
is always live.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable
from dataclasses import replace

from loomwright.job.job import Job
from loomwright.job.points import split_point
from loomwright.job.rows import Wire
from loomwright.tables.limits import COLOURS

__all__ = ["with_colours"]

_METALS = ("body", "engine", "gearbox", "axle")
_JOINED = ("busbar", "splice")
_EARTH, _FEED = "BN", "RD"
_FED = "30"
"""The terminal that is always live (DIN 72552), of a relay its common contact."""
_NO_TRACER = ("GNYE", "GD", "SR")
"""Colours that are no tracer on a wire of a car: one is two colours already, two are those of bare metal."""


def with_colours(job: Job, new: Collection[str]) -> Job:
    """The job in which new wires without a colour have one; each sees those that came before it.

    Args:
        new: ids of the new wires.
    Example:
        >>> old = Wire(id="W1", circuit="pump", from_="K1.87", to="P1.+", colour="GN/WH")
        >>> more = Wire(id="W2", circuit="pump", from_="P1.-", to="body"), Wire(id="W3", from_="S1.1", to="P1.+")
        >>> [wire.colour for wire in with_colours(Job(wires=(old, *more)), ("W2", "W3")).wires]
        ['GN/WH', 'BN', 'GN/WH']
    """
    wires = list(job.wires)
    kinds = {part.id: part.kind for part in job.parts}
    for number, wire in enumerate(wires):
        if wire.id in new and not wire.colour:
            wires[number] = replace(wire, colour=_colour_of(wire, replace(job, wires=tuple(wires)), kinds))
    return replace(job, wires=tuple(wires))


def _earths(job: Job) -> set[str]:
    """Earth points and pieces of metal."""
    points = (part.id for part in job.parts if part.kind == "earth_point")
    return {*_METALS, *(metal.id for metal in job.metals), *points}


def _coloured(job: Job) -> list[Wire]:
    return [one for one in job.wires if one.colour and one.fitted != "removed"]


def _colour_of(wire: Wire, job: Job, kinds: dict[str, str]) -> str:
    others, earths = _coloured(job), _earths(job)
    returns = _most(one.colour for one in others if {*_parts(one)} & earths) or _EARTH
    if {*_parts(wire)} & earths:
        return returns
    ends = [_joined(point, kinds) for point in (wire.from_, wire.to) if point]
    carried = _most(one.colour for one in others if {_joined(one.from_, kinds), _joined(one.to, kinds)} & set(ends))
    if carried:
        return carried
    on_bars = [one for one in others if any(kinds.get(end) == "busbar" for end in _parts(one))]
    feed = _most(one.colour for one in on_bars) or _FEED
    if any(kinds.get(split_point(end)[0]) == "busbar" for end in ends):
        return feed
    if any(split_point(end)[1] == _FED for end in ends):
        if len(ends) == 1:
            return feed
        if any(kinds.get(split_point(end)[0]) == "fuse" for end in ends):
            return _leg(feed.partition("/")[0], (), {one.colour for one in others})
    feeds = [*on_bars, *(one for one in others if _FED in (split_point(one.from_)[1], split_point(one.to)[1]))]
    own = (one for one in others if one.circuit == wire.circuit and one not in feeds)
    legs = [one.colour for one in own if one.colour != returns]
    return _leg(_most(colour.partition("/")[0] for colour in legs), legs, {one.colour for one in others})


def _joined(point: str, kinds: dict[str, str]) -> str:
    """A point, or the whole part where all its terminals are one."""
    part = split_point(point)[0]
    return part if kinds.get(part) in _JOINED else point


def _parts(wire: Wire) -> tuple[str, str]:
    return split_point(wire.from_)[0], split_point(wire.to)[0]


def _most(colours: Iterable[str]) -> str:
    """The colour that is there most often, the first by its code of several; empty where there is none."""
    counted = Counter(colours)
    return min(counted, key=lambda colour: (-counted[colour], colour), default="")


def _leg(base: str, legs: Collection[str], taken: Collection[str]) -> str:
    if not base:
        return ""
    fresh = [f"{base}/{code}" for code in COLOURS if code not in (base, *_NO_TRACER)]
    return next((one for one in fresh if one not in taken), next((one for one in fresh if one not in legs), base))
