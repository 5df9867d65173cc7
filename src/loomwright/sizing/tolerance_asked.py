"""What is asked of a car whose figures are all a little off, and in which states?

    volts at each load      in its worst own state, that of the drop rules
    amps of each thing      wires, fuses, contacts, outputs …, in the state that makes them largest
    what still passes       every rule that is asked of every state, in all those states; the drop of each load

In: a `Scene`. Out: `Questions`: few states, which many cars are solved in.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from loomwright.network.arrays import type_i
from loomwright.network.compiled import Compiled
from loomwright.network.solve import values_of
from loomwright.sizing.worst_asked import worst_asked
from loomwright.sizing.worst_cases import worst_cases
from loomwright.states.asking.answers import Answers, type_float
from loomwright.states.asking.own_states import OwnStates
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.watch import Watch
from loomwright.states.paths.conduction import conduction_of
from loomwright.states.paths.drop_paths import DropPath, drop_paths, lost_v
from loomwright.states.paths.surroundings import element_label
from loomwright.states.rulebook import state_watches
from loomwright.tables.constants import constant

__all__ = ["Line", "Moment", "Passing", "Questions", "questions_of"]

_EQUAL = 1.0 + 1e-6
Tell = Callable[[int, int], None]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Moment:
    """States solved together. values: one row a state.   before: what each is come to from; None = from rest."""

    values: type_i
    before: type_i | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Line:
    """One figure that is followed: volts at a load, or amps of a thing.

    moment, row: its state.   element: of the network, -1 where it is several.   of: the figure in each state.
    """

    name: str
    what: str
    label: str
    unit: str
    moment: int
    row: int
    element: int
    of: Callable[[Answers], type_float]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Passing:
    """One thing that passes or does not. fails: in each moment's answers, whether it does not."""

    rule: str
    at: tuple[str, ...]
    label: str
    wrong: str
    fails: Callable[[Sequence[Answers]], bool]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Questions:
    """Everything that is asked of each car."""

    moments: tuple[Moment, ...]
    lines: tuple[Line, ...]
    passing: tuple[Passing, ...]

    @property
    def states(self) -> int:
        """How many states each car is solved in. [-]"""
        return sum(len(moment.values) for moment in self.moments)


class _States:
    """States while they are gathered, each once."""

    def __init__(self, compiled: Compiled) -> None:
        self.compiled = compiled
        self.found: tuple[dict[bytes, tuple[type_i, type_i | None]], ...] = ({}, {})

    def add(self, values: type_i, before: type_i | None) -> tuple[int, int]:
        """Its moment and row."""
        moment = 0 if before is None else 1
        key = values.tobytes() + (b"" if before is None else before.tobytes())
        known = self.found[moment]
        known.setdefault(key, (values, before))
        return moment, list(known).index(key)

    def named(self, state: Mapping[str, str], before: Mapping[str, str]) -> tuple[int, int]:
        values = values_of(self.compiled, state)
        return self.add(values, values_of(self.compiled, {**state, **before}) if before else None)

    def moments(self) -> tuple[Moment, ...]:
        """Both kinds, those from rest first; empty ones too, so that their numbers stay."""
        wide = len(self.compiled.network.variables)
        rest, held = (list(known.values()) for known in self.found)
        return (
            Moment(values=np.array([v for v, _ in rest], np.int64).reshape(-1, wide), before=None),
            Moment(
                values=np.array([v for v, _ in held], np.int64).reshape(-1, wide),
                before=np.array([b for _, b in held], np.int64).reshape(-1, wide),
            ),
        )


def questions_of(scene: Scene, tell: Tell | None = None) -> Questions:
    """What is asked, in the states that are worst for something.

    Args:
        tell: called with states done and to do; may raise Stopped.
    """
    states = _States(scene.compiled)
    paths = [path for path in drop_paths(scene, conduction_of(scene)) if path.pieces]
    lines = [_load(scene, states, path.load, path.values) for path in paths]
    passing = [_drop(line, path) for line, path in zip(lines, paths, strict=True)]
    lines += [_load(scene, states, load, values) for load, values in _without_limit(scene, paths)]
    cases = worst_cases(scene, tell).cases
    for case, one in zip(cases, worst_asked(scene), strict=True):
        if not case.amps:
            continue
        moment, row = states.named(case.state, case.before)
        if case.judged:
            states.named(case.share_state, case.share_before)
        lines.append(
            Line(
                name=case.name,
                what=case.what,
                label=case.label,
                unit="A",
                moment=moment,
                row=row,
                element=one.element,
                of=one.amps,
            )
        )
    passing += [_watched(watch.placed()) for watch in state_watches(scene) if watch.quantifier == "always"]
    return Questions(moments=states.moments(), lines=tuple(lines), passing=tuple(passing))


def _without_limit(scene: Scene, paths: Sequence[DropPath]) -> Iterator[tuple[int, type_i]]:
    """Loads whose circuit has no limit, each in the own state with the fewest volts at it."""
    own = OwnStates(scene.compiled, scene.cones)
    told = {scene.element(path.load).name for path in paths}
    for load, element in enumerate(scene.compiled.network.elements):
        if not element.load or element.part not in scene.parts or element.name in told:
            continue
        found = own.on(load, max(1e-3, constant("works_frac") * (element.rated_a or 0.0)))
        if found is None:
            continue
        answers, on = found
        rows = np.flatnonzero(on)
        worst = rows[np.nan_to_num(np.abs(answers.across(load)))[rows].argmin()]
        # a motor stands in the network once for each of its laws: the first that is ever on is asked
        told.add(element.name)
        yield load, answers.batch.values[worst].copy()


def _load(scene: Scene, states: _States, load: int, values: type_i) -> Line:
    moment, row = states.add(values, None)
    element = scene.element(load)

    def volts(answers: Answers) -> type_float:
        return np.nan_to_num(np.abs(answers.across(load)))

    return Line(
        name=element.part,
        what="load",
        label=element_label(scene, element),
        unit="V",
        moment=moment,
        row=row,
        element=load,
        of=volts,
    )


def _drop(line: Line, path: DropPath) -> Passing:
    def fails(answers: Sequence[Answers]) -> bool:
        mine = answers[line.moment]
        is_on = abs(float(mine.amps(path.load)[line.row])) >= path.on_a
        return not is_on or float(lost_v(path, mine)[line.row]) > path.limit_v * _EQUAL

    return Passing(
        rule="DRP-1",
        at=(path.part,),
        label=line.label,
        wrong="it works no longer, or loses more volts on the way than its circuit may",
        fails=fails,
    )


def _watched(watch: Watch) -> Passing:
    def fails(answers: Sequence[Answers]) -> bool:
        return any(bool((watch.broken(one)[0] & one.possible).any()) for one in answers if one.count)

    return Passing(rule=watch.rule, at=watch.at, label=watch.label, wrong=watch.wrong, fails=fails)
