"""Which rating does every open fuse get: the least its loads allow, if the wires that are given stand it?

Worked out from the states of the car with provisional sizes, and once more in the car with the sizes that were chosen,
since a thicker wire lets a larger rush through.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from functools import partial

import numpy as np

from loomwright.job.air import air_at_places_c
from loomwright.sizing.demand import Demand, demand_of
from loomwright.sizing.fuse_asks import unguarded
from loomwright.sizing.fuse_choice import FuseAsk, asks_of, rush_met, started_together, usable
from loomwright.sizing.guarding import EQUAL
from loomwright.sizing.met import fuse_element
from loomwright.sizing.open_cells import OpenCells, OpenFuse, Unsettled
from loomwright.sizing.try_bench import TryBench
from loomwright.sizing.unsettled import given_too_thin, no_rating
from loomwright.states.asking.answers import Answers
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.search import answers_of
from loomwright.states.ratings.rating_ground import RatingGround
from loomwright.states.ratings.wire_limits import limits_of

__all__ = ["Asks", "around_c", "asks_at_first", "asks_in", "load_asks", "ratings_for", "wanted_a"]

Asks = Mapping[str, tuple[FuseAsk, ...]]
"""Fuse -> what each limit asks of it."""


def load_asks(scene: Scene, cells: OpenCells) -> dict[str, Callable[[float], float | None]]:
    """For each open fuse, the rating that a worst continuous current asks for."""
    return {
        part: partial(_for_load, fuse, around_c(scene, part))
        for part, fuse in cells.fuses.items()
        if part in scene.parts
    }


def _for_load(fuse: OpenFuse, ambient_c: float, amps: float) -> float | None:
    return next((rating for rating in fuse.ratings if usable(fuse, rating, ambient_c)[0] >= amps), None)


def asks_at_first(bench: TryBench) -> Asks:
    """What each limit asks of each open fuse, by all states that were solved."""
    return _asks(bench, bench.met.ground, bench.met.demand, bench.met.batches)


def asks_in(bench: TryBench, scene: Scene, asks: Asks) -> Asks:
    """The same in the car with a choice, in the states that were the worst before."""
    states = [ask.values for found in asks.values() for ask in found if ask.values is not None]
    if not states:
        return asks
    answers = answers_of(scene.compiled, np.unique(np.stack(states), axis=0))
    ground = bench.ground(scene)
    elements = [k for part in bench.cells.fuses if (k := fuse_element(scene, part)) is not None]
    return _asks(bench, ground, demand_of(ground, elements, [answers]), [answers])


def _asks(
    bench: TryBench, ground: RatingGround, demand: Demand, batches: Sequence[Answers]
) -> dict[str, tuple[FuseAsk, ...]]:
    """What each limit asks of each open fuse."""
    asks = {}
    started = started_together(ground.scene, ground.conduction) if bench.cells.fuses else ()
    for part, fuse in bench.cells.fuses.items():
        index = fuse_element(ground.scene, part)
        if index is not None:
            rush = rush_met(ground.scene, ground.conduction, bench.reach, bench.reach.fuses[part], batches, started)
            asks[part] = asks_of(fuse, demand.of(index), rush, around_c(ground.scene, part))
    return asks


def wanted_a(bench: TryBench, asks: Asks) -> dict[str, float]:
    """The least rating that every limit of a fuse allows; none where one of them allows none. [A]"""
    wanted: dict[str, float] = {}
    for part, found in asks.items():
        each = [ask.least_a for ask in found]
        if all(rating is not None for rating in each):
            least = bench.cells.fuses[part].ratings[0]
            wanted[part] = max((rating for rating in each if rating is not None), default=least)
    return wanted | dict(bench.cells.pinned.ratings_a)


def around_c(scene: Scene, part: str) -> float:
    """Around a part with the engine hot. [C]"""
    return air_at_places_c(scene.job).get(scene.parts[part].place, scene.vehicle.design_ambient_c)


def ratings_for(bench: TryBench, asks: Asks) -> tuple[dict[str, float], Scene, list[Unsettled]]:
    """The least rating of each fuse that its loads allow, the car with them, and fuses for which there is none."""
    ratings = wanted_a(bench, asks)
    unsettled = [
        no_rating(bench.cells, part, next(ask for ask in found if ask.least_a is None))
        for part, found in asks.items()
        if part not in ratings
    ]
    scene = bench.rated(ratings)
    conflicts = list(_conflicts(bench, scene, ratings.keys() - bench.cells.pinned.ratings_a.keys()))
    for part, _ in conflicts:
        ratings.pop(part, None)
    return ratings, bench.rated(ratings) if conflicts else scene, unsettled + [one for _, one in conflicts]


def _conflicts(bench: TryBench, scene: Scene, fuses: Collection[str]) -> Iterator[tuple[str, Unsettled]]:
    """Fuses whose least rating is more than a wire that is given stands."""
    given = {name: limit for name, limit in limits_of(scene).items() if name not in bench.cells.wires}
    guarding = bench.guarding(scene)
    told: set[str] = set()
    for limit in given.values() if fuses else ():
        for one in unguarded(guarding, limit):
            if one.by in fuses and one.by not in told and one.severity == "fault" and one.used_frac > EQUAL:
                told.add(one.by)
                rating_a = guarding.reach.fuses[one.by].rating_a or 0.0
                yield one.by, given_too_thin(one.by, rating_a, limit, one.rule)
