"""In which states is each question broken?

Every watch is asked of every round of solved states (`solving`), and of each watch the plainest (or the worst) state
that breaks it is kept. Questions may be asked in groups, of rounds that were solved earlier, so that those an edit
left alone are not asked again.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass, replace

import numpy as np

from loomwright.network.arrays import type_i
from loomwright.network.compiled import Compiled
from loomwright.states.asking.answered import answers_of, implied_before, possible
from loomwright.states.asking.answers import Answers, type_bool
from loomwright.states.asking.fewest import Seen
from loomwright.states.asking.plan import ALL_BELOW, Space
from loomwright.states.asking.solving import Round, Solving, Tell
from loomwright.states.asking.thrown import Throws
from loomwright.states.asking.watch import Watch

__all__ = ["Broken", "Searched", "Tell", "answers_of", "ask_groups", "implied_before", "possible", "search"]


@dataclass(frozen=True, slots=True, eq=False)
class Broken:
    """A watch and a state that breaks it. before: the state it came from, None = from rest. found: the figure there.

    turned: it breaks with the relays changing in the other order (`orders`).   seen: the states asked from rest.
    """

    watch: Watch
    values: type_i | None
    before: type_i | None
    found: float
    turned: bool = False
    seen: Seen | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Searched:
    """What a search found: broken watches, the space, the states solved, and how many raw states that settles. [-]"""

    broken: tuple[Broken, ...]
    space: Space
    states: type_i
    states_searched: int
    solved: int


def search(
    compiled: Compiled,
    watches: Sequence[Watch],
    tell: Tell | None = None,
    all_below: int = ALL_BELOW,
    fixed: Mapping[str, str] | None = None,
) -> Searched:
    """Ask every watch of every state.

    Args:
        tell: called with states done and to do; may raise Stopped.
        all_below: with no more raw states than this every one is solved, else most are proved by bounds. [-]
        fixed: variable -> the value it is held at.
    Raises:
        NoAnswer: there are too many states; says which variables to fix.
        OutOfReach: an unknown variable or value is to be held.
    """
    solving = Solving(compiled, all_below, fixed)
    (broken,) = ask_groups(solving, (watches,), tell)
    return Searched(broken, solving.space, solving.states, solving.settled, solving.solved)


def ask_groups(
    solving: Solving,
    groups: Sequence[Sequence[Watch]],
    tell: Tell | None = None,
    within: Sequence[Callable[[], AbstractContextManager[None]]] | None = None,
) -> tuple[tuple[Broken, ...], ...]:
    """The broken watches of each group, in one pass over the states.

    Args:
        tell: called with states done and to do; may raise Stopped.
        within: for each group what is entered while it is asked, so that what it reads then can be noted.
    """
    askings = [_Asking(watches) for watches in groups]
    entered = within or [nullcontext] * len(askings)
    if any(groups):
        for one in solving.rounds(tell):
            for asking, enter in zip(askings, entered, strict=True):
                with enter():
                    asking.ask(one)
    found: list[tuple[Broken, ...]] = []
    for asking, enter in zip(askings, entered, strict=True):
        with enter():
            found.append(asking.broken(solving))
    solving.throws.let_go()
    return tuple(found)


class _Asking:
    """Watches that are asked of one round after the other, and what was found so far."""

    def __init__(self, watches: Sequence[Watch]) -> None:
        self._watches = watches
        self._best: list[Broken | None] = [None] * len(watches)
        self._satisfied = [False] * len(watches)
        self._broken_in: dict[int, list[tuple[int, type_bool]]] = {}

    def broken(self, solving: Solving) -> tuple[Broken, ...]:
        """The watches that are broken, with the best state of each."""
        found: list[Broken] = []
        for index, watch in enumerate(self._watches):
            best = self._best[index]
            if best is not None and best.values is not None and watch.worst and not solving.is_whole:
                best = _thrown(solving.throws, best, best.values)
            if watch.quantifier == "ever":
                if not self._satisfied[index]:
                    found.append(Broken(watch, None, None, 0.0))
            elif best is not None:
                hit = np.zeros(len(solving.states), bool)
                for first, piece in self._broken_in.get(index, ()):
                    hit[first : first + len(piece)] = piece
                seen = Seen(solving.states, hit, solving.can_be, whole=solving.is_whole)
                found.append(replace(best, seen=seen))
        return tuple(found)

    def ask(self, one: Round) -> None:
        """Keep of each watch the best state that breaks it, and where each of those that ask for none is broken."""
        answers, before = one.answers, one.before
        away = answers.once("away", _away)
        for index, watch in enumerate(self._watches):
            if watch.quantifier == "ever" and self._satisfied[index]:
                continue
            if watch.may_break is not None and not watch.may_break(answers):
                continue
            hit, found = watch.broken(answers)
            hit = hit & answers.possible
            if not hit.any():
                continue
            if watch.quantifier == "ever":
                self._satisfied[index] = True
                continue
            if one.first is not None:
                self._broken_in.setdefault(index, []).append((one.first, hit))
            rows = np.flatnonzero(hit)
            figures = np.nan_to_num(found[rows], nan=0.0)
            keys = (away[rows], -np.abs(figures)) if watch.worst else (-np.abs(figures), away[rows])
            row = int(rows[np.lexsort(keys)[0]])
            earlier = None if before is None else before[row].copy()
            now = Broken(watch, answers.batch.values[row].copy(), earlier, float(found[row]), one.turned)
            self._best[index] = _better(self._best[index], now, int(away[row]), answers.compiled)


def _away(answers: Answers) -> type_i:
    """How many variables of each state are away from rest. [-]"""
    return np.asarray((answers.batch.values != _rest_of(answers.compiled)[None, :]).sum(axis=1))


def _rest_of(compiled: Compiled) -> type_i:
    return np.array([v.values.index(v.rest) for v in compiled.network.variables], np.int64)


def _thrown(throws: Throws, best: Broken, values: type_i) -> Broken:
    """The worst state, from which no throw of one switch leads to a worse one."""
    if best.before is not None or best.turned:
        return best
    worst, found = throws.worst(best.watch, values, best.found)
    return replace(best, values=worst, found=found)


def _better(old: Broken | None, new: Broken, away: int, compiled: Compiled) -> Broken:
    if old is None or old.values is None:
        return new
    if new.watch.worst:
        return new if abs(new.found) > abs(old.found) + 1e-9 else old
    old_away = int((old.values != _rest_of(compiled)).sum()) + (old.before is not None) + old.turned
    return new if away + (new.before is not None) + new.turned < old_away else old
