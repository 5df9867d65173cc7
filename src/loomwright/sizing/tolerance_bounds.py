"""How far can one figure stray at the very most, every draw at the end that is worst for it?

In a straight-line network every figure goes one way with each resistance and each source alone, so the furthest lies
where every draw is at one of its ends: a *corner*. Which end follows from turning one thing at a time. Where sources
fight, a bent law changes its side or a relay falls another way, the direction may turn on the way to the corner: there
each draw that counts is turned back once more. If one of them would have been worse the other way, or a device lies
another way, the bound is told as one that does not hold, with the furthest that was met.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loomwright.network.arrays import type_b, type_f, type_i
from loomwright.network.compiled import Compiled, with_figures
from loomwright.network.records import Law
from loomwright.network.settle import SETTLED
from loomwright.sizing.tolerance_asked import Moment, Questions
from loomwright.sizing.tolerance_draws import Draws, figures_with
from loomwright.states.asking.answers import Answers
from loomwright.states.asking.search import answers_of
from loomwright.tables.tolerances import tolerances

__all__ = ["Bound", "bounds_of"]

_CARRIES_A = 1e-4
_COUNTS_FRAC = 0.01
_EQUAL = 1e-9
_ALIKE_DIGITS = 7
_APART = ("battery", "alternator", "driver", "supply")
Work = tuple[Callable[..., dict[int, "Bound"]], tuple[object, ...]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bound:
    """The corners of one figure. holds: each draw goes one way all along, every device lies as it does as solved."""

    least: float
    most: float
    unit: str
    holds: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Asked:
    """Figures of one state. lines: number, element and whether it is amps, else volts."""

    lines: tuple[tuple[int, int, bool], ...]
    values: type_i
    before: type_i | None
    turned: tuple[tuple[int, ...], ...]


def bounds_of(compiled: Compiled, draws: Draws, questions: Questions, plain: Sequence[Answers]) -> list[Work]:
    """What is to be worked out, one piece a state; each gives number of the line -> `Bound`."""
    of_state: dict[tuple[int, int], list[tuple[int, int, bool]]] = {}
    for number, line in enumerate(questions.lines):
        if line.element >= 0:
            of_state.setdefault((line.moment, line.row), []).append((number, line.element, line.unit == "A"))
    groups = _groups(compiled, draws)
    return [
        (_bounds, (compiled, draws, _asked(compiled, questions.moments[moment], row, lines, plain[moment], groups)))
        for (moment, row), lines in of_state.items()
    ]


def _groups(compiled: Compiled, draws: Draws) -> Mapping[str, list[tuple[int, ...]]]:
    """Draws that are turned together, by the element they belong to: a resistance as a whole, others apart."""
    found: dict[tuple[str, str], list[int]] = {}
    for number, (row, thing) in enumerate(draws.names):
        apart = not thing or row.startswith(_APART)
        found.setdefault((thing, row if apart else ""), []).append(number)
    groups: dict[str, list[tuple[int, ...]]] = {}
    for (thing, _), numbers in found.items():
        groups.setdefault(thing, []).append(tuple(numbers))
    return groups


def _asked(
    compiled: Compiled,
    moment: Moment,
    row: int,
    lines: list[tuple[int, int, bool]],
    plain: Answers,
    groups: Mapping[str, list[tuple[int, ...]]],
) -> _Asked:
    """The figures of one state, and the draws that can matter there: of what carries current, and of bent laws."""
    amps = np.abs(plain.batch.amps[row])
    matter = {""}
    for index, element in enumerate(compiled.network.elements):
        if amps[index] > _CARRIES_A or (element.law != Law.LINEAR and element.law != Law.DIODE):
            matter.add(element.name)
    turned = tuple(group for name, many in groups.items() if name in matter for group in many)
    before = None if moment.before is None else moment.before[row]
    return _Asked(lines=tuple(lines), values=moment.values[row], before=before, turned=turned)


def _bounds(compiled: Compiled, draws: Draws, asked: _Asked) -> dict[int, Bound]:
    """The bounds of the figures of one state."""
    table = tolerances()
    ends = np.array([(table[row].least, table[row].most) for row, _ in draws.names])
    middle = np.ones(len(draws.names))

    def met(factors: NDArray[np.float64]) -> tuple[type_f, type_b, bool]:
        drawn = with_figures(compiled, figures_with(draws, factors))
        before = None if asked.before is None else asked.before[None, :]
        answers = answers_of(drawn, asked.values[None, :], before)
        figures = [
            abs(float(np.nan_to_num((answers.amps(element) if is_amps else answers.across(element))[0])))
            for _, element, is_amps in asked.lines
        ]
        return np.array(figures), answers.batch.devices[0], bool(answers.batch.status[0] == SETTLED)

    solved, devices, _ = met(middle)
    rises = np.zeros((len(asked.turned), len(asked.lines)))
    for number, group in enumerate(asked.turned):
        factors = middle.copy()
        factors[list(group)] = ends[list(group), 1]
        rises[number] = met(factors)[0] - solved
    found: dict[int, Bound] = {}
    alike: dict[bytes, Bound] = {}
    for place, (line, _, is_amps) in enumerate(asked.lines):
        # what lies in series carries the same current, whatever is turned
        key = np.append(rises[:, place], (solved[place], is_amps)).round(_ALIKE_DIGITS).tobytes()
        if key not in alike:
            low, high = (_corner(asked, ends, rises[:, place], place, side, met, devices) for side in (-1.0, 1.0))
            as_solved = float(solved[place])
            alike[key] = Bound(
                least=min(low[0], as_solved),
                most=max(high[0], as_solved),
                unit="A" if is_amps else "V",
                holds=low[1] and high[1],
            )
        found[line] = alike[key]
    return found


def _corner(
    asked: _Asked,
    ends: NDArray[np.float64],
    rises: type_f,
    place: int,
    side: float,
    met: Callable[[NDArray[np.float64]], tuple[type_f, type_b, bool]],
    devices: type_b,
) -> tuple[float, bool]:
    """The furthest of one figure to one side, and whether it is sure to be."""
    factors = np.ones(len(ends))
    chosen = (rises * side > 0.0).astype(int)
    for group, end in zip(asked.turned, chosen, strict=True):
        factors[list(group)] = ends[list(group), end]
    figures, lie, settled = met(factors)
    furthest = float(figures[place])
    sure = settled and bool(np.array_equal(lie, devices))
    whole = float(np.abs(rises).sum())
    for group, end, rise in zip(asked.turned, chosen, rises, strict=True):
        if abs(rise) < _COUNTS_FRAC * whole or whole == 0.0:
            continue
        back = factors.copy()
        back[list(group)] = ends[list(group), 1 - end]
        figure = float(met(back)[0][place])
        if (figure - furthest) * side > _EQUAL * max(1.0, abs(furthest)):
            sure = False
            furthest = figure
    return furthest, sure
