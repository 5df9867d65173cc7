"""Does every wire carry its current where it lies?

The limit is the ampacity table's at the wire's size and class and at the ambient of its hotter end in that state: the
vehicle's, and the excess of its place while the engine turns. While the starter is fed it is the current that warms the
wire from there to its class in the time cranking, or a stalled starter, is judged for.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from loomwright.states.asking.answers import Answers, type_float
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.watch import Watch
from loomwright.states.paths.surroundings import wire_ends, wire_label
from loomwright.states.ratings.rating_ground import FED_A, RatingGround, over
from loomwright.states.ratings.wire_limits import WireLimit, carries_a, limits_of, short_time_a
from loomwright.tables.ampacity import ampacity
from loomwright.tables.constants import constant

__all__ = ["limit_table", "wire_ratings"]

_MOMENTS = ("cranking_s", "stall_s")
_TURNING = ("idle", "running")


def wire_ratings(ground: RatingGround) -> Iterator[Watch]:
    """RAT-2 of every wire whose size and insulation are known."""
    scene = ground.scene
    tables: dict[tuple[float, float, float], NDArray[np.float64]] = {}
    for name, limit in limits_of(scene).items():
        alike = (limit.size_mm2, limit.insulation_c, limit.excess_k)
        if alike not in tables:
            tables[alike] = limit_table(scene, limit)
        for index in scene.compiled.elements_of.get(name, ())[:1]:
            yield _wire(ground, index, limit, tables[alike])


def _wire(ground: RatingGround, index: int, limit: WireLimit, table: NDArray[np.float64]) -> Watch:
    scene = ground.scene
    ambient, engine = scene.compiled.variable_of["ambient_c"], scene.compiled.variable_of["engine"]

    def amps(answers: Answers) -> type_float:
        return ground.heating.amps(answers, index)

    def allowed(answers: Answers) -> type_float:
        found: type_float = table.reshape(-1)[answers.once(("moment", ground.starters), place)]
        return found

    def place(answers: Answers) -> NDArray[np.int64]:
        """Where in the table each state stands."""
        fed = ground.starter_amps(answers) > FED_A
        moment = np.where(fed, np.where(answers.at("engine", "stopped"), 2, 1), 0)
        values = answers.batch.values
        found: NDArray[np.int64] = (moment * table.shape[1] + values[:, ambient]) * table.shape[2] + values[:, engine]
        return found

    return over(
        rule="RAT-2",
        at=(limit.wire,),
        touches=wire_ends(scene, limit.wire),
        label=wire_label(scene, limit.wire),
        wrong="carries more than its size stands where it lies",
        mend="Fit a thicker wire, or share the load with a second one",
        allowed_a=carries_a(limit),
        amps=amps,
        limit=allowed,
        most=lambda answers: ground.heating.most(answers, index),
        least_a=float(table.min()),
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
