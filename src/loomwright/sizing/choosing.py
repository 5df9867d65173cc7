"""Which size for every blank wire and which rating for every blank fuse, chosen together?

    1. what the states ask: worst currents, ways that lose volts                        `met`
    2. each fuse: the least rating its loads allow                                      `rating_choice`, `fuse_choice`
    3. the wires: what class, heat and fuses allow, of that the least copper that       `wire_choice`, `volt_choice`
       keeps the volts, the car solved with it and every limit asked again
    4. the ratings again with these sizes; and where currents are no longer those of 1, all of it again

What the limits are: docs/method/sizing.md. Nothing is decided where no choice holds: then it is said why, and what
would mend it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from loomwright.job.job import Job
from loomwright.job.points import Kinds
from loomwright.network.build import build_network
from loomwright.network.compiled import compile_network
from loomwright.routes.records import Routes
from loomwright.sizing.fused import reach_of
from loomwright.sizing.met import Tell, met_by, wire_element
from loomwright.sizing.open_cells import OpenCells, Unsettled, open_cells, with_choice
from loomwright.sizing.provisional import provisional_mm2
from loomwright.sizing.rating_choice import Asks, around_c, asks_at_first, asks_in, load_asks, ratings_for, wanted_a
from loomwright.sizing.try_bench import TryBench
from loomwright.sizing.unsettled import no_class
from loomwright.sizing.wire_choice import WireChoice, choose_wires
from loomwright.sizing.wire_heat import hottest_limit
from loomwright.sizing.wire_ohms import wire_ohms
from loomwright.states.asking.scene import Scene, scene_of, scene_with

__all__ = ["STEPS_MOST", "Chosen", "choose"]

_ROUNDS_MOST = 5
_BEGINS_MOST = 3
STEPS_MOST = 2 * (_BEGINS_MOST + 1 + _BEGINS_MOST + 1)
"""Steps of a choice, the most: what the states ask and the sizes, each time it is made, roughly or in full [-]."""
_SHIFT_FRAC = 0.1
"""Of a current, by which it may differ from the one the choice was made with. [0..1]"""
_MANY_FRAC = 0.6
"""With more of its wires open than this a car is first brought near the answer by a few states. [0..1]"""
_COUNTS_A = 0.05
"""Smaller currents rule no size. [A]"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Chosen:
    """The choice and all it rests on.

    bench: the car and what its states ask. wires: the sizes, and the car with them. hottest: places of the open wires.
    sizes_mm2: of the open wires. [mm2]   ratings_a: of the open fuses. [A]   fuse_asks: what ruled these.
    fuse_c: around each. [C]
    """

    bench: TryBench
    wires: WireChoice
    hottest: Mapping[str, str]
    sizes_mm2: Mapping[str, float]
    ratings_a: Mapping[str, float]
    fuse_asks: Asks
    fuse_c: Mapping[str, float]
    unsettled: tuple[Unsettled, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Steps:
    """How far the choice is. Each time it is made is two steps: what the states ask, and the sizes.

    begun: times that are done, or need not be. [-]
    """

    told: Tell | None
    begun: int = 0

    def after(self, times: int) -> _Steps:
        """What is left once it was made some times more."""
        return replace(self, begun=self.begun + times)

    def ask(self) -> Tell | None:
        """Tells that the states are asked; gives what goes on telling it."""
        return self._begin(2 * self.begun)

    def size(self) -> Tell | None:
        """Tells that sizes are chosen; gives what goes on telling it."""
        return self._begin(2 * self.begun + 1)

    def end(self) -> None:
        """Tells that no more is to be done, though there might have been."""
        self._begin(STEPS_MOST)

    def _begin(self, done: int) -> Tell | None:
        if self.told is None:
            return None
        told = self.told
        told(done, STEPS_MOST)
        return lambda _done, _of: told(done, STEPS_MOST)


def choose(
    job: Job,
    kinds: Kinds,
    routes: Routes,
    *,
    look_at: Iterable[str] = (),
    begun: Scene | None = None,
    tell: Tell | None = None,
) -> Chosen:
    """The sizes and ratings for what is blank in a job.

    Args:
        job: as the sheets have it; kept decisions that are not frozen are made anew.
        kinds: the library's and the job's own.
        routes: of the same job.
        look_at: wires and fuses whose limits are asked for though their cell is typed: what stands there is kept.
        begun: the car with its blanks taken provisionally, where that is at hand.
        tell: called often, with steps done and `STEPS_MOST`; may raise Stopped.
    """
    cells = open_cells(job, kinds, routes, look_at)
    first = with_choice(cells.job, {**provisional_mm2(cells.job, kinds), **cells.pinned.sizes_mm2}, {})
    if begun is not None:
        scene = scene_with(begun, first, begun.compiled)
    else:
        scene = scene_of(first, kinds, compile_network(build_network(first, kinds)))
    steps = _Steps(told=tell)
    if len(cells.wires) > _MANY_FRAC * len(scene.wires):
        scene = _nearer(cells, kinds, routes, scene, steps)
    steps = steps.after(_BEGINS_MOST)
    chosen = _chosen(cells, kinds, routes, scene, steps)
    if _is_shifted(chosen):
        scene = _nearer(cells, kinds, routes, _with_sizes(scene, kinds, chosen), steps.after(1))
        chosen = _chosen(cells, kinds, routes, scene, steps.after(1 + _BEGINS_MOST))
    steps.end()
    return chosen


def _nearer(cells: OpenCells, kinds: Kinds, routes: Routes, scene: Scene, steps: _Steps) -> Scene:
    """The car with sizes so near the answer that its currents no longer change with them; by a few states only."""
    for number in range(_BEGINS_MOST):
        chosen = _chosen(cells, kinds, routes, scene, steps.after(number), roughly=True)
        if not _is_shifted(chosen):
            break
        scene = _with_sizes(scene, kinds, chosen)
    return scene


def _with_sizes(scene: Scene, kinds: Kinds, chosen: Chosen) -> Scene:
    """The car to begin with, in the sizes that were chosen."""
    job = with_choice(scene.job, chosen.wires.volts.sizes_mm2, {})
    return scene_of(job, kinds, compile_network(build_network(job, kinds)))


def _chosen(
    cells: OpenCells, kinds: Kinds, routes: Routes, scene: Scene, steps: _Steps, *, roughly: bool = False
) -> Chosen:
    """The choice by the currents of one car."""
    found = {name: hottest_limit(scene, scene.wires[name], routes) for name in cells.wires}
    limits = {name: one[0] for name, one in found.items() if one is not None}
    thinnest = {name: replace(limit, size_mm2=_thinnest(cells, name)) for name, limit in limits.items()}
    met = met_by(scene, thinnest, load_asks(scene, cells), steps.ask(), roughly=roughly)
    bench = TryBench(
        cells=cells,
        kinds=kinds,
        begun=scene,
        met=met,
        reach=reach_of(scene, met.ground.conduction),
        limits=limits,
        ohms=wire_ohms(scene.job, kinds, scene.compiled.network, cells.wires),
        roughly=roughly,
    )
    ratings, asks, wires, none = _settled(bench, steps.size())
    unknown = [no_class(name, scene.wires[name].insulation) for name, one in found.items() if one is None]
    return Chosen(
        bench=bench,
        wires=wires,
        hottest={name: one[1] for name, one in found.items() if one is not None},
        sizes_mm2={name: size for name, size in wires.volts.sizes_mm2.items() if name not in wires.undecided},
        ratings_a=ratings,
        fuse_asks=asks,
        fuse_c={part: around_c(scene, part) for part in asks},
        unsettled=(*cells.unsettled, *unknown, *none, *wires.unsettled),
    )


def _settled(bench: TryBench, tell: Tell | None) -> tuple[dict[str, float], Asks, WireChoice, Sequence[Unsettled]]:
    """Ratings, then sizes, then the ratings again in the car with those sizes, until they stay."""
    asks = asks_at_first(bench)
    seen: list[dict[str, float]] = []
    while True:
        ratings, scene, none = ratings_for(bench, asks)
        if ratings in seen:  # one that comes back and forth stays at the larger
            ratings = {part: max(one.get(part, rating) for one in seen) for part, rating in ratings.items()}
            scene = bench.rated(ratings)
        wires = choose_wires(bench, scene, tell)
        now = asks_in(bench, wires.scene, asks)
        again = {part: rating for part, rating in wanted_a(bench, now).items() if part in ratings}
        stays = all(rating <= ratings[part] for part, rating in again.items())
        if again == ratings or (stays and seen) or len(seen) >= _ROUNDS_MOST:
            return ratings, now, wires, none
        seen.append(ratings)
        asks = now


def _thinnest(cells: OpenCells, wire: str) -> float:
    return next((size for size in cells.sizes_mm2 if size >= cells.wires[wire].least_mm2), cells.sizes_mm2[-1])


def _is_shifted(chosen: Chosen) -> bool:
    """Whether the currents with the choice are no longer those it was made with."""
    before, now = chosen.bench.met.demand, chosen.wires.demand
    for name in chosen.bench.cells.wires:
        index = wire_element(chosen.wires.scene, name)
        if index is None:
            continue
        was_a = max((one.amps for one in before.of(index)), default=0.0)
        is_a = max((one.amps for one in now.of(index)), default=0.0)
        if is_a > _COUNTS_A and abs(is_a - was_a) > _SHIFT_FRAC * is_a:
            return True
    return False
