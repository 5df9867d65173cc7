"""Which states does the brute-force table look at?

Seven moments of key and engine; in each: nothing else moved, every other switch and figure moved alone to each of its
values, and what a driver moves together (`TOGETHER`). Run-on is asked from the state before it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from loomwright.network.compiled import Compiled
from loomwright.network.solve import Batch, solve_many, values_of

__all__ = ["MOMENTS", "solved", "states_of"]

State = dict[str, str]

MOMENTS: tuple[State, ...] = (
    {"key": "off", "engine": "stopped"},
    {"key": "accessory", "engine": "stopped"},
    {"key": "run", "engine": "stopped"},
    {"key": "start", "engine": "cranking"},
    {"key": "start", "engine": "stopped"},
    {"key": "run", "engine": "idle"},
    {"key": "run", "engine": "running"},
    {"key": "off", "engine": "running"},
)
_NIGHT = {"light": "head"}
TOGETHER: tuple[State, ...] = (
    {**_NIGHT, "dip": "main"},
    {**_NIGHT, "pull": "pulled"},
    {**_NIGHT, "brake": "on"},
    {**_NIGHT, "turn": "left"},
    {**_NIGHT, "turn": "right"},
    {**_NIGHT, "hazard": "on"},
    {**_NIGHT, "wipe": "slow", "heater": "on"},
    {**_NIGHT, "dip": "main", "wipe": "fast", "heater": "on", "coolant_c": "108", "selector": "D"},
    {"light": "side", "brake": "on"},
    {"light": "side", "turn": "left"},
    {"brake": "on", "turn": "left"},
    {"brake": "on", "turn": "right"},
    {"brake": "on", "selector": "R"},
    {"brake": "on", "selector": "D"},
    {"selector": "D", "coolant_c": "108"},
    {"selector": "R", "turn": "left"},
    {"hazard": "on", "brake": "on"},
    {"wipe": "slow", "wash": "on"},
    {"wipe": "off", "parked": "no"},
    {"horn": "on", **_NIGHT},
    {"heater": "on", "wipe": "fast"},
    {"crash": "tripped", "hazard": "on"},
    {"handbrake": "on", "selector": "N"},
)
_FIXED = ("key", "engine", "battery", "ambient_c", "phase")


def states_of(compiled: Compiled) -> tuple[State, ...]:
    """The states of the table, those named by rest values left short."""
    return tuple({**moment, **moved} for moment in MOMENTS for moved in ({}, *_alone(compiled), *TOGETHER))


def _alone(compiled: Compiled) -> Iterator[State]:
    for variable in compiled.network.variables:
        if variable.name in _FIXED:
            continue
        for value in variable.values:
            if value != variable.rest:
                yield {variable.name: value}


def solved(compiled: Compiled, states: tuple[State, ...]) -> Batch:
    """All of them solved; those with the key off and the engine turning from the key at run."""
    values = np.array([values_of(compiled, _known(compiled, state)) for state in states])
    earlier = values.copy()
    before = [state["engine"] in ("idle", "running") and state["key"] in ("off", "accessory") for state in states]
    key = compiled.variable_of["key"]
    earlier[np.array(before), key] = compiled.network.variables[key].values.index("run")
    return solve_many(compiled, values, solve_many(compiled, earlier).devices)


def _known(compiled: Compiled, state: State) -> Mapping[str, str]:
    """What the car knows of a state: a switch that lost a position is at rest there."""
    names = {variable.name: variable.values for variable in compiled.network.variables}
    return {name: value for name, value in state.items() if value in names.get(name, ())}
