"""Which sizes, of those that each wire may have, lose no more than their ways may lose, with least copper?

Currents hardly depend on sizes, so the question is first asked with those that flow now (`least_copper`), then the car
is solved with the answer, and so on until the answer stays: the last word is always a solved car, never the estimate.

That nothing has less copper is shown the other way round: with the least currents met anywhere every choice that could
do is let through, and those with less copper than the answer are tried one by one on the solved car. Where there are
too many to try, the answer is one in which no wire, and no two on one way, can be thinner (`confirmed`): every wire is
tried on the solved car, and every two that the least currents would let through.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from loomwright.network.compiled import Compiled
from loomwright.sizing.least_copper import Choice, Question, cheaper, least_copper
from loomwright.sizing.volt_lines import Line, Lost, lost_on
from loomwright.sizing.wire_ohms import WireOhms, resized

__all__ = ["Impossible", "VoltChoice", "Volts", "choose_volts", "confirmed", "thermal_row"]

_ROUNDS_MOST = 12
_TRIED_MOST = 16
_EQUAL_FRAC = 1e-7
"""Of its limit, by which a line may be over it and still be equal. [0..1]"""
_LESS_FRAC = 0.995
"""Of the least current met: no choice in reach has less. [0..1]"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Volts:
    """The ways and wires the question is about.

    compiled: the network with any sizes. ohms: resistance of each open wire by size. lines: ways that pass any of them.
    sizes_mm2: that each may have, thinnest first. [mm2]   grams_per_mm2: copper of a square millimetre of each. [g/mm2]
    held_mm2: sizes the loom has anyway. [mm2]
    """

    compiled: Compiled
    ohms: Mapping[str, WireOhms]
    lines: tuple[Line, ...]
    sizes_mm2: Mapping[str, tuple[float, ...]]
    grams_per_mm2: Mapping[str, float]
    held_mm2: frozenset[float]
    _at: dict[int, tuple[int, str]] = field(init=False, repr=False)
    """Element -> which of the open wires it is, in their order."""

    def __post_init__(self) -> None:
        at = {ohms.element: (rank, name) for rank, (name, ohms) in enumerate(self.ohms.items())}
        object.__setattr__(self, "_at", at)

    def with_sizes(self, sizes_mm2: Mapping[str, float]) -> Compiled:
        """The network with these sizes."""
        return resized(self.compiled, self.ohms, sizes_mm2)

    def wires_of(self, line: Line) -> tuple[str, ...]:
        """The open wires a line passes."""
        return tuple(name for _, name in sorted({self._at[piece] for piece in line.pieces if piece in self._at}))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Impossible:
    """A line that even the thickest wires do not mend.

    least_v: lost with the thickest. [V]   given_v: of that, lost by what is given. [V]   allowed_v: on it. [V]
    wires: open ones it passes.
    """

    line: Line
    least_v: float
    given_v: float
    allowed_v: float
    wires: tuple[str, ...]

    @property
    def is_given(self) -> bool:
        """Whether what is given alone loses too much already."""
        return self.given_v > self.allowed_v


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class VoltChoice:
    """The answer: sizes of all wires, what is lost on each line with them, and lines nothing mends.

    sizes_mm2: [mm2]   proved: nothing has less copper.
    thinner: once `confirmed`, wire -> the line that its next thinner size breaks.
    """

    sizes_mm2: Mapping[str, float]
    lost: tuple[Lost, ...]
    lines: tuple[Line, ...]
    impossible: tuple[Impossible, ...]
    proved: bool
    thinner: Mapping[str, tuple[Line, Lost]]


def choose_volts(volts: Volts, *, roughly: bool = False) -> VoltChoice:
    """The sizes of least copper that lose no more than each line may lose, as the solved car has it.

    Args:
        roughly: do not look for a choice with less copper than the first that holds.
    """
    impossible: list[Impossible] = []
    now = dict.fromkeys(volts.sizes_mm2, 0)
    met: list[tuple[Lost, ...]] = []
    proved = True
    for turn in range(_ROUNDS_MOST):
        lost = _lost(volts, now)
        met.append(lost)
        hopeless = _impossible(volts, lost)
        if hopeless:
            impossible += hopeless
            gone = {id(one.line) for one in hopeless}
            kept = [number for number, line in enumerate(volts.lines) if id(line) not in gone]
            volts = replace(volts, lines=tuple(volts.lines[number] for number in kept))
            met = [tuple(one[number] for number in kept) for one in met]
            lost = met[-1]
        # after some turns the largest current met counts, so that two answers do not follow each other for ever
        best = least_copper(_question(volts, met[-1:] if turn < _ROUNDS_MOST // 2 else met))
        if best is None:
            break
        proved = best.proved
        if dict(best.choice) == now and _hold(volts.lines, lost):
            break
        now = dict(best.choice)
    now = _made_to_hold(volts, now)
    now, whole = (now, False) if roughly else _with_less(volts, now, met)
    return VoltChoice(
        sizes_mm2={name: volts.sizes_mm2[name][at] for name, at in now.items()},
        lost=_lost(volts, now),
        lines=volts.lines,
        impossible=tuple(impossible),
        proved=proved and whole,
        thinner={},
    )


def confirmed(volts: Volts, choice: VoltChoice) -> VoltChoice:
    """A choice with what its wires' next thinner sizes break, each tried on the solved car; thinner where none does."""
    volts = replace(volts, lines=choice.lines)
    now = {name: volts.sizes_mm2[name].index(size) for name, size in choice.sizes_mm2.items()}
    now, thinner = _thinned(volts, now, pairs=not choice.proved)
    return replace(
        choice,
        sizes_mm2={name: volts.sizes_mm2[name][at] for name, at in now.items()},
        lost=_lost(volts, now),
        thinner=thinner,
    )


def _lost(volts: Volts, choice: Choice, lines: Sequence[Line] | None = None) -> tuple[Lost, ...]:
    lines = volts.lines if lines is None else lines
    if not lines:
        return ()
    return lost_on(volts.with_sizes({name: volts.sizes_mm2[name][at] for name, at in choice.items()}), lines)


def _hold(lines: Iterable[Line], lost: Iterable[Lost]) -> bool:
    return all(one.left_v >= -_EQUAL_FRAC * line.limit_v for line, one in zip(lines, lost, strict=True))


def _question(volts: Volts, met: Sequence[tuple[Lost, ...]], *, least: bool = False) -> Question:
    """The question by the currents met: the largest of them, or somewhat less than the least."""
    lines = []
    for number, line in enumerate(volts.lines):
        amps, given_v = _amps(volts, line, [one[number] for one in met], least=least)
        allowed_v = max(one[number].allowed_v for one in met) if least else met[-1][number].allowed_v
        row = thermal_row(volts.compiled, line)
        wires = {
            name: tuple(each * volts.ohms[name].ohm(size, row) for size in volts.sizes_mm2[name])
            for name, each in amps.items()
        }
        lines.append((wires, allowed_v * (1.0 + _EQUAL_FRAC) - given_v))
    grams = {name: tuple(volts.grams_per_mm2[name] * size for size in sizes) for name, sizes in volts.sizes_mm2.items()}
    return Question(sizes_mm2=volts.sizes_mm2, grams=grams, lines=tuple(lines), held_mm2=volts.held_mm2)


def _amps(volts: Volts, line: Line, lost: Sequence[Lost], *, least: bool) -> tuple[dict[str, float], float]:
    """The current through each open wire of a line, and what its other pieces lose. [A, V]"""
    pick = min if least else max
    spare = _LESS_FRAC if least else 1.0
    at = {volts.ohms[name].element: name for name in volts.wires_of(line)}
    amps: dict[str, float] = {}
    given_v = 0.0
    for place, piece in enumerate(line.pieces):
        if piece in at:
            amps[at[piece]] = spare * pick(one.each_a[place] for one in lost)
        else:
            given_v += spare * pick(one.each_v[place] for one in lost)
    return amps, given_v


def thermal_row(compiled: Compiled, line: Line) -> int:
    """The temperature row of a line's state."""
    thermal = compiled.network.thermal
    if thermal < 0:
        return 0
    selector = compiled.network.selectors[thermal]
    second = int(line.values[selector.second]) if selector.second >= 0 else 0
    return selector.rows[int(line.values[selector.first])][second]


def _impossible(volts: Volts, lost: tuple[Lost, ...]) -> list[Impossible]:
    """Lines that lose too much with every wire at its thickest."""
    found = []
    question = _question(volts, [lost])
    for line, one, (wires, room_v) in zip(volts.lines, lost, question.lines, strict=True):
        thickest_v = sum(each[-1] for each in wires.values())
        if thickest_v > room_v:
            given_v = one.allowed_v - room_v
            found.append(
                Impossible(
                    line=line,
                    least_v=given_v + thickest_v,
                    given_v=given_v,
                    allowed_v=one.allowed_v,
                    wires=tuple(wires),
                )
            )
    return found


def _made_to_hold(volts: Volts, now: dict[str, int]) -> dict[str, int]:
    """Makes thicker, on the solved car, what gains most volts for its grams, until every line holds."""
    while True:
        lost = _lost(volts, now)
        if _hold(volts.lines, lost):
            return now
        question = _question(volts, [lost])
        steps = []
        for (wires, room_v), one in zip(question.lines, lost, strict=True):
            if one.left_v < 0.0 and sum(each[now[name]] for name, each in wires.items()) > room_v:
                for name, each in wires.items():
                    at = now[name]
                    if at + 1 < len(each):
                        more_g = question.grams[name][at + 1] - question.grams[name][at]
                        steps.append(((each[at + 1] - each[at]) / more_g, name))
        if not steps:
            return now
        name = min(steps)[1]
        now = {**now, name: now[name] + 1}


def _with_less(volts: Volts, now: dict[str, int], met: Sequence[tuple[Lost, ...]]) -> tuple[dict[str, int], bool]:
    """The first choice with less copper that holds on the solved car; whether all that could were tried."""
    if not volts.lines:
        return now, True
    thick = {name: len(sizes) - 1 for name, sizes in volts.sizes_mm2.items()}
    question = _question(volts, [*met, _lost(volts, thick)], least=True)
    groups, whole = cheaper(question, now, _TRIED_MOST)
    for group in groups:
        for choice in group:
            lines = [line for line in volts.lines if not choice.keys().isdisjoint(volts.wires_of(line))]
            if _hold(lines, _lost(volts, {**now, **choice}, lines)):
                now = {**now, **choice}
                break
    return now, whole


def _thinned(volts: Volts, now: dict[str, int], *, pairs: bool) -> tuple[dict[str, int], dict[str, tuple[Line, Lost]]]:
    """Makes thinner what the solved car lets be thinner; which line the next thinner size of each wire breaks.

    Args:
        pairs: try every two wires of one line, too, where the least currents would let them through.
    """
    while True:
        breaks: dict[str, tuple[Line, Lost]] = {}
        better: dict[str, int] | None = None
        could = _question(volts, [_lost(volts, now)], least=True) if pairs else None
        for move in _moves(volts, now, pairs=pairs):
            trial = {**now, **{name: now[name] - 1 for name in move}}
            if len(move) > 1 and could is not None and not could.holds(trial):
                continue
            lines = [line for line in volts.lines if not set(volts.wires_of(line)).isdisjoint(move)]
            lost = _lost(volts, trial, lines)
            if _hold(lines, lost):
                better = trial
                break
            if len(move) == 1:
                worst = min(range(len(lines)), key=lambda k: lost[k].left_v / lines[k].limit_v)
                breaks[move[0]] = lines[worst], lost[worst]
        if better is None:
            return now, breaks
        now = better


def _moves(volts: Volts, now: Mapping[str, int], *, pairs: bool) -> list[tuple[str, ...]]:
    """Each wire of a line alone, then every two of one line, that are not at their thinnest."""
    on_lines = dict.fromkeys(name for line in volts.lines for name in volts.wires_of(line))
    single: list[tuple[str, ...]] = [(name,) for name in on_lines if now[name] > 0]
    if not pairs:
        return single
    both = dict.fromkeys(
        (a, b)
        for line in volts.lines
        for a in volts.wires_of(line)
        for b in volts.wires_of(line)
        if a < b and now[a] > 0 and now[b] > 0
    )
    return [*single, *both]
