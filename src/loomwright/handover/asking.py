"""Which states are worth a row of readings, and what do they read?

In: a compiled network. Out: the states that an installer walks through (key off, accessory, run, cranking, idling,
lights on), those the job's variables allow, and for every other switch the state one step away from idling, from
driving and from the lights. All are solved in one go. The *cranking* state adds the switch that lets the starter in
(clutch, neutral), where there is one. The *lights on* state is found, not guessed from a name: of all single changes of
a switch, the one that has lamps of lighting circuits draw most with the engine idling.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from loomwright.job.job import Job
from loomwright.job.variables import Variable
from loomwright.network.compiled import Compiled
from loomwright.network.solve import Batch, Solved, solve_many, solved_from, values_of
from loomwright.tables.constants import constant
from loomwright.tables.kinds import Kind

__all__ = ["Asked", "Walk", "asked_of", "nearby_states", "state_text", "telling_states", "walk_of"]

_WALK: tuple[tuple[str, Mapping[str, str]], ...] = (
    ("key off", {"key": "off"}),
    ("accessory", {"key": "accessory"}),
    ("run, engine stopped", {"key": "run"}),
    ("start, cranking", {"key": "start", "engine": "cranking"}),
    ("run, idling", {"key": "run", "engine": "idle"}),
)
_WITHOUT_KEY: tuple[tuple[str, Mapping[str, str]], ...] = (("at rest", {}), ("idling", {"engine": "idle"}))


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """One state and its answer. title: in words. state: the variables that are not at rest."""

    title: str
    state: Mapping[str, str]
    solved: Solved


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Walk:
    """The states of a paper and their answers.

    columns: those that are walked through. nearby: those with one more thing switched. answers: both, in that order.
    """

    columns: tuple[Asked, ...]
    nearby: tuple[Asked, ...]
    answers: Batch

    @property
    def asked(self) -> tuple[Asked, ...]:
        """All of them, in the order of the answers."""
        return (*self.columns, *self.nearby)


def walk_of(job: Job, kinds: Mapping[str, Kind], compiled: Compiled) -> Walk:
    """The states of a job's paper, solved."""
    columns = telling_states(job, kinds, compiled)
    states = [*columns, *_around(job, kinds, compiled, columns)]
    batch = _solved(compiled, states)
    asked = _told(compiled, states, batch)
    return Walk(columns=asked[: len(columns)], nearby=asked[len(columns) :], answers=batch)


def telling_states(
    job: Job, kinds: Mapping[str, Kind], compiled: Compiled
) -> tuple[tuple[str, Mapping[str, str]], ...]:
    """The states that matter, title and variables that are not at rest; `lights on` last, where there are lights."""
    variables = {variable.name: variable for variable in compiled.network.variables}
    walk = _WALK if "key" in variables else _WITHOUT_KEY
    states = [(title, state) for title, state in walk if _possible(state, variables)]
    lights = _lights_on(job, kinds, compiled, states[-1][1])
    cranked = [
        (title, _cranking(job, kinds, compiled, state) if state.get("engine") == "cranking" else state)
        for title, state in states
    ]
    return (*cranked, ("lights on", lights)) if lights else tuple(cranked)


def nearby_states(
    job: Job, kinds: Mapping[str, Kind], compiled: Compiled, state: Mapping[str, str]
) -> tuple[tuple[str, Mapping[str, str]], ...]:
    """Every state in which one more variable leaves its rest: switches first, then what moves by itself.

    The title is what was changed beside the key and the engine.
    """
    switches = {part.id for part in job.parts if part.kind in kinds and kinds[part.kind].duty == "switch"}
    moved = [v for v in compiled.network.variables if v.name not in (*state, "battery", "ambient_c", "phase")]
    moved.sort(key=lambda variable: not switches & set(variable.parts))
    beside = {name: value for name, value in state.items() if name not in ("key", "engine")}
    return tuple(
        (state_text({**beside, variable.name: value}), {**state, variable.name: value})
        for variable in moved
        for value in variable.values
        if value != variable.rest
    )


def asked_of(compiled: Compiled, states: Sequence[tuple[str, Mapping[str, str]]]) -> tuple[Asked, ...]:
    """The states with their answers, in the same order."""
    return _told(compiled, states, _solved(compiled, states))


def _solved(compiled: Compiled, states: Sequence[tuple[str, Mapping[str, str]]]) -> Batch:
    return solve_many(compiled, np.array([values_of(compiled, state) for _, state in states], np.int64))


def _told(compiled: Compiled, states: Sequence[tuple[str, Mapping[str, str]]], batch: Batch) -> tuple[Asked, ...]:
    return tuple(
        Asked(title=title, state=state, solved=solved_from(compiled, batch, row))
        for row, (title, state) in enumerate(states)
    )


def state_text(state: Mapping[str, str]) -> str:
    """A state as it is typed.

    Example:
        >>> state_text({"key": "run", "engine": "idle"})
        'key=run, engine=idle'
    """
    return ", ".join(f"{name}={value}" for name, value in state.items())


def _around(
    job: Job, kinds: Mapping[str, Kind], compiled: Compiled, columns: Sequence[tuple[str, Mapping[str, str]]]
) -> list[tuple[str, Mapping[str, str]]]:
    """One step away from idling, then from driving, then from the lights."""
    idling = next((state for _, state in columns if state.get("engine") == "idle"), columns[-1][1])
    driving = {**idling, "engine": "running"}
    lights = [state for title, state in columns if title == "lights on"]
    return [
        *nearby_states(job, kinds, compiled, idling),
        ("engine=running", driving),
        *(("engine=running, " + title, state) for title, state in nearby_states(job, kinds, compiled, driving)),
        *(near for state in lights for near in nearby_states(job, kinds, compiled, state)),
    ]


def _possible(state: Mapping[str, str], variables: Mapping[str, Variable]) -> bool:
    return all(name in variables and value in variables[name].values for name, value in state.items())


def _cranking(job: Job, kinds: Mapping[str, Kind], compiled: Compiled, state: Mapping[str, str]) -> Mapping[str, str]:
    """The state in which the starter is in: one more switch (clutch, neutral) where it takes one."""
    starters = {element.part for element in compiled.network.elements if element.type == "starter_motor"}

    def turns(asked: Asked) -> bool:
        return any(asked.solved.relays.get(part) == "pulled" for part in starters)

    nearby = nearby_states(job, kinds, compiled, state)
    return next((one.state for one in asked_of(compiled, [("", state), *nearby]) if turns(one)), state)


def _lights_on(job: Job, kinds: Mapping[str, Kind], compiled: Compiled, idling: Mapping[str, str]) -> Mapping[str, str]:
    """The state with most light from lamps of lighting circuits; nothing where no switch lights any."""
    lighting = {circuit.id for circuit in job.circuits if circuit.class_ == "lighting"}
    lamps = {part.id for part in job.parts if part.circuit in lighting}
    elements = [e for e in compiled.network.elements if e.type == "lamp" and e.part in lamps and e.rated_a]
    momentary = {
        variable.name: variable.momentary
        for variable in compiled.network.variables
        if variable.name != "selector" and not variable.numeric
    }
    nearby = [
        (name, state)
        for name, state in nearby_states(job, kinds, compiled, idling)
        if any(moved in momentary and state[moved] not in momentary[moved] for moved in set(state) - set(idling))
    ]
    if not elements or not nearby:
        return {}

    def lit_a(asked: Asked) -> float:
        drawn = [abs(asked.solved.amps[e.name]) for e in elements]
        rated = [e.rated_a or 0.0 for e in elements]
        share = constant("works_frac")
        return sum(full for amps, full in zip(drawn, rated, strict=True) if amps >= share * full)

    before, *after = asked_of(compiled, [("", idling), *nearby])
    best = max(after, key=lit_a)
    return best.state if lit_a(best) > lit_a(before) else {}
