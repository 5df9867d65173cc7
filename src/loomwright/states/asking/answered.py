"""Some states of the car solved: from rest, from the state each came from, and which of them can occur.

A state with the key off and the engine turning is solved from the same with the key in run.
"""

from __future__ import annotations

import numpy as np

from loomwright.network.arrays import type_b, type_i
from loomwright.network.compiled import Compiled
from loomwright.network.solve import Batch, Remembered, devices_after, solve_many, start_at_rest
from loomwright.states.asking.answers import Answers, type_bool
from loomwright.states.asking.distinct import distinct
from loomwright.states.asking.orders import solve_turned

__all__ = ["answers_of", "cranks", "implied_before", "possible", "solenoids"]


def implied_before(compiled: Compiled, values: type_i) -> tuple[type_bool, type_i]:
    """Which states have the key off and the engine turning, and every state with its key in run. [-]"""
    key, engine = compiled.variable_of.get("key"), compiled.variable_of.get("engine")
    earlier = values.copy()
    if key is None or engine is None:
        return np.zeros(len(values), bool), earlier
    names = compiled.network.variables[key].values
    engines = compiled.network.variables[engine].values
    off = [k for k, name in enumerate(names) if name in ("off", "accessory")]
    turning = [k for k, name in enumerate(engines) if name in ("idle", "running")]
    if "run" not in names:
        return np.zeros(len(values), bool), earlier
    earlier[:, key] = names.index("run")
    return np.isin(values[:, key], off) & np.isin(values[:, engine], turning), earlier


def answers_of(
    compiled: Compiled,
    values: type_i,
    before: type_i | None = None,
    remembered: Remembered | None = None,
    turned: bool = False,
) -> Answers:
    """Solve states from rest, from their implied earlier state, or from the one given; says which can occur.

    Args:
        turned: with the relays changing in the other order, before as well.
    """
    solve = solve_turned if turned else solve_many
    if before is not None:
        start = _devices_after(compiled, before, remembered, turned)
        batch = solve(compiled, values, start, remembered)
        return Answers(compiled, batch, possible(compiled, batch), held=True)
    start = start_at_rest(compiled, len(values))
    implied, earlier = implied_before(compiled, values)
    if implied.any():
        start[implied] = _devices_after(compiled, earlier[implied], remembered, turned)
    batch = solve(compiled, values, start, remembered)
    return Answers(compiled, batch, possible(compiled, batch))


def _devices_after(compiled: Compiled, before: type_i, remembered: Remembered | None, turned: bool) -> type_b:
    """How the devices lie in states that are come from; each state is solved once, however often it stands there."""
    alone, which = distinct(before)
    if turned:
        return np.asarray(solve_turned(compiled, alone, start_at_rest(compiled, len(alone)), remembered).devices[which])
    return np.asarray(devices_after(compiled, alone, None, remembered)[which])


def possible(compiled: Compiled, batch: Batch) -> type_bool:
    """States that can occur: the engine cranks only where a starter's solenoid is in."""
    cranking = cranks(compiled, batch.values)
    if not cranking.any():
        return np.ones(len(batch.values), bool)
    return np.asarray(~cranking | batch.devices[:, solenoids(compiled)].any(axis=1))


def cranks(compiled: Compiled, values: type_i) -> type_bool:
    """The states in which the engine cranks. [-]"""
    engine = compiled.variable_of.get("engine")
    if engine is None or "cranking" not in compiled.network.variables[engine].values:
        return np.zeros(len(values), bool)
    return np.asarray(values[:, engine] == compiled.network.variables[engine].values.index("cranking"))


def solenoids(compiled: Compiled) -> list[int]:
    """The devices that are starters' solenoids."""
    starters = {element.part for element in compiled.network.elements if element.type == "starter_motor"}
    return [k for k, d in enumerate(compiled.network.devices) if d.what == "relay" and d.name.split(".")[0] in starters]
