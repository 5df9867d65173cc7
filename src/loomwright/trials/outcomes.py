"""What comes of one thing wrong?

In: the car with the failure, the states it is tried in, and what the sound car does there. Out: an `Outcome`. Each
thing is told with one state that shows it: of several the one with least of the car on, a current with its largest.

    goes dead             a load that works without the failure and not with it, in the same state
    starts by itself      a load that is on with the failure and off without it, in the same state
    by another way        a load whose current flowed through the missing thing and goes on, with the conductor that
                          took it over, in a state in which nothing goes dead
    overloaded            a wire over what it stands that was not, with no fuse past 135 % of its rating to end it
    not meant             a sensor earth, a signal wire or a control cable that carries over one ampere, and did not
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loomwright.network.arrays import type_f
from loomwright.network.compiled import Compiled
from loomwright.network.records import Network
from loomwright.network.solve import Batch, remember
from loomwright.states.asking.answers import Answers, type_bool
from loomwright.states.asking.search import answers_of
from loomwright.tables.constants import constant
from loomwright.trials.failing import with_failure
from loomwright.trials.failures import Failure
from loomwright.trials.loads import drawn, started, works
from loomwright.trials.shares import Passing
from loomwright.trials.yardstick import Yardstick, can_fire, over_limit

__all__ = ["Effect", "Outcome", "outcome_of"]

_TAKEN_FRAC = 0.3
"""Share of the lost current, and of a load's own, from which a conductor has taken it over: our choice. [0..1]"""
_LOST_FRAC = 0.3
"""Share of a load's current that flowed through the missing thing, from which that was its way: our choice. [0..1]"""
_LEAST_LOST_A = 1e-3
"""What flows through a thing that is of use to a load. [A]"""
_LOOKED_AT = 3
"""In so many of the plainest states is a load's way followed [-]."""
_MORE = 1.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """One thing that a failure does. name: load or conductor.   state: the variables that are not at rest.

    amps, most_a: found and allowed, where it is about a current; None else. [A]   by: its way, or the fuse.
    """

    name: str
    state: tuple[tuple[str, str], ...]
    amps: float | None = None
    most_a: float | None = None
    by: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What one failure does. tried: states solved.   of: states in which it can make a difference. [-]

    runs_on: the engine can fire with the key off, told by a state; None where it stops.
    """

    failure: Failure
    tried: int = 0
    of: int = 0
    dies: tuple[Effect, ...] = ()
    starts: tuple[Effect, ...] = ()
    goes_on: tuple[Effect, ...] = ()
    overloads: tuple[Effect, ...] = ()
    not_meant: tuple[Effect, ...] = ()
    blows: tuple[Effect, ...] = ()
    runs_on: Effect | None = None
    harmed: tuple[str, ...] = ()

    @property
    def weight(self) -> int:
        """How much there is to tell. [-]"""
        return len(self.dies) + len(self.starts) + len(self.overloads) + len(self.not_meant)


def outcome_of(
    sound: Compiled, yard: Yardstick, failure: Failure, answered: Batch, of: int, anew: Network | None = None
) -> Outcome:
    """Try one failure.

    Args:
        answered: the states, as the sound car is in them; their volts are not looked at.
        of: how many states they stand for. [-]
        anew: the network of a connector that is off.
    """
    values = answered.values
    if not len(values):
        return Outcome(failure=failure)
    before = Answers(sound, answered, np.ones(len(values), bool))
    wrong = with_failure(sound, failure, anew)
    now = answers_of(wrong, values, None, remember(wrong))
    if anew is not None:
        now = _renumbered(before, now)
    trial = _Trial(yard=yard, failure=failure, before=before, now=now)
    over, harmed = trial.overloads()
    return Outcome(
        failure=failure,
        tried=len(values),
        of=of,
        dies=trial.dies(),
        starts=trial.starts(),
        goes_on=trial.goes_on(),
        overloads=over,
        not_meant=trial.not_meant(),
        blows=trial.blows(),
        runs_on=trial.runs_on(),
        harmed=harmed,
    )


def _renumbered(before: Answers, now: Answers) -> Answers:
    """Answers of a network that was built anew, elements and devices in the order of the sound one."""
    names: dict[str, list[int]] = {}
    for k, element in enumerate(now.compiled.network.elements):
        names.setdefault(element.name, []).append(k)
    taken: dict[str, int] = {}
    amps = np.zeros_like(before.batch.amps)
    for k, element in enumerate(before.compiled.network.elements):
        turn = taken.get(element.name, 0)
        taken[element.name] = turn + 1
        if turn < len(names.get(element.name, ())):
            amps[:, k] = now.batch.amps[:, names[element.name][turn]]
    devices = np.zeros_like(before.batch.devices)
    for k, device in enumerate(before.compiled.network.devices):
        there = now.compiled.device_of.get(device.name)
        if there is not None:
            devices[:, k] = now.batch.devices[:, there]
    batch = type(before.batch)(
        values=now.batch.values,
        v=before.batch.v,
        floating=before.batch.floating,
        devices=devices,
        buzz=np.zeros_like(devices),
        amps=amps,
        status=now.batch.status,
    )
    return Answers(before.compiled, batch, now.possible)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Trial:
    """The same states without and with the failure."""

    yard: Yardstick
    failure: Failure
    before: Answers
    now: Answers

    def _state(self, row: int) -> tuple[tuple[str, str], ...]:
        variables = self.before.compiled.network.variables
        values = self.before.batch.values[row]
        words = [(v.name, v.values[int(k)], v.rest) for v, k in zip(variables, values, strict=True)]
        return tuple((name, word) for name, word, rest in words if word != rest)

    def _plainest(self, hit: type_bool) -> int:
        return self._plainest_few(hit)[0]

    def _plainest_few(self, hit: type_bool) -> list[int]:
        """Of the states that are hit those with the fewest variables away from rest, plainest first."""
        variables = self.before.compiled.network.variables
        rest = np.array([v.values.index(v.rest) for v in variables])
        rows = np.flatnonzero(hit)
        away = (self.before.batch.values[rows] != rest).sum(axis=1)
        return [int(row) for row in rows[np.argsort(away, kind="stable")[:_LOOKED_AT]]]

    def _shares(self) -> tuple[type_f, type_f]:
        loads = self.yard.loads
        now_a = np.where(self._down()[:, None], 0.0, self.now.batch.amps)
        return drawn(loads, self.before.batch.amps), drawn(loads, now_a)

    def _down(self) -> type_bool:
        return self.now.collapsed()

    def _can_be(self) -> type_bool:
        """Where the car can be with the failure, its supply holding."""
        return np.asarray(self.now.possible & ~self.now.collapsed())

    def _told(self, hit: type_bool) -> tuple[Effect, ...]:
        names = self.yard.loads.names
        return tuple(
            Effect(name=names[k], state=self._state(self._plainest(hit[:, k]))) for k in np.flatnonzero(hit.any(axis=0))
        )

    def dies(self) -> tuple[Effect, ...]:
        """Loads that go dead."""
        before, now = self._shares()
        return self._told(works(before) & ~works(now))

    def starts(self) -> tuple[Effect, ...]:
        """Loads that are on by themselves."""
        before, now = self._shares()
        return self._told(started(self.yard.loads, before, now) & self.now.possible[:, None])

    def goes_on(self) -> tuple[Effect, ...]:
        """Loads that lost their way and go on by another."""
        if self.failure.part != "missing" or not self.failure.opened:
            return ()
        lost = self.failure.opened[0]
        lost_a = np.abs(self.before.batch.amps[:, lost])
        before, now = self._shares()
        network = self.before.compiled.network
        others = [one.element for one in self.yard.not_meant if network.elements[one.element].type == "bond"]
        places = np.array([*self.yard.wire_places, *others], np.int64)
        names = [*self.yard.wires, *(network.elements[k].name for k in others)]
        more = np.abs(self.now.batch.amps[:, places]) - np.abs(self.before.batch.amps[:, places])
        if not more.shape[1]:
            return ()
        taker = more.argmax(axis=1)
        taken = more[np.arange(len(more)), taker]
        whole = ~(works(before) & ~works(now)).any(axis=1) & (lost_a > _LEAST_LOST_A)
        hit = works(before) & works(now) & (whole & (taken >= _TAKEN_FRAC * lost_a))[:, None]
        passing = Passing(self.before.compiled)
        found = []
        for k in np.flatnonzero(hit.any(axis=0)):
            for row in self._plainest_few(hit[:, k]):
                by = int(places[taker[row]])
                if (
                    passing.of(self.before.batch.amps, row, lost, self.yard.loads.places[k]) >= _LOST_FRAC
                    and passing.of(self.now.batch.amps, row, by, self.yard.loads.places[k]) >= _TAKEN_FRAC
                ):
                    name, way = self.yard.loads.names[k], names[int(taker[row])]
                    found.append(Effect(name=name, state=self._state(row), amps=float(taken[row]), by=way))
                    break
        return tuple(found)

    def overloads(self) -> tuple[tuple[Effect, ...], tuple[str, ...]]:
        """Wires over what they stand that no fuse ends, and of them those whose insulation is harmed."""
        was, was_over = over_limit(self.yard, self.before)
        amps, over = over_limit(self.yard, self.now)
        hit = over & ~was_over & (amps > was * _MORE) & self._can_be()[:, None]
        found, harmed = [], []
        for k in np.flatnonzero(hit.any(axis=0)):
            row = int(np.where(hit[:, k], amps[:, k], -1.0).argmax())
            fuse = self._opening(row, float(amps[row, k]))
            name = self.yard.wires[k]
            most_a = float(self.yard.carries_a[k])
            found.append(Effect(name=name, state=self._state(row), amps=float(amps[row, k]), most_a=most_a, by=fuse))
            steady = hit[:, k] & (amps[:, k] > self.yard.harmed_a[k]) & ~self._cranks()
            if steady.any() and not fuse:
                harmed.append(name)
        return tuple(found), tuple(harmed)

    def _cranks(self) -> type_bool:
        return np.asarray(np.abs(self.now.batch.amps[:, list(self.yard.starters)]).sum(axis=1) > 1.0)

    def _opening(self, row: int, amps: float) -> str:
        """A fuse that carries most of a current and stands past 135 % of its rating, so that it opens in time."""
        factor = constant("overload_factor")
        for part, k, rating_a in self.yard.fuses:
            through = abs(float(self.now.batch.amps[row, k]))
            if through >= factor * rating_a and through >= 0.5 * amps:
                return part
        return ""

    def not_meant(self) -> tuple[Effect, ...]:
        """Conductors that carry what they were never meant to."""
        found = []
        for one in self.yard.not_meant:
            was = np.abs(self.before.batch.amps[:, one.element])
            amps = np.abs(self.now.batch.amps[:, one.element])
            hit = (amps > one.most_a) & (amps > 2.0 * was) & self._can_be()
            if hit.any():
                row = int(np.where(hit, amps, -1.0).argmax())
                found.append(
                    Effect(name=one.name, state=self._state(row), amps=float(amps[row]), most_a=one.most_a, by=one.what)
                )
        return tuple(found)

    def blows(self) -> tuple[Effect, ...]:
        """Fuses that blow."""
        found = []
        for k, device in enumerate(self.before.compiled.network.devices):
            hit = self.now.on(k) & ~self.before.on(k) if device.what == "fuse" else np.zeros(self.now.count, bool)
            if hit.any():
                found.append(Effect(name=device.name.split(".")[0], state=self._state(self._plainest(hit))))
        return tuple(found)

    def runs_on(self) -> Effect | None:
        """Whether the engine can fire with the key off, where it stopped before."""
        stops = self.now.at("key", "off", "accessory") & self.now.turning()
        hit = stops & can_fire(self.yard, self.now) & ~can_fire(self.yard, self.before) & self._can_be()
        return Effect(name="engine", state=self._state(self._plainest(hit))) if hit.any() else None
