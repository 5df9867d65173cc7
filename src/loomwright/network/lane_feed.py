"""Which loads lie between a source and the earth, by wires, contacts and drivers, in many states side by side?

The first walk of `foreseen.feed` in plain numpy, and the same from the earth. What is fed on one side and earthed on
the other works; from that, as long as nothing else is known, follows the piece of its law a load lies on.

In: `Reach`, which live elements act. Out: of each load whether it works, one column a lane.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loomwright.network.arrays import Arrays, type_i
from loomwright.network.records import Law

__all__ = ["Feed", "feed_of", "working"]

type_bool = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Feed:
    """Sources with an island each, and what conducts with the islands it joins, both by their place among live
    elements; the island of each end of the loads; the earth's, which neither feeds nor is fed."""

    islands: int
    earth: int
    sources: tuple[tuple[int, int], ...]
    from_source: tuple[tuple[int, int, int], ...]
    from_earth: tuple[tuple[int, int, int], ...]
    loads: tuple[type_i, type_i]


def feed_of(arrays: Arrays, live_place: type_i, loads: type_i) -> Feed:
    """What feeding hangs on in a network."""
    reach = arrays.reach
    earth = int(reach.island[-1])
    places, sources, ends = live_place.tolist(), reach.source.tolist(), reach.end.tolist()
    islands = len(reach.ptr) - 1
    leads = []
    for island in range(islands):
        for k in range(reach.ptr[island], reach.ptr[island + 1]):
            element, other = int(reach.element[k]), int(reach.other[k])
            driver = arrays.law[element] == Law.CLAMP and arrays.figures[arrays.row[element], 1] == 0.0
            if (reach.leads[k] or driver) and island < other:
                leads.append((places[element], island, other))
    fed = tuple((places[e], end) for e, end in zip(sources, ends, strict=True) if end != earth)
    return Feed(
        islands=islands,
        earth=earth,
        sources=fed,
        from_source=_outwards(leads, {end for _, end in fed}, earth),
        from_earth=_outwards(leads, {earth}, -1),
        loads=(reach.island[arrays.from_step[loads]], reach.island[arrays.to_step[loads]]),
    )


def working(feed: Feed, acts: type_bool) -> type_bool:
    """Which loads are fed at their first end and earthed at their other, one column a lane."""
    fed, earthed = (np.zeros((feed.islands, acts.shape[1]), bool) for _ in range(2))
    for place, island in feed.sources:
        fed[island] |= acts[place]
    _walk(feed.from_source, acts, fed)
    earthed[feed.earth] = True
    _walk(feed.from_earth, acts, earthed)
    first, second = feed.loads
    found: type_bool = fed[first] & earthed[second] & ~fed[second]
    return found


def _walk(leads: tuple[tuple[int, int, int], ...], acts: type_bool, found: type_bool) -> None:
    """Mark what hangs together with what is marked, there and back: nearly all of it."""
    row_of, on, shared = list(found), list(acts), np.empty(acts.shape[1], bool)
    for way in (leads, leads[::-1]):
        for place, one, other in way:
            np.logical_or(row_of[one], row_of[other], shared)
            np.logical_and(shared, on[place], shared)
            np.logical_or(row_of[one], shared, row_of[one])
            np.logical_or(row_of[other], shared, row_of[other])


def _outwards(leads: list[tuple[int, int, int]], begin: set[int], never: int) -> tuple[tuple[int, int, int], ...]:
    """What conducts, in the order in which a walk from some islands meets it; it never goes on from one of them."""
    met, ahead, found = set(begin), sorted(begin), []
    beside: dict[int, list[tuple[int, int, int]]] = {}
    for lead in leads:
        for end in lead[1:]:
            beside.setdefault(end, []).append(lead)
    known = set()
    while ahead:
        here = ahead.pop(0)
        for lead in beside.get(here, ()):
            if never in lead[1:]:
                continue
            if lead not in known:
                known.add(lead)
                found.append(lead)
            there = lead[1] + lead[2] - here
            if there not in met:
                met.add(there)
                ahead.append(there)
    return tuple(found)
