"""Does every wire carry its current where it lies?

The limit is the ampacity table's at the wire's size and class and at the ambient of its hotter end in that state: the
vehicle's, and the excess of its place while the engine turns. While the starter is fed it is the current that warms the
wire from there to its class in the time cranking, or a stalled starter, is judged for.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loomwright.states.asking.answers import Answers, type_float
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.watch import Watch
from loomwright.states.paths.surroundings import wire_ends, wire_label
from loomwright.states.ratings.rating_ground import FED_A, Heated, RatingGround, over
from loomwright.states.ratings.wire_limits import WireLimit, carries_a, limits_of, short_time_a
from loomwright.tables.ampacity import ampacity
from loomwright.tables.constants import constant

__all__ = ["limit_table", "wire_ratings"]

_MOMENTS = ("cranking_s", "stall_s")
_TURNING = ("idle", "running")


@dataclass(frozen=True, slots=True, eq=False)
class _Allowed:
    """What wires that are alike may carry: a table by moment, value of the ambient, value of the engine. [A]"""

    ground: RatingGround
    table: NDArray[np.float64]

    def amps(self, answers: Answers) -> type_float:
        """In each state. [A]"""
        found: type_float = self.table.reshape(-1)[answers.once(("moment", self.ground.starters), self._place)]
        return found

    def _place(self, answers: Answers) -> NDArray[np.int64]:
        """Where in the table each state stands."""
        where = self.ground.scene.compiled.variable_of
        fed = self.ground.starter_amps(answers) > FED_A
        moment = np.where(fed, np.where(answers.at("engine", "stopped"), 2, 1), 0)
        ambient, engine = (answers.batch.values[:, where[name]] for name in ("ambient_c", "engine"))
        found: NDArray[np.int64] = (moment * self.table.shape[1] + ambient) * self.table.shape[2] + engine
        return found


def wire_ratings(ground: RatingGround) -> Iterator[Watch]:
    """RAT-2 of every wire whose size and insulation are known."""
    scene = ground.scene
    alike: dict[tuple[float, float, float], tuple[_Allowed, float]] = {}
    for name, limit in limits_of(scene).items():
        of = (limit.size_mm2, limit.insulation_c, limit.excess_k)
        if of not in alike:
            table = limit_table(scene, limit)
            alike[of] = _Allowed(ground, table), float(table.min())
        for index in scene.compiled.elements_of.get(name, ())[:1]:
            yield _wire(ground, index, limit, *alike[of])


def _wire(ground: RatingGround, index: int, limit: WireLimit, allowed: _Allowed, least_a: float) -> Watch:
    heated = Heated(ground.heating, index)
    return over(
        rule="RAT-2",
        at=(limit.wire,),
        touches=wire_ends(ground.scene, limit.wire),
        label=wire_label(ground.scene, limit.wire),
        wrong="carries more than its size stands where it lies",
        mend="Fit a thicker wire, or share the load with a second one",
        allowed_a=carries_a(limit),
        amps=heated.amps,
        limit=allowed.amps,
        most=heated.most,
        least_a=least_a,
        source=ampacity(limit.size_mm2, limit.insulation_c, limit.ambient_c).source,
    )


def limit_table(scene: Scene, limit: WireLimit) -> NDArray[np.float64]:
    """Allowed amps by moment (for ever, cranking, stalled starter), value of the ambient, value of the engine. [A]"""
    variables, where = scene.compiled.network.variables, scene.compiled.variable_of
    ambients, engines = variables[where["ambient_c"]].values, variables[where["engine"]].values
    table = np.zeros((1 + len(_MOMENTS), len(ambients), len(engines)))
    for i, text in enumerate(ambients):
        for j, engine in enumerate(engines):
            at_c = float(text) + (limit.excess_k if engine in _TURNING else 0.0)
            always = carries_a(limit, at_c)
            table[0, i, j] = always
            for k, name in enumerate(_MOMENTS, start=1):
                table[k, i, j] = max(always, short_time_a(limit, ambient_c=at_c, time_s=constant(name)))
    return table
