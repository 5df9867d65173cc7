"""Which states crank where no starter can be in?

The engine cranks only where a starter's solenoid is in. That is asked of every combination of what decides a solenoid,
so that no state need be solved that cannot occur.
"""

from __future__ import annotations

import numpy as np

from loomwright.network.arrays import type_i
from loomwright.network.compiled import Compiled
from loomwright.states.asking.answered import answers_of, cranks, solenoids
from loomwright.states.asking.cones import Cones
from loomwright.states.asking.distinct import distinct, rows_among
from loomwright.states.asking.plan import Space, bounded, cone_block

__all__ = ["that_can_crank"]


def that_can_crank(compiled: Compiled, space: Space, cones: Cones, states: type_i) -> tuple[type_i, float]:
    """The states less those that crank where no starter can be in, and the share of cranking ones that can be. [-]

    Asked of every combination of what decides a starter's solenoid, the rest of the car off and loaded.
    """
    engine = compiled.variable_of.get("engine")
    if engine is None or "cranking" not in compiled.network.variables[engine].values:
        return states, 1.0
    cranking = compiled.network.variables[engine].values.index("cranking")
    pulls = solenoids(compiled)
    inside = bounded(space, sorted(frozenset().union(*(cones.of_device[device] for device in pulls))))
    held = Space(
        tuple((cranking,) if k == engine else values for k, values in enumerate(space.values)),
        space.rest,
        space.loaded,
        space.core,
        space.raw,
    )
    at_rest, loaded = np.split(cone_block(held, frozenset(inside)), 2)
    can = answers_of(compiled, at_rest).possible
    doubtful = loaded[~can]
    can[~can] = answers_of(compiled, doubtful).possible
    able, _ = distinct(at_rest[can][:, inside])
    every, _ = distinct(at_rest[:, inside])
    kept = ~cranks(compiled, states) | (rows_among(able, states[:, inside]) >= 0)
    return states[kept], len(able) / max(1, len(every))
