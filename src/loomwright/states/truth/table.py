"""What do some points do in every combination of some variables?

The other variables stay as they are set. Every combination is solved (from rest, or from the state before), those that
cannot occur (an engine that cranks with no starter in) are left out and counted. Where no state before is named, each
row is asked for its memory: with every relay and controller pulled at first it may come to rest another way; then every
state that lies one variable away is tried as the one before, and the first that really changes what was asked is told
beside the row.

Limits: a row that only a longer history can change is not told. With a relay that buzzes, and with a supply that gives
way, the figures are one moment's; the row says so.
Source: `live_frac`, `dead_v`, `works_frac` in `constants.csv`, common practice.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product
from math import prod

import numpy as np

from loomwright.network.arrays import type_i
from loomwright.network.compiled import Compiled
from loomwright.network.solve import solve_many, start_at_rest, values_of
from loomwright.refusals import OutOfReach
from loomwright.states.asking.answers import Answers, type_bool
from loomwright.states.asking.cones import REMEMBERS
from loomwright.states.asking.search import answers_of
from loomwright.states.truth.asked import AskedPoint, AskedVariable
from loomwright.tables.constants import constant

__all__ = ["CARRIES_A", "TruthCell", "TruthOther", "TruthRow", "TruthTable", "truth_table"]

CARRIES_A = 0.001
"""The least current that counts as carried. [A]"""

_TRIED_MOST = 6000
_PIECE = 2048
_SAME_FRAC, _SAME = 0.01, 0.05
State = Mapping[str, str | float]


@dataclass(frozen=True, slots=True, kw_only=True)
class TruthCell:
    """What a point does in one state.

    word: live, dead, between, floating; works, carries, none, blown, gives, takes; pulled, released, buzzing; alive.
    number: its volts or amps, in `unit`; None where there are none.
    """

    word: str
    number: float | None = None
    unit: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class TruthOther:
    """The same state come to from another one, where that changes what was asked. before: what differed there."""

    before: Mapping[str, str]
    cells: tuple[TruthCell, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class TruthRow:
    """One combination. values: one a variable. other: what is there by history, None = nothing else was found."""

    values: tuple[str, ...]
    cells: tuple[TruthCell, ...]
    other: TruthOther | None = None
    buzzes: bool = False
    collapsed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class TruthTable:
    """A truth table. impossible: combinations that cannot occur, left out. [-]   untried: rows that remember and were
    not asked from where they are come to, since they are too many. [-]

    at: variables that are set and not gone over.   before: the state each row is come to from; empty = from rest.
    """

    variables: tuple[str, ...]
    points: tuple[AskedPoint, ...]
    rows: tuple[TruthRow, ...]
    impossible: int
    untried: int
    at: Mapping[str, str]
    before: Mapping[str, str]

    def state_of(self, row: TruthRow) -> dict[str, str]:
        """The state of a row, as an address asks for it."""
        return {**self.at, **dict(zip(self.variables, row.values, strict=True))}


def truth_table(
    compiled: Compiled,
    points: Sequence[AskedPoint],
    over: Sequence[AskedVariable],
    *,
    at: State,
    before: State | None = None,
    system_v: float,
    most: int,
) -> TruthTable:
    """The table of some points over some variables.

    Args:
        at: the variables that are not gone over; those it does not name are at rest.
        before: the state each row is come to from; variables it does not name are as in the row.
        system_v: what the car is made for. [V]
        most: combinations that are worked out at most. [-]
    Raises:
        OutOfReach: more combinations than that, or a variable or value the car does not have.
    """
    _not_too_many(compiled, over, most)
    fixed = {name: value for name, value in at.items() if name not in {one.name for one in over}}
    base = values_of(compiled, fixed)
    combos = np.array(list(product(*(one.values for one in over))), np.int64).reshape(-1, len(over))
    states = np.repeat(base[None, :], len(combos), axis=0)
    states[:, [one.number for one in over]] = combos
    earlier = _earlier(compiled, states, before)
    reader = _Reader(compiled, tuple(points), system_v)
    rows: list[TruthRow] = []
    untried = 0
    for first in range(0, len(states), _PIECE):
        here = slice(first, first + _PIECE)
        answers = answers_of(compiled, states[here], None if earlier is None else earlier[here])
        cells = reader.cells(answers)
        others, left = _others(reader, answers, cells) if earlier is None else ({}, 0)
        untried += left
        for row in np.flatnonzero(answers.possible).tolist():
            rows.append(
                TruthRow(
                    values=tuple(
                        compiled.network.variables[one.number].values[int(answers.batch.values[row, one.number])]
                        for one in over
                    ),
                    cells=cells[row],
                    other=others.get(row),
                    buzzes=bool(answers.batch.buzz[row].any()),
                    collapsed=bool(answers.collapsed()[row]),
                )
            )
    return TruthTable(
        variables=tuple(one.name for one in over),
        points=tuple(points),
        rows=tuple(rows),
        impossible=len(states) - len(rows),
        untried=untried,
        at={name: str(value) for name, value in fixed.items()},
        before={name: str(value) for name, value in (before or {}).items()},
    )


def _not_too_many(compiled: Compiled, over: Sequence[AskedVariable], most: int) -> None:
    counts = {one.name: len(one.values) for one in over}
    every = prod(counts.values())
    if every <= most:
        return
    left, out = every, []
    for name, count in sorted(counts.items(), key=lambda item: -item[1]):
        if left > most:
            left //= count
            out.append(name)
    does_it = ", ".join(f"{name} {count}" for name, count in sorted(counts.items(), key=lambda item: -item[1]))
    fewer = f"or name fewer values, such as {over[0].name}={_two(compiled, over[0])}"
    mend = f"without {' and '.join(out)} it is {left}; {fewer}"
    raise OutOfReach("combinations", f"{every} ({does_it})", f"at most {most}; {mend}")


def _two(compiled: Compiled, one: AskedVariable) -> str:
    return "|".join(compiled.network.variables[one.number].values[k] for k in one.values[:2])


def _earlier(compiled: Compiled, states: type_i, before: State | None) -> type_i | None:
    """The states the rows are come to from."""
    if not before:
        return None
    wanted = values_of(compiled, before)
    earlier = states.copy()
    for name in before:
        number = compiled.variable_of[name]
        earlier[:, number] = wanted[number]
    return earlier


@dataclass(frozen=True, slots=True, eq=False)
class _Reader:
    """Reads points out of answers. system_v: [V]"""

    compiled: Compiled
    points: tuple[AskedPoint, ...]
    system_v: float

    def cells(self, answers: Answers) -> list[tuple[TruthCell, ...]]:
        """The cells of every state."""
        columns = [self._column(point, answers) for point in self.points]
        return [tuple(column[row] for column in columns) for row in range(answers.count)]

    def _column(self, point: AskedPoint, answers: Answers) -> list[TruthCell]:
        if point.what == "volts":
            return [self._volts(float(volts)) for volts in answers.volts(point.node)]
        if point.what == "amps":
            return self._amps(point, answers)
        on, off = ("alive", "dead") if point.what == "alive" else ("pulled", "released")
        is_on: type_bool = np.stack([answers.on(device) for device in point.devices])
        buzzes: type_bool = np.stack([answers.buzzing(device) for device in point.devices])
        return [
            TruthCell(word="buzzing" if buzzes[:, row].any() else on if is_on[:, row].any() else off)
            for row in range(answers.count)
        ]

    def _volts(self, volts: float) -> TruthCell:
        if np.isnan(volts):
            return TruthCell(word="floating", unit="V")
        is_live, is_dead = abs(volts) >= constant("live_frac") * self.system_v, abs(volts) <= constant("dead_v")
        return TruthCell(word="live" if is_live else "dead" if is_dead else "between", number=volts + 0.0, unit="V")

    def _amps(self, point: AskedPoint, answers: Answers) -> list[TruthCell]:
        each = np.stack([answers.amps(k) for k in point.elements])
        amps = each[np.abs(each).argmax(axis=0), np.arange(answers.count)] if point.any_of else each.sum(axis=0)
        amps = -amps if point.gives else amps
        blown = np.zeros(answers.count, bool)
        for device in point.devices:
            blown |= answers.on(device)
        works_a = None if point.rated_a is None else constant("works_frac") * point.rated_a
        cells = [self._carries(float(one), bool(gone), works_a) for one, gone in zip(amps, blown, strict=True)]
        return [_of_machine(cell) for cell in cells] if point.gives else cells

    @staticmethod
    def _carries(amps: float, is_blown: bool, works_a: float | None) -> TruthCell:
        carries = abs(amps) >= CARRIES_A
        word = "works" if works_a is not None and abs(amps) >= works_a else "carries" if carries else "none"
        return TruthCell(word="blown" if is_blown else word, number=amps + 0.0, unit="A")


def _of_machine(cell: TruthCell) -> TruthCell:
    """A battery or an alternator gives or takes."""
    gives = (cell.number or 0.0) > 0.0
    return replace(cell, word="gives" if gives else "takes") if cell.word == "carries" else cell


def _others(
    reader: _Reader, answers: Answers, cells: Sequence[tuple[TruthCell, ...]]
) -> tuple[dict[int, TruthOther], int]:
    """Of the rows that remember, what they are when come to from a neighbour; and how many were not tried."""
    compiled = reader.compiled
    devices = [k for k, device in enumerate(compiled.network.devices) if device.what in REMEMBERS]
    if not devices:
        return {}, 0
    start = start_at_rest(compiled, answers.count)
    start[:, devices] = 1
    pulled = solve_many(compiled, answers.batch.values, start)
    differ = (pulled.devices[:, devices] != answers.batch.devices[:, devices]).any(axis=1)
    rows = np.flatnonzero(differ & answers.possible)
    tried = rows[: _TRIED_MOST // max(1, sum(len(variable.values) - 1 for variable in compiled.network.variables))]
    found: dict[int, TruthOther] = {}
    for which, now, earlier in _neighbours(compiled, answers.batch.values, tried):
        came = answers_of(compiled, now, earlier)
        could = answers_of(compiled, earlier).possible & came.possible
        for place, told in enumerate(reader.cells(came)):
            row = int(which[place])
            if could[place] and row not in found and _is_other(told, cells[row]):
                found[row] = TruthOther(before=_before(compiled, now[place], earlier[place]), cells=told)
    return found, len(rows) - len(tried)


def _neighbours(compiled: Compiled, states: type_i, rows: type_i) -> Iterable[tuple[type_i, type_i, type_i]]:
    """(row, state, the state before it), one variable apart, in pieces."""
    which: list[int] = []
    earlier: list[type_i] = []
    for row in rows.tolist():
        for number, variable in enumerate(compiled.network.variables):
            for value in range(len(variable.values)):
                if value != states[row, number]:
                    before = states[row].copy()
                    before[number] = value
                    which.append(row)
                    earlier.append(before)
    for first in range(0, len(which), _PIECE):
        some = np.array(which[first : first + _PIECE], np.int64)
        yield some, states[some], np.array(earlier[first : first + _PIECE], np.int64)


def _before(compiled: Compiled, now: type_i, earlier: type_i) -> dict[str, str]:
    variables = compiled.network.variables
    return {variables[k].name: variables[k].values[int(earlier[k])] for k in np.flatnonzero(now != earlier).tolist()}


def _is_other(one: Sequence[TruthCell], other: Sequence[TruthCell]) -> bool:
    return any(a.word != b.word or _apart(a.number, b.number) for a, b in zip(one, other, strict=True))


def _apart(one: float | None, other: float | None) -> bool:
    if one is None or other is None:
        return one is not other
    return abs(one - other) > max(_SAME, _SAME_FRAC * max(abs(one), abs(other)))
