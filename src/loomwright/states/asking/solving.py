"""Every state of a search solved, in rounds that can be asked: from rest, in the other order, from what came before.

The planned states are solved in pieces. A state with the key off and the engine turning is solved from the same with
the key in run. Where relays could lie another way than from rest, the states next to it are tried as what came before.

In: a compiled network, what is held. Out: rounds of answers, which may be kept to be asked other questions later.
"""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterator, Mapping
from dataclasses import dataclass, fields
from functools import cached_property
from math import prod
from threading import Lock, local

import numpy as np

from loomwright.network.arrays import TIER_RELAY, type_b, type_i
from loomwright.network.compiled import Compiled
from loomwright.network.solve import (
    Batch,
    Remembered,
    devices_after,
    gathered,
    remember,
    rows_of,
    solve_alike,
    start_at_rest,
)
from loomwright.states.asking.ahead import Ahead
from loomwright.states.asking.answered import answers_of, implied_before, possible
from loomwright.states.asking.answers import Answers, type_bool
from loomwright.states.asking.cones import REMEMBERS, Cones, cones_of
from loomwright.states.asking.cranking import that_can_crank
from loomwright.states.asking.distinct import distinct, rows_among
from loomwright.states.asking.heaviest import Heaviest
from loomwright.states.asking.orders import order_matters
from loomwright.states.asking.plan import (
    ALL_BELOW,
    Space,
    multiplied_out,
    plan_states,
    space_of,
)
from loomwright.states.asking.thrown import Throws
from loomwright.states.asking.too_large import refuse_too_many, with_fixed

__all__ = ["Round", "Solving", "Tell"]

Tell = Callable[[int, int], None]
_PIECE = 2048
_MEMORY_MOST = 6000
_KEPT_MOST = 25_000_000
"""Volts and amps kept of the states that others are come from [-]."""
_ROUNDS_BYTES_MOST = 150_000_000
"""Rounds that take more memory together are solved again when they are asked again."""
_WIDER = 0.98
_AHEAD_BYTES_MOST = 75_000_000
"""What may wait to be asked for, worked out ahead."""


@dataclass(frozen=True, slots=True, eq=False)
class Round:
    """States that are asked together.

    before: what each came from; None: from rest.   turned: with the relays changing in the other order.
    first: the place of the first among the planned states, where they are asked from rest; None elsewhere. [-]
    """

    answers: Answers
    before: type_i | None = None
    turned: bool = False
    first: int | None = None


class Solving:
    """The states of one search, solved when they are first asked.

    space: the values there are.   states: those that are planned, one row each, and once all rounds were asked those
    in which each wire carries most.   settled: raw states that they settle.
    solved: how many states were worked out.
    can_be: which of the planned ones can occur; both are known once all rounds were asked. [-]
    """

    def __init__(
        self,
        compiled: Compiled,
        all_below: int = ALL_BELOW,
        fixed: Mapping[str, str] | None = None,
        *,
        keeps: bool = False,
        known: tuple[Cones, Space] | None = None,
        ahead: bool = False,
    ) -> None:
        """Plan the states.

        Args:
            known: the cones and the space of the network, where they are worked out already.
            all_below: with no more raw states than this every one is solved, else most are proved by bounds. [-]
            fixed: variable -> the value it is held at.
            keeps: rounds are kept where there is room, so that they may be asked again without being solved again.
            ahead: solving begins at once, beside whatever is done until the rounds are asked for; `rest` ends it.
        Raises:
            NoAnswer: there are too many states; says which variables to fix.
            OutOfReach: an unknown variable or value is to be held.
        """
        self.compiled = compiled
        self._cones, space = known or (cones_of(compiled), space_of(compiled))
        self.space = with_fixed(compiled, space, fixed or {})
        self.is_whole = self.space.raw <= all_below
        blocks = multiplied_out(self.space, self._cones.asked, all_below)
        refuse_too_many(compiled, self.space, blocks, twice=not self.is_whole)
        planned = plan_states(self.space, self._cones.asked, all_below, self._cones.meeting)
        self._planned, share = that_can_crank(compiled, self.space, self._cones, planned)
        self.states = self._planned
        self.settled = _raw_possible(compiled, self.space, share)
        self.can_be: type_bool = np.zeros(len(self.states), bool)
        self.solved = 0
        self._room_bytes = _ROUNDS_BYTES_MOST if keeps else 0
        self._kept: tuple[Round, ...] | None = None
        self._over: Remembered | None = None
        self._own = local()
        self._lock = Lock()
        self._ahead = Ahead(self._solved(), _ahead_most(compiled)) if ahead else None
        self._is_taken = False

    def rounds(self, tell: Tell | None = None) -> Iterator[Round]:
        """Every round; not solved again where they are kept.

        Args:
            tell: called with states done and to do; may raise Stopped.
        """
        if self._kept is not None:
            yield from self._kept
            return
        kept: list[Round] = []
        room_bytes = self._room_bytes
        begun = None if self._is_taken else self._ahead
        self._is_taken = True
        try:
            for one in self._solved() if begun is None else begun:
                room_bytes -= _bytes_of(one)
                if room_bytes >= 0:
                    kept.append(one)
                else:
                    kept.clear()
                yield one
                if tell is not None and one.first is not None:
                    tell(one.first + one.answers.count, len(self.states))
        finally:
            if begun is not None:
                begun.end()
        if room_bytes >= 0 and self._room_bytes:
            self._kept = tuple(kept)

    @cached_property
    def throws(self) -> Throws:
        """What lies next to other states, for questions that ask for the worst."""
        return Throws(self.compiled, self.space, self.remembered)

    def remembered(self) -> Remembered:
        """What is known of ways of lying, for states beside those that are planned; each thread has its own."""
        found: Remembered | None = self._own.__dict__.get("remembered")
        if found is None:
            with self._lock:
                found, self._over = self._over, None
            found = self._own.remembered = found or remember(self.compiled)
        return found

    def let_go(self) -> None:
        """Keep no round; they are solved again when they are asked again."""
        self._kept = None
        self.__dict__.pop("throws", None)

    def rest(self) -> None:
        """Solve nothing ahead any more, and let go of what was only room to solve in."""
        if self._ahead is not None:
            self._ahead.end()
            self._ahead = None
        self._over = None
        self._own.__dict__.clear()

    def _solved(self) -> Generator[Round, None, None]:
        compiled, space, cones = self.compiled, self.space, self._cones
        self.solved = 0
        candidates: list[type_i] = []
        remembered = remember(compiled)
        turns = order_matters(compiled, cones)
        for first, answers in self._from_rest(remembered):
            piece = answers.batch.values
            yield Round(answers.by_columns(), first=first)
            doubtful = np.flatnonzero(_may_remember(compiled, answers, space, cones, whole=self.is_whole))
            if turns:
                turned = answers_of(compiled, piece[doubtful], None, remembered, turned=True)
                yield Round(turned.by_columns(), turned=True)
                self.solved += len(doubtful)
            candidates.append(_with_memory(compiled, answers, piece, doubtful, remembered))
            self.solved += len(piece) + len(doubtful)
        for values, before in _neighbours(compiled, space, np.concatenate(candidates)):
            for is_turned in (False, True) if turns else (False,):
                answers = answers_of(compiled, values, before, remembered, is_turned)
                yield Round(answers.by_columns(), before, is_turned)
                self.solved += len(values)
            self.solved += len(values)
        self._over = remembered

    def _from_rest(self, remembered: Remembered) -> Iterator[tuple[int, Answers]]:
        """The planned states in pieces, then those in which each wire carries most; with the place of the first."""
        self.states, self.can_be = self._planned, np.zeros(len(self._planned), bool)
        heaviest = None if self.is_whole else Heaviest(self.compiled, self.space, self._planned)
        for first, answers in self._in_pieces(0, self._planned, remembered):
            if heaviest is not None:
                heaviest.note(first, answers)
            yield first, answers
        if heaviest is None:
            return
        more = heaviest.states()
        more = more[rows_among(self._planned, more) < 0]
        self.states = np.concatenate([self._planned, more])
        self.can_be = np.concatenate([self.can_be, np.zeros(len(more), bool)])
        yield from self._in_pieces(len(self._planned), more, remembered)

    def _in_pieces(self, first: int, states: type_i, remembered: Remembered) -> Iterator[tuple[int, Answers]]:
        """The answers of states in pieces, each with the place of its first, and whether each can be noted."""
        for answers in _solved_pieces(self.compiled, states, remembered):
            self.can_be[first : first + answers.count] = answers.possible
            yield first, answers
            first += answers.count


def _ahead_most(compiled: Compiled) -> int:
    """How many rounds may wait to be asked for, so that solving does not stand still while rules read sheets. [-]"""
    state_bytes = 9 * (compiled.arrays.nodes + 1) + 8 * len(compiled.network.elements)
    return max(1, _AHEAD_BYTES_MOST // (_PIECE * state_bytes))


def _bytes_of(one: Round) -> int:
    batch = one.answers.batch
    return sum(int(getattr(batch, field.name).nbytes) for field in fields(Batch))


def _solved_pieces(compiled: Compiled, states: type_i, remembered: Remembered) -> Iterator[Answers]:
    """The answers of the states in pieces. What some are come from is solved first, and not again in its turn."""
    pieces = [states[first : first + _PIECE] for first in range(0, len(states), _PIECE)]
    implied, earlier = implied_before(compiled, states)
    begun, which = distinct(earlier[implied])
    if len(begun) * (compiled.arrays.nodes + len(compiled.network.elements)) > _KEPT_MOST:
        yield from (answers_of(compiled, piece, None, remembered) for piece in pieces)
        return
    first, stands_for = solve_alike(compiled, begun, None, remembered)
    start = start_at_rest(compiled, len(states))
    start[implied] = first.devices[stands_for[which]]
    known = rows_among(begun, states)
    known[known >= 0] = stands_for[known[known >= 0]]
    done = 0
    for piece in pieces:
        here = slice(done, done + len(piece))
        batch = _solved_but(compiled, piece, start[here], first, known[here], remembered)
        yield Answers(compiled, batch, possible(compiled, batch))
        done += len(piece)


def _solved_but(
    compiled: Compiled, values: type_i, start: type_b, first: Batch, known: type_i, remembered: Remembered
) -> Batch:
    """States solved, those that `first` has at row `known` taken from there."""
    new = known < 0
    found, stands_for = solve_alike(compiled, values[new], start[new], remembered)
    had, place = np.unique(known[~new], return_inverse=True)
    which = np.empty(len(values), np.int64)
    which[new] = stands_for
    which[~new] = place + len(found.values)
    return gathered([found, rows_of(first, had)], which, values)


def _may_remember(compiled: Compiled, answers: Answers, space: Space, cones: Cones, *, whole: bool) -> type_bool:
    """States in which a relay or controller could lie either way: a sense stands between its drop-out and its pull-in.
    An alternator that turns and is not awake would be, had it been woken before.

    One that can feed itself is asked in every state of the variables that decide it, the others at rest or loaded;
    where the whole is solved, in every state.
    """
    arrays = compiled.arrays
    found = np.full(answers.count, whole and bool(cones.holds_itself))
    for inside in {frozenset(space.core) | cones.of_device[device] for device in cones.holds_itself}:
        outside = [k for k in range(len(space.values)) if k not in inside]
        values = answers.batch.values[:, outside]
        found |= (values == space.rest[outside]).all(axis=1) | (values == space.loaded[outside]).all(axis=1)
    for k, device in enumerate(compiled.network.devices):
        if device.what not in REMEMBERS:
            continue
        if device.what == "excited":
            found |= answers.turning() & ~answers.on(k)
        for sense in range(arrays.sense_ptr[k], arrays.sense_ptr[k + 1]):
            element = int(arrays.sense_element[sense])
            if element >= 0:
                size = np.abs(answers.amps(element))
            else:
                size = answers.batch.v[:, arrays.sense_a[sense]] - answers.batch.v[:, arrays.sense_b[sense]]
            found |= (size >= arrays.sense_off[sense] * _WIDER) & (size < arrays.sense_on[sense] / _WIDER)
    return found


def _with_memory(
    compiled: Compiled, answers: Answers, piece: type_i, doubtful: type_i, remembered: Remembered
) -> type_i:
    """Of the doubtful states those in which relays that begin pulled come to rest another way."""
    states = piece[doubtful]
    other = devices_after(compiled, states, _all_on(compiled, len(states)), remembered)
    relays = [k for k, d in enumerate(compiled.network.devices) if d.what in REMEMBERS]
    if not relays:
        return piece[:0]
    differ = (other[:, relays] != answers.batch.devices[doubtful][:, relays]).any(axis=1)
    return np.asarray(states[differ])


def _all_on(compiled: Compiled, count: int) -> type_b:
    start = start_at_rest(compiled, count)
    for k, device in enumerate(compiled.network.devices):
        if compiled.arrays.tier[k] == TIER_RELAY and device.what != "signal":
            start[:, k] = 1
    return start


def _neighbours(compiled: Compiled, space: Space, states: type_i) -> list[tuple[type_i, type_i]]:
    """(state, state before it) pairs, one variable apart, in pieces."""
    if not len(states):
        return []
    now, earlier = [], []
    for variable, values in enumerate(space.values):
        for value in values:
            differ = states[:, variable] != value
            if not differ.any():
                continue
            before = states[differ].copy()
            before[:, variable] = value
            now.append(states[differ])
            earlier.append(before)
    all_now, all_before = np.concatenate(now), np.concatenate(earlier)
    if len(all_now) > _MEMORY_MOST:
        plainest = np.argsort((all_now != space.rest).sum(axis=1), kind="stable")[:_MEMORY_MOST]
        all_now, all_before = all_now[plainest], all_before[plainest]
    return [
        (all_now[first : first + _PIECE], all_before[first : first + _PIECE])
        for first in range(0, len(all_now), _PIECE)
    ]


def _raw_possible(compiled: Compiled, space: Space, share: float) -> int:
    """Raw states that can occur: those that crank only in the share of starter combinations that do crank. [-]"""
    engine = compiled.variable_of.get("engine")
    if engine is None or "cranking" not in compiled.network.variables[engine].values:
        return space.raw
    of_engine = len(space.values[engine])
    per_value = prod(len(values) for k, values in enumerate(space.values) if k != engine)
    return round(per_value * (of_engine - 1 + share))
