"""A part does nothing: in which state should it work, and what would every single fault do to it there?

The state is the plainest of those a person measures in where the sound car gives the part its current, and what the
current does not hang on stays at rest; one that is named is taken as it is. Every fault is then solved in that one
state. A part is dead where less than half the volts of the sound car lie across it, or it is burnt out itself. What
draws too little for a clamp is sought with volts, in the fault finder.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loomwright.job.conditions import Condition, parse_condition
from loomwright.network.arrays import type_i
from loomwright.network.solve import rest_values, values_of
from loomwright.proving.fault_table import FaultTable, measuring_states, sound_table, table_at
from loomwright.refusals import OutOfReach
from loomwright.states.asking.scene import Scene

__all__ = ["LEAST_A", "SymptomAsked", "SymptomTable", "condition_of", "draws_a", "is_dead", "symptom_table"]

Tell = Callable[[int, int], None]
LEAST_A = 0.05
"""What a clamp tells from nothing. [A]"""
_LEAST_V = 1.0
_DEAD_FRAC = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class SymptomAsked:
    """What was seen. dead, works: parts, or one point of a larger one: wires of theirs.   when: None: sought."""

    dead: Sequence[str]
    works: Sequence[str] = ()
    when: Condition | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SymptomTable:
    """Every fault in the one state. names: what is dead, as asked.   dead: their wires, that carry nothing.

    state: what is not at rest in it.

    table: the sound car first.
    """

    names: tuple[str, ...]
    dead: tuple[str, ...]
    state: Mapping[str, str]
    table: FaultTable

    @property
    def when(self) -> str:
        """The state as a condition."""
        return ", ".join(f"{name}={value}" for name, value in self.state.items())


def symptom_table(
    scene: Scene, wires: Sequence[str], when: Condition | None, asked: Sequence[str], tell: Tell | None = None
) -> SymptomTable:
    """Every fault solved in the state in which parts should work.

    Args:
        wires: that carry nothing.
        when: the state; where left out, the plainest in which all of them carry a current in the sound car.
        asked: what was named: parts, or points of larger ones.
        tell: called with faults done and to do; may raise Stopped.
    Raises:
        OutOfReach: the sound car gives them no current that a clamp would show, in that state or in any.
    """
    states = measuring_states(scene)
    if when is not None:
        states = np.vstack([values_of(scene.compiled, _state(when))[None, :], states])
    sound = sound_table(scene, states)
    fed = [k for k in range(len(states)) if all(draws_a(scene, sound, name, k)[0] > LEAST_A for name in wires)]
    if when is not None and 0 not in fed:
        plain = _words(scene, _plainer(scene, wires, states[fed[0]])) if fed else ""
        nearest = f"; it does in: {plain}" if fed else ""
        raise OutOfReach("state", when.text or "everything at rest", f"one in which {_and(asked)} should work{nearest}")
    if not fed:
        most = max(draws_a(scene, sound, wires[0], k)[0] for k in range(len(states)))
        told = f"draws {1000 * most:.1f} mA at most" if most > 0.0 else "draws nothing in any state that was tried"
        raise OutOfReach(
            "dead",
            _and(asked),
            f"what draws {1000 * LEAST_A:.0f} mA or more; in the sound car it {told}. Name a state, or give a reading "
            "in volts to the fault finder",
        )
    here = states[0] if when is not None else _plainer(scene, wires, states[fed[0]])
    table = table_at(scene, here[None, :], tell)
    return SymptomTable(names=tuple(asked), dead=tuple(wires), state=table.away(0), table=table)


def _plainer(scene: Scene, wires: Sequence[str], state: type_i) -> type_i:
    """The state with everything at rest that the current does not hang on, the last variable first: a lamp needs no
    engine.
    """
    rest, found = rest_values(scene.compiled), state.copy()
    for k in reversed(np.flatnonzero(state != rest)):
        tried = found.copy()
        tried[k] = rest[k]
        sound = sound_table(scene, tried[None, :])
        if all(draws_a(scene, sound, name)[0] > LEAST_A for name in wires):
            found = tried
    return found


def draws_a(scene: Scene, table: FaultTable, wire: str, state: int = 0) -> NDArray[np.float64]:
    """What a wire carries with every fault of the table, the sound car first. [A]

    Args:
        state: which of the table's. [-]
    """
    elements = np.array(scene.compiled.elements_of.get(wire, ()), np.int64)
    columns = np.flatnonzero(np.isin(table.wires, elements))[:1]
    amps = table.amps_of(np.arange(len(table.suspects)), state)[:, columns]
    return np.asarray(np.abs(amps).sum(axis=1), np.float64)


def is_dead(scene: Scene, table: FaultTable, name: str) -> NDArray[np.bool_] | None:
    """With which faults of the table a part does nothing; None where it should do nothing in the sound car either.

    Args:
        name: of the part, or of one of its points: the loads that hang on it.
    """
    part, _, terminal = name.partition(".")
    at = scene.compiled.node_of.get(scene.point(name), -1) if terminal else -1
    loads = [k for k in scene.elements_of.get(part, ()) if scene.element(k).load]
    loads = [k for k in loads if not terminal or at in scene.ends(k)] or loads
    rows, dead, should = np.arange(len(table.suspects)), np.ones(len(table.suspects), bool), False
    for k in loads:
        volts = np.abs(np.subtract(*table.volts_of(rows, 0, np.array(scene.ends(k))).T))
        if volts[0] > _LEAST_V:
            should = True
            burnt = np.array([k in one.opened for one in table.suspects])
            dead &= (volts < _DEAD_FRAC * volts[0]) | burnt
    return dead if should else None


def _state(when: Condition) -> dict[str, str]:
    found: dict[str, str] = {}
    for term in when.terms:
        if len(term.values) != 1 or term.op != "=":
            raise OutOfReach("state", when.text, "one value for each variable: key=run, light=head")
        found[term.variable] = term.values[0]
    return found


def _words(scene: Scene, state: type_i) -> str:
    away = sound_table(scene, state[None, :]).away(0)
    return ", ".join(f"{name}={value}" for name, value in away.items()) or "everything at rest"


def _and(names: Sequence[str]) -> str:
    return " and ".join(names)


def condition_of(text: str) -> Condition | None:
    """A state as it is typed; None where nothing is."""
    return parse_condition(text) if text.strip() else None
