"""What is the shortest way along the runs from one place to another, through what has to be passed?

    cost of a way = (weighed length, number of runs, ids of the runs in order)

Weighed is the length, more where a run passes harm (`run_map`). The least cost wins, so of ways of equal length the
one of fewest runs is taken, then the one whose first differing run comes first by its id. Weighed length and number of
runs make one whole number a run, and a search outward from each place that is asked for (Dijkstra's) gives the distance
of every other; the way is then walked towards it, taking at each place the first run that lies on a shortest way. A way
is the same in both directions: it is worked out from the place that comes first by its id.

What has to be passed is a row of runs and places. Between two of them the way is a shortest one; a run may be followed
in either direction, and whichever makes the whole shorter is taken. Out along a run and back again is a way.

Source: Dijkstra's search is scipy's; sums of whole numbers are exact, so nothing is lost in rounding.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise, product
from math import isfinite

import numpy as np
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra

from loomwright.findings import id_order
from loomwright.routes.run_map import HUNDREDTHS, RunMap, Stretch

__all__ = ["Asked", "Way", "shortest_ways", "ways_through"]

Pair = tuple[str, str]
Asked = tuple[str, tuple[str, ...], str]
"""From a place, through runs or places, to a place."""

Step = tuple[int, str, Stretch]
"""What following a run from a place costs, where it leads, and the run."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """A way along the runs. places: one more than runs.   hundredths: its length in hundredths of a millimetre. [-]

    ranks: places of its runs in the order of ids.   weighed: what its runs count as. [-]
    """

    runs: tuple[str, ...]
    places: tuple[str, ...]
    hundredths: int
    ranks: tuple[int, ...]
    weighed: int

    @property
    def along_mm(self) -> float:
        """Its length. [mm]"""
        return self.hundredths / HUNDREDTHS

    @property
    def cost(self) -> tuple[int, int, tuple[int, ...]]:
        """What the least of is taken."""
        return self.weighed, len(self.runs), self.ranks

    def then(self, other: Way) -> Way:
        """This way and on along another that begins where it ends."""
        return Way(
            runs=self.runs + other.runs,
            places=self.places + other.places[1:],
            hundredths=self.hundredths + other.hundredths,
            ranks=self.ranks + other.ranks,
            weighed=self.weighed + other.weighed,
        )

    def back(self) -> Way:
        """The same way from its end."""
        return Way(
            runs=self.runs[::-1],
            places=self.places[::-1],
            hundredths=self.hundredths,
            ranks=self.ranks[::-1],
            weighed=self.weighed,
        )


Stage = tuple[Way, ...]
"""One thing to be passed, each as a way of its own: a place, or a run in one direction or the other."""


def shortest_ways(runs: RunMap, pairs: Iterable[Pair]) -> dict[Pair, Way]:
    """The shortest way for each pair of places; pairs that no runs join are left out.

    Example:
        >>> from loomwright.job.job import Job
        >>> from loomwright.job.rows import Run
        >>> from loomwright.routes.run_map import run_map
        >>> rows = [("R1", "a", "b", 300.0), ("R2", "b", "c", 200.0), ("R3", "a", "c", 600.0)]
        >>> runs = tuple(Run(id=name, from_=one, to=other, length_mm=long) for name, one, other, long in rows)
        >>> way = shortest_ways(run_map(Job(runs=runs)), [("a", "c")])["a", "c"]
        >>> way.runs, way.places, way.along_mm
        (('R1', 'R2'), ('a', 'b', 'c'), 500.0)
    """
    wanted = set(pairs)
    rank = {name: number for number, name in enumerate(sorted({p for pair in wanted for p in pair}, key=_order))}
    towards: dict[str, set[str]] = {}
    for a, b in wanted:
        first, last = (a, b) if rank[a] <= rank[b] else (b, a)
        towards.setdefault(last, set()).add(first)
    # a run costs its length, then one: more than all runs of a way together can add up to is one step of length
    scale = len(runs.at) + 1
    distances, steps = _distances(runs, scale, towards), _steps(runs, scale)
    found: dict[Pair, Way] = {}
    for last, firsts in towards.items():
        distance = distances[last]
        for first in firsts:
            if first in distance:
                way = _walk(steps, distance, first, last, scale)
                found[first, last] = way
                found[last, first] = way.back()
    return {pair: found[pair] for pair in wanted if pair in found}


def ways_through(runs: RunMap, asked: Iterable[Asked]) -> dict[Asked, Way]:
    """The shortest way for each question; those that cannot be followed are left out."""
    questions = {each: _stages(runs, each) if each[1] else () for each in asked}
    legs = [(first, last) for first, via, last in questions if not via]
    legs += [pair for stages in questions.values() for pair in _legs(stages)]
    ways = shortest_ways(runs, legs)
    found = {
        each: _through(stages, ways) if stages else ways.get((each[0], each[2])) for each, stages in questions.items()
    }
    return {each: way for each, way in found.items() if way is not None}


def _stages(runs: RunMap, asked: Asked) -> tuple[Stage, ...]:
    first, via, last = asked
    return (_place(first), *(_stage(runs, name) for name in via), _place(last))


def _stage(runs: RunMap, name: str) -> Stage:
    if name in runs.unmeasured:
        return ()
    stretch = runs.stretches.get(name)
    if stretch is None:
        return _place(name)
    along = _of_run(stretch)
    return (along,) if stretch.one == stretch.other else (along, along.back())


def _place(name: str) -> Stage:
    return (Way(runs=(), places=(name,), hundredths=0, ranks=(), weighed=0),)


def _of_run(stretch: Stretch) -> Way:
    return Way(
        runs=(stretch.run,),
        places=(stretch.one, stretch.other),
        hundredths=stretch.hundredths,
        ranks=(stretch.rank,),
        weighed=stretch.weighed,
    )


def _legs(stages: Sequence[Stage]) -> Iterator[Pair]:
    for before, after in pairwise(stages):
        yield from ((a.places[-1], b.places[0]) for a, b in product(before, after))


def _through(stages: Sequence[Stage], ways: Mapping[Pair, Way]) -> Way | None:
    """The cheapest way that passes the stages in order."""
    so_far: list[Way] = list(stages[0])
    for stage in stages[1:]:
        reached = []
        for step in stage:
            ends = [(before, ways.get((before.places[-1], step.places[0]))) for before in so_far]
            whole = [before.then(leg).then(step) for before, leg in ends if leg is not None]
            if whole:
                reached.append(min(whole, key=lambda way: way.cost))
        so_far = reached
    return min(so_far, key=lambda way: way.cost, default=None)


def _distances(runs: RunMap, scale: int, lasts: Iterable[str]) -> dict[str, Mapping[str, int]]:
    """For each place that is asked for, the cost of the way to every other that runs join it with.

    Of several runs between two places the shortest counts here; the walk looks at all.
    """
    number = {place: at for at, place in enumerate(runs.at)}
    found: dict[str, Mapping[str, int]] = {last: {last: 0} for last in lasts}
    asked = [last for last in found if last in number]
    if not asked:
        return found
    least: dict[tuple[int, int], int] = {}
    for stretch in runs.stretches.values():
        one, other = sorted((number[stretch.one], number[stretch.other]))
        if one != other:
            least[one, other] = min(_cost(stretch, scale), least.get((one, other), _cost(stretch, scale)))
    ends = np.array(list(least), dtype=np.int64).reshape(-1, 2)
    # whole numbers below 2^53 add up exactly as they are held here: ten thousand runs of 100 m, each counted fourfold
    costs = np.array(list(least.values()), dtype=np.float64)
    joined = csr_array((costs, (ends[:, 0], ends[:, 1])), shape=(len(number), len(number)))
    far = dijkstra(joined, directed=False, indices=[number[last] for last in asked])
    for last, row in zip(asked, far.tolist(), strict=True):
        found[last] = {place: int(cost) for place, cost in zip(number, row, strict=True) if isfinite(cost)}
    return found


def _steps(runs: RunMap, scale: int) -> dict[str, list[Step]]:
    """What each place can be left by, the first run by id first; a run back to its own place leads nowhere."""
    return {
        place: [
            (_cost(stretch, scale), stretch.beyond(place), stretch)
            for stretch in stretches
            if stretch.one != stretch.other
        ]
        for place, stretches in runs.at.items()
    }


def _walk(steps: Mapping[str, Sequence[Step]], distance: Mapping[str, int], first: str, last: str, scale: int) -> Way:
    """The way from one place to another whose distance from every place is known, the first run by id at each."""
    place, left, taken, places = first, distance[first], [], [first]
    while place != last:
        cost, place, stretch = next(step for step in steps[place] if step[0] + distance[step[1]] == left)
        left -= cost
        taken.append(stretch)
        places.append(place)
    return Way(
        runs=tuple(one.run for one in taken),
        places=tuple(places),
        hundredths=sum(one.hundredths for one in taken),
        ranks=tuple(one.rank for one in taken),
        weighed=distance[first] // scale,
    )


def _cost(stretch: Stretch, scale: int) -> int:
    return stretch.weighed * scale + 1


def _order(name: str) -> tuple[object, ...]:
    return id_order(name), name
