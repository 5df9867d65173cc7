"""What does the car do in one state, circuit by circuit, and what stops when a thing is out? Asked again, it is known.

Belongs to one car, whose rows do not change; the newest answers of each sort are kept, so that a page that is looked at
again, or turned from circuit to circuit, costs nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping
from typing import Any, Protocol, TypeVar

from loomwright.handover.circuit_plan import CarState, car_state
from loomwright.handover.outage import gauges_of
from loomwright.handover.state_look import StateLook, look_at
from loomwright.handover.taken_out import stops_without, things_of, with_things_out
from loomwright.job.job import Job
from loomwright.network.compiled import Compiled
from loomwright.network.records import Changes
from loomwright.tables.kinds import Kind

__all__ = ["InStates"]

_KEPT = 48
_T = TypeVar("_T")
_State = Mapping[str, str | float]


class Asked(Protocol):
    """What these answers ask of a car; `car.Car` answers all of it."""

    filled: Job
    kinds: Mapping[str, Kind]

    @property
    def compiled(self) -> Compiled:
        """The network of the job as it stands."""

    def compiled_with(self, changes: Changes, state: _State | None = None) -> Compiled:
        """The network with something changed, and with figures of a state."""

    def knows(self, state: _State) -> bool:
        """Whether the job itself names every variable and value of a state."""


class InStates:
    """The answers of one car in its states."""

    def __init__(self, car: Asked) -> None:
        self._car = car
        self._kept: dict[str, dict[Hashable, Any]] = {}

    def look(
        self, state: _State | None = None, *, before: _State | None = None, changes: Changes | None = None
    ) -> StateLook:
        """One state looked at closely: what is energised, what feeds each point.

        Args:
            state: values of variables; those not named are at rest.
            before: the state it came from.
            changes: what is unplugged, pulled, cut, bridged or stuck.
        Raises:
            OutOfReach: an unknown variable, value, part or point.
        """
        asked, named = changes or Changes(), {**(state or {}), **(before or {})}

        def made() -> StateLook:
            return look_at(self._car.filled, self._compiled(asked, named), state or {}, before)

        return self._keep("look", (_key(state), _key(before), asked), made)

    def plan(self, look: StateLook) -> CarState:
        """What every circuit does in a state that was looked at."""
        return self._keep("plan", look, lambda: car_state(self._car.filled, look))

    def stops(self, look: StateLook, circuit: str) -> Mapping[str, tuple[str, ...]]:
        """Which parts stop in a state when a wire or a part of a circuit is out: thing -> parts."""
        taken = self._keep(
            "out",
            (look.compiled, circuit),
            lambda: with_things_out(look.compiled.network, things_of(self._car.filled, circuit)),
        )
        return self._keep("stops", (look, circuit), lambda: stops_without(taken, look, self._gauges()))

    def _gauges(self) -> tuple[str, ...]:
        return self._keep("gauges", (), lambda: gauges_of(self._car.filled, self._car.kinds))

    def _compiled(self, changes: Changes, named: _State) -> Compiled:
        if changes == Changes() and self._car.knows(named):
            return self._car.compiled
        figures = () if self._car.knows(named) else _key(named)
        return self._keep("compiled", (changes, figures), lambda: self._car.compiled_with(changes, named))

    def _keep(self, sort: str, key: Hashable, make: Callable[[], _T]) -> _T:
        """An answer, worked out where it is not kept; the newest of its sort are."""
        kept = self._kept.setdefault(sort, {})
        answer: _T | None = kept.get(key)
        if answer is None:
            answer = kept[key] = make()
            while len(kept) > _KEPT:
                kept.pop(next(iter(kept)), None)
        return answer


def _key(state: _State | None) -> tuple[tuple[str, str], ...]:
    """A state as a name to keep its answer by."""
    return tuple(sorted((name, str(value)) for name, value in (state or {}).items()))
