"""What happens step by step when the key is turned or the engine stops: what pulls, drops, holds, and what stays on?

A *way* is a row of states, each one move of the key or one change of the engine after the last; every other variable
stays as it is set. Each state is solved from how relays, controllers and alternators lay in the one before, so what a
relay remembers is carried through the whole way. A relay is *held by its past* where it is pulled and would not be if
the same state were come to from rest.

Limits: each step is settled; how long a relay takes to drop, and what happens meanwhile, is not looked at.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from loomwright.findings import id_order
from loomwright.handover.outage import loads_of, working
from loomwright.job.variables import Variable
from loomwright.network.arrays import type_b
from loomwright.network.compiled import Compiled
from loomwright.network.solve import Batch, solve_many, values_of
from loomwright.states.asking.search import possible

__all__ = ["WAYS", "PlayedStep", "Way", "play", "ways_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """A row of states. word: its short name. says: what is done. moves: what is set in each step."""

    word: str
    says: str
    moves: tuple[Mapping[str, str], ...]


WAYS: tuple[Way, ...] = (
    Way(
        word="off",
        says="the key goes off while the engine turns",
        moves=(
            {"key": "run", "engine": "running"},
            {"key": "off", "engine": "running"},
            {"key": "off", "engine": "stopped"},
        ),
    ),
    Way(
        word="start",
        says="the engine is started",
        moves=(
            {"key": "off", "engine": "stopped"},
            {"key": "run", "engine": "stopped"},
            {"key": "start", "engine": "stopped"},
            {"key": "start", "engine": "cranking"},
            {"key": "start", "engine": "idle"},
            {"key": "run", "engine": "idle"},
        ),
    ),
    Way(
        word="stall",
        says="the engine stalls with the key in run",
        moves=({"key": "run", "engine": "idle"}, {"key": "run", "engine": "stopped"}),
    ),
)
"""The ways of a car that are worth playing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlayedStep:
    """One step. state: all that is not at rest. occurs: it can be; one that cannot is passed over by the next.

    pulls, drops: relays that move.   holds: relays pulled now as before.   by_past: of those pulled, the ones that only
    their past holds in.   wakes, dies: controllers.   alive: controllers alive.
    goes_on, goes_off, stays_on: parts whose load works.   buzzes: relays that do not come to rest.
    """

    state: Mapping[str, str]
    occurs: bool
    pulls: tuple[str, ...] = ()
    drops: tuple[str, ...] = ()
    holds: tuple[str, ...] = ()
    by_past: tuple[str, ...] = ()
    wakes: tuple[str, ...] = ()
    dies: tuple[str, ...] = ()
    alive: tuple[str, ...] = ()
    goes_on: tuple[str, ...] = ()
    goes_off: tuple[str, ...] = ()
    stays_on: tuple[str, ...] = ()
    buzzes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Lies:
    """How a car lies in one state."""

    pulled: frozenset[str]
    alive: frozenset[str]
    working: frozenset[str]


def ways_of(variables: Iterable[Variable]) -> tuple[Way, ...]:
    """The ways that a car can go: those whose values its key and engine have."""
    values = {variable.name: variable.values for variable in variables}
    return tuple(
        way for way in WAYS if all(value in values.get(name, ()) for move in way.moves for name, value in move.items())
    )


def play(compiled: Compiled, states: Sequence[Mapping[str, str]]) -> tuple[PlayedStep, ...]:
    """The steps of a way.

    Args:
        states: one after another; variables that one does not name are at rest in it.
    Raises:
        OutOfReach: a variable or value that the car does not have.
    """
    devices: type_b | None = None
    last: _Lies | None = None
    steps: list[PlayedStep] = []
    for state in states:
        values = values_of(compiled, state)[None, :]
        batch = solve_many(compiled, values, devices)
        if not possible(compiled, batch)[0]:
            steps.append(PlayedStep(state=dict(state), occurs=False))
            continue
        fresh = _lies(compiled, solve_many(compiled, values))
        now = _lies(compiled, batch)
        steps.append(_step(state, now, last, fresh, _buzzing(compiled, batch)))
        devices, last = batch.devices, now
    return tuple(steps)


def _step(
    state: Mapping[str, str], now: _Lies, last: _Lies | None, fresh: _Lies, buzzes: tuple[str, ...]
) -> PlayedStep:
    before = last if last is not None else _Lies(pulled=frozenset(), alive=frozenset(), working=frozenset())
    return PlayedStep(
        state=dict(state),
        occurs=True,
        pulls=_named(now.pulled - before.pulled),
        drops=_named(before.pulled - now.pulled),
        holds=_named(now.pulled & before.pulled),
        by_past=_named(now.pulled - fresh.pulled),
        wakes=_named(now.alive - before.alive),
        dies=_named(before.alive - now.alive),
        alive=_named(now.alive),
        goes_on=_named(now.working - before.working),
        goes_off=_named(before.working - now.working),
        stays_on=_named(now.working & before.working),
        buzzes=buzzes,
    )


def _lies(compiled: Compiled, batch: Batch) -> _Lies:
    devices = compiled.network.devices
    on = {
        what: frozenset(
            device.name.partition(".")[0]
            for k, device in enumerate(devices)
            if device.what == what and batch.devices[0, k]
        )
        for what in ("relay", "alive")
    }
    loads = loads_of(compiled)
    works = np.flatnonzero(working(loads, batch.amps)[0]).tolist()
    return _Lies(pulled=on["relay"], alive=on["alive"], working=frozenset(loads.parts[k] for k in works))


def _buzzing(compiled: Compiled, batch: Batch) -> tuple[str, ...]:
    devices = enumerate(compiled.network.devices)
    return _named(device.name.partition(".")[0] for k, device in devices if batch.buzz[0, k])


def _named(parts: Iterable[str]) -> tuple[str, ...]:
    return tuple(sorted(set(parts), key=id_order))
