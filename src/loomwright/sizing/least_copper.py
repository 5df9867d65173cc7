"""Which size for each wire takes least copper and loses no more than each way may lose?

In: for each wire its sizes with their grams, for each line (a way of current) what each size of each of its wires loses
and how much may be lost. Out: one size a wire.

    least   sum of grams      while, on every line, the sum of what its wires lose <= what may be lost

Wires on one line only are *its own*, others *shared*. Once the shared ones are given, the lines are apart from each
other and each is answered from a list of its own wires' best combinations (no other loses less for less copper). The
shared ones are tried one after the other, thin first; what cannot end below the best known is not followed (branch and
bound). Two answers of the same copper: the one with fewer different sizes. Past a count of trials the best so far is
kept and told as not proved; it is then one that cannot be bettered by making any wire, or any two of a line, thinner.

Source: worked-out; exact by enumeration, checked against all combinations in tests/sizing.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from heapq import heappop, heappush
from itertools import pairwise

__all__ = ["Best", "Question", "cheaper", "least_copper"]

_TRIALS_MOST = 2000
_MANY_SHARED = 12
_TRIALS_OF_MANY = 300
"""With more shared wires than can be walked to the end, only so many trials look for something better [-]."""
_SAME_G = 1e-6
_SAME_V = 1e-12
_NO_GRAMS = float("inf")

Choice = Mapping[str, int]
"""Wire -> which of its sizes."""


Way = tuple[Mapping[str, tuple[float, ...]], float]
"""A line: wire -> volts each of its sizes loses, and the volts that may be lost."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Question:
    """What is asked.

    sizes_mm2: wire -> sizes that may be chosen, thinnest first. [mm2]   grams: wire -> what each of them weighs. [g]
    lines: for each line, wire -> volts each of its sizes loses, and the volts that may be lost. [V]
    held_mm2: sizes the loom has anyway. [mm2]
    """

    sizes_mm2: Mapping[str, tuple[float, ...]]
    grams: Mapping[str, tuple[float, ...]]
    lines: tuple[Way, ...]
    held_mm2: frozenset[float] = frozenset()

    def weight_g(self, choice: Choice) -> float:
        """Copper of a choice. [g]"""
        return sum(self.grams[wire][at] for wire, at in choice.items())

    def count(self, choice: Choice) -> int:
        """How many different sizes a choice brings that the loom does not have anyway. [-]"""
        return len({self.sizes_mm2[wire][at] for wire, at in choice.items()} - self.held_mm2)

    def holds(self, choice: Choice) -> bool:
        """Whether no line loses more than it may."""
        return all(_lost_v(wires, choice) <= most_v + _SAME_V for wires, most_v in self.lines)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Best:
    """An answer. proved: nothing has less copper."""

    choice: Choice
    proved: bool


def least_copper(question: Question) -> Best | None:
    """The choice of least copper; None where even the thickest wires lose too much on some line.

    Example:
        >>> question = Question(
        ...     sizes_mm2={"W1": (1.0, 2.5), "W2": (1.0, 2.5)},
        ...     grams={"W1": (10.0, 25.0), "W2": (2.0, 5.0)},
        ...     lines=(({"W1": (0.5, 0.2), "W2": (0.3, 0.1)}, 0.65),),
        ... )
        >>> least_copper(question).choice
        {'W1': 0, 'W2': 1}
    """
    if not question.holds(_thickest(question)):
        return None
    free = dict.fromkeys(question.sizes_mm2, 0)
    proved = True
    for part in _parts(question):
        start = _pruned(part, _greedy(part))
        walk = _Walk(part, bound_g=part.weight_g(start), most=1)
        walk.best = [(part.weight_g(start), part.count(start), start)]
        walk.run()
        free |= _pruned(part, walk.best[0][2])
        proved = proved and not walk.stopped
    return Best(choice=free, proved=proved)


def cheaper(question: Question, now: Choice, most: int) -> tuple[tuple[tuple[Choice, ...], ...], bool]:
    """Of each group of wires that hang together by lines, the choices with less copper than now, least first.

    Args:
        now: a choice for all wires.
        most: no more than so many of a group.
    Returns:
        The groups that have any, and whether these are all there are.
    """
    groups: list[tuple[Choice, ...]] = []
    whole = True
    for part in _parts(question):
        mine = {wire: now[wire] for wire in part.sizes_mm2}
        walk = _Walk(part, bound_g=part.weight_g(mine) - 2 * _SAME_G, most=most)
        walk.run()
        whole = whole and not walk.stopped and len(walk.best) < most
        if walk.best:
            groups.append(tuple(choice for _, _, choice in walk.best))
    return tuple(groups), whole


class _Walk:
    """One walk over the shared wires of a group, thin first; keeps the best `most` answers below the bound."""

    def __init__(self, question: Question, *, bound_g: float, most: int) -> None:
        self.question = question
        self.most = most
        self.best: list[tuple[float, int, Choice]] = []
        self.stopped = False
        self._bound_g = bound_g
        lines_of = _lines_of(question)
        self._shared = sorted(
            (wire for wire, lines in lines_of.items() if len(lines) > 1), key=lambda wire: (-len(lines_of[wire]), wire)
        )
        self._left = _TRIALS_MOST if len(self._shared) <= _MANY_SHARED else _TRIALS_OF_MANY
        shared = set(self._shared)
        self._own = [_combinations(question, [w for w in wires if w not in shared], number) for number, (wires, _) in
                     enumerate(question.lines)]  # fmt: skip
        # of a line's own wires the volts, which fall along the list as grams rise, and the grams
        self._own_g = [([-one[0] for one in own], [one[1] for one in own]) for own in self._own]
        self._volts = [{wire: wires[wire] for wire in wires if wire in shared} for wires, _ in question.lines]

    def run(self) -> None:
        """Walks."""
        slack = [most_v - sum(volts[-1] for volts in self._volts[n].values()) for n, (_, most_v) in
                 enumerate(self.question.lines)]  # fmt: skip
        least_g = sum(self.question.grams[wire][0] for wire in self._shared)
        self._go(0, {}, slack, least_g)

    def _go(self, depth: int, fixed: dict[str, int], slack: list[float], shared_g: float) -> None:
        if self._left <= 0:
            self.stopped = True
            return
        self._left -= 1
        own_g = 0.0
        for (less_v, grams_of), room_v in zip(self._own_g, slack, strict=True):
            at = bisect_left(less_v, -(room_v + _SAME_V))
            own_g += grams_of[at] if at < len(grams_of) else _NO_GRAMS
        if shared_g + own_g > self._limit_g():
            return
        if depth == len(self._shared):
            self._keep(fixed, slack)
            return
        wire = self._shared[depth]
        grams = self.question.grams[wire]
        for at in range(len(grams)):
            now_g = shared_g - grams[0] + grams[at]
            if now_g + own_g > self._limit_g():
                return
            room = [
                room_v + volts[wire][-1] - volts[wire][at] if wire in volts else room_v
                for room_v, volts in zip(slack, self._volts, strict=True)
            ]
            self._go(depth + 1, {**fixed, wire: at}, room, now_g)

    def _limit_g(self) -> float:
        """Beyond this nothing is worth following; the same copper is, for it may have fewer sizes. [g]"""
        if len(self.best) < self.most:
            return self._bound_g + _SAME_G
        return min(self._bound_g, self.best[-1][0]) + _SAME_G

    def _keep(self, fixed: Choice, slack: Sequence[float]) -> None:
        """Takes the own wires' best for what is left on each line; where more are wanted, the next ones too."""
        chosen: list[tuple[float, Choice]] = [(0.0, fixed)]
        for number, room_v in enumerate(slack):
            fits = [one for one in self._own[number] if one[0] <= room_v + _SAME_V]
            fits = sorted(fits, key=lambda one: one[1])[: self.most]
            joined: list[tuple[float, Choice]] = [
                (grams + one[1], {**choice, **one[2]}) for grams, choice in chosen for one in fits
            ]
            chosen = sorted(joined, key=lambda pair: pair[0])[: self.most]
        for _, choice in chosen:
            entry = (self.question.weight_g(choice), self.question.count(choice), choice)
            if entry[0] <= self._limit_g() and all(dict(other[2]) != dict(choice) for other in self.best):
                self.best.append(entry)
        self.best.sort(key=lambda one: (round(one[0] / _SAME_G), one[1]))
        del self.best[self.most :]


def _parts(question: Question) -> list[Question]:
    """The wires that hang together by lines, each group a question of its own; lone wires are left out."""
    group = {wire: wire for wire in question.sizes_mm2}

    def root(wire: str) -> str:
        while group[wire] != wire:
            wire = group[wire]
        return wire

    for wires, _ in question.lines:
        for one, other in pairwise(wires):
            group[root(one)] = root(other)
    lines: dict[str, list[Way]] = {}
    for wires, most_v in _ruling(question.lines):
        if wires:
            lines.setdefault(root(next(iter(wires))), []).append((wires, most_v))
    found = []
    for each in lines.values():
        names = [wire for wire in question.sizes_mm2 if any(wire in wires for wires, _ in each)]
        found.append(
            Question(
                sizes_mm2={wire: question.sizes_mm2[wire] for wire in names},
                grams={wire: question.grams[wire] for wire in names},
                lines=tuple(each),
                held_mm2=question.held_mm2,
            )
        )
    return found


def _ruling(lines: Sequence[Way]) -> list[Way]:
    """The lines less those that hold whenever another does: no more is lost by any wire, and no less may be lost."""
    kept: list[Way] = []
    for wires, most_v in sorted(lines, key=lambda line: line[1]):
        if not any(other_v <= most_v and _is_less(wires, other) for other, other_v in kept):
            kept.append((wires, most_v))
    return kept


def _is_less(wires: Mapping[str, tuple[float, ...]], other: Mapping[str, tuple[float, ...]]) -> bool:
    return all(
        wire in other and all(v <= w for v, w in zip(volts, other[wire], strict=True)) for wire, volts in wires.items()
    )


def _lines_of(question: Question) -> dict[str, list[int]]:
    found: dict[str, list[int]] = {wire: [] for wire in question.sizes_mm2}
    for number, (wires, _) in enumerate(question.lines):
        for wire in wires:
            found[wire].append(number)
    return found


def _combinations(
    question: Question, wires: Iterable[str], line: int
) -> tuple[tuple[float, float, dict[str, int]], ...]:
    """Volts, grams and choice of a line's own wires: those that no other betters in both, most volts first."""
    volts = question.lines[line][0]
    found: list[tuple[float, float, dict[str, int]]] = [(0.0, 0.0, {})]
    for wire in wires:
        every = [
            (lost_v + volts[wire][at], weight_g + grams, {**choice, wire: at})
            for lost_v, weight_g, choice in found
            for at, grams in enumerate(question.grams[wire])
        ]
        every.sort(key=lambda one: (one[1], one[0]))
        found = []
        for one in every:
            if not found or one[0] < found[-1][0] - _SAME_V:
                found.append(one)
    return tuple(found)


def _greedy(question: Question) -> dict[str, int]:
    """From the thinnest on, always the step that gains most volts, where they lack, for its grams."""
    choice, lines_of = dict.fromkeys(question.sizes_mm2, 0), _lines_of(question)
    lack = [_lost_v(wires, choice) - most_v for wires, most_v in question.lines]
    while True:
        lacking = [number for number, lack_v in enumerate(lack) if lack_v > _SAME_V]
        if not lacking:
            return choice
        steps = []
        for wire in {wire for number in lacking for wire in question.lines[number][0]}:
            at = choice[wire]
            if at + 1 < len(question.grams[wire]):
                gain_v = 0.0
                for number in lines_of[wire]:
                    if lack[number] > _SAME_V:
                        volts = question.lines[number][0][wire]
                        gain_v += min(lack[number], volts[at] - volts[at + 1])
                steps.append((-gain_v / (question.grams[wire][at + 1] - question.grams[wire][at]), wire))
        if not steps:
            return choice
        thicker = min(steps)[1]
        choice[thicker] += 1
        for number in lines_of[thicker]:
            wires, most_v = question.lines[number]
            lack[number] = _lost_v(wires, choice) - most_v


def _pruned(question: Question, choice: Choice) -> dict[str, int]:
    """A choice in which no wire can be thinner, and no two of a line: the one that saves most is made thinner first."""
    now, lines_of = dict(choice), _lines_of(question)
    pairs = {(a, b) for wires, _ in question.lines for a in wires for b in wires if a < b}
    moves = [(wire,) for wire in now] + sorted(pairs)
    with_wire: dict[str, list[int]] = {wire: [] for wire in now}
    for number, move in enumerate(moves):
        for wire in move:
            with_wire[wire].append(number)
    spare_v = [most_v - _lost_v(wires, now) for wires, most_v in question.lines]
    waiting: list[tuple[float, int, tuple[int, ...]]] = []

    def wait(number: int) -> None:
        at = tuple(now[wire] for wire in moves[number])
        if all(at):
            saved_g = sum(
                question.grams[wire][k] - question.grams[wire][k - 1] for wire, k in zip(moves[number], at, strict=True)
            )
            heappush(waiting, (-saved_g, number, at))

    def fits(move: tuple[str, ...]) -> bool:
        more_v: dict[int, float] = {}  # on every other line as much is lost as before
        for wire in move:
            for line in lines_of[wire]:
                volts = question.lines[line][0][wire]
                more_v[line] = more_v.get(line, 0.0) + volts[now[wire] - 1] - volts[now[wire]]
        return all(lost_v <= spare_v[line] + _SAME_V for line, lost_v in more_v.items())

    for number in range(len(moves)):
        wait(number)
    while waiting:
        _, number, at = heappop(waiting)
        move = moves[number]
        if at != tuple(now[wire] for wire in move) or not fits(move):
            # what does not fit fits no better once other wires are thinner, until one of its own is
            continue
        for wire in move:
            now[wire] -= 1
        for line in {line for wire in move for line in lines_of[wire]}:
            spare_v[line] = question.lines[line][1] - _lost_v(question.lines[line][0], now)
        for again in sorted({again for wire in move for again in with_wire[wire]}):
            wait(again)
    return now


def _thickest(question: Question) -> dict[str, int]:
    return {wire: len(sizes) - 1 for wire, sizes in question.sizes_mm2.items()}


def _lost_v(wires: Mapping[str, tuple[float, ...]], choice: Choice) -> float:
    return sum(volts[choice[wire]] for wire, volts in wires.items())
