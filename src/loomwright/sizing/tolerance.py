"""What comes out when every figure of the car may be a little off: volts at the loads, amps in the wires, what passes?

Many cars are drawn (`tolerance_draws`), each solved in the states that are worst for something (`tolerance_asked`) by
any executor; which executor, and in what pieces, changes no digit. Beside them bounds (`tolerance_bounds`): the corner
of all ends at once that is worst for one figure.

A share of cars that pass stands with how sure it is: the least share of all such cars that passes, with 95 % of
confidence (Clopper and Pearson).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Executor, Future, wait
from dataclasses import dataclass
from typing import TypeVar

import numpy as np

from loomwright.network.compiled import Compiled, with_figures
from loomwright.network.solve import Batch
from loomwright.refusals import OutOfReach
from loomwright.sizing.tolerance_asked import Line, Moment, Questions, questions_of
from loomwright.sizing.tolerance_bounds import Bound, bounds_of
from loomwright.sizing.tolerance_draws import Draws, draws_of, factors_of, figures_with, shares_of
from loomwright.states.asking.answers import Answers
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.search import answers_of, possible

__all__ = ["CARS", "CARS_MOST", "Stray", "Strays", "Verdict", "strays_of", "sure_frac"]

CARS = 300
"""Cars drawn where nobody says how many [-]."""
CARS_MOST = 20_000
CONFIDENCE = 0.95
_PIECE = 10
_AHEAD = 6
_LOW, _MIDDLE, _HIGH = 0.05, 0.5, 0.95

T = TypeVar("T")
Tell = Callable[[int, int], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stray:
    """How far one figure strays. unit: V at a load, A in a thing.

    solved: as the car stands.   least, low, middle, high, most: over all cars; low and high leave 5 % beyond.
    bound: all ends at once; None where a thing is several elements.   state, before: where; others at rest.
    """

    name: str
    what: str
    label: str
    unit: str
    solved: float
    least: float
    low: float
    middle: float
    high: float
    most: float
    bound: Bound | None
    state: Mapping[str, str]
    before: Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """One thing that passes in some cars. passed, of: cars. [-]   as_solved: it passes with the figures as they stand.

    sure_frac: the least share of all such cars that passes, with 95 % of confidence.
    """

    rule: str
    at: tuple[str, ...]
    label: str
    wrong: str
    passed: int
    of: int
    as_solved: bool
    sure_frac: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Strays:
    """What tolerance does to a car.

    verdicts: what fails in some car, worst first.   asked: things that could fail. [-]   passed: cars in which nothing
    fails that passes as solved.   cars, states, draws: how many. [-]   collapsed: cars whose supply gave way somewhere
    where it holds as solved. [-]
    """

    lines: tuple[Stray, ...]
    verdicts: tuple[Verdict, ...]
    asked: int
    passed: int
    cars: int
    sure_frac: float
    collapsed: int
    states: int
    draws: int
    seed: int


def strays_of(
    scene: Scene, *, cars: int = CARS, seed: int = 1, tell: Tell | None = None, executor: Executor | None = None
) -> Strays:
    """What tolerance does to a car.

    Args:
        cars: how many are drawn. [-]
        seed: another one draws other cars. [-]
        tell: called with cars done and to do; may raise Stopped.
        executor: solves pieces of it; here and now where left out.
    Raises:
        OutOfReach: no cars, or too many, or a seed below nought.
    """
    if not 1 <= cars <= CARS_MOST:
        raise OutOfReach("samples", cars, f"1 to {CARS_MOST}")
    if seed < 0:
        raise OutOfReach("seed", seed, "0 or more")
    questions = questions_of(scene, tell)
    draws = draws_of(scene.compiled, scene.job, scene.kinds)
    plain = tuple(answers_of(scene.compiled, moment.values, moment.before) for moment in questions.moments)
    solved = _figures(questions, plain)
    fails = np.array([one.fails(plain) for one in questions.passing], bool)
    held = ~_collapsed(plain)
    figures = np.zeros((cars, len(questions.lines)))
    failing = np.zeros((cars, len(questions.passing)), bool)
    collapsed = np.zeros(cars, bool)
    pieces = [range(first, min(cars, first + _PIECE)) for first in range(0, cars, _PIECE)]
    jobs = ((_cars, (scene.compiled, draws, questions.moments, seed, piece)) for piece in pieces)
    bounds: dict[int, Bound] = {}
    waits = bounds_of(scene.compiled, draws, questions, plain)
    done, total = 0, cars + len(waits)
    for index, batches in worked(jobs, executor):
        for car, found in zip(pieces[index], batches, strict=True):
            answers = _answers(scene.compiled, found, questions.moments)
            figures[car] = _figures(questions, answers)
            failing[car] = [one.fails(answers) for one in questions.passing]
            collapsed[car] = bool((_collapsed(answers) & held).any())
        done += len(pieces[index])
        if tell is not None:
            tell(done, total)
    for _, some in worked(waits, executor):
        bounds.update(some)
        done += 1
        if tell is not None:
            tell(done, total)
    lines = [
        _stray(scene.compiled, line, questions.moments[line.moment], solved[k], figures[:, k], bounds.get(k))
        for k, line in enumerate(questions.lines)
    ]
    passed = int((~(failing & ~fails).any(axis=1) & ~collapsed).sum())
    return Strays(
        lines=tuple(lines),
        verdicts=_verdicts(questions, failing, fails),
        asked=len(questions.passing),
        passed=passed,
        cars=cars,
        sure_frac=sure_frac(passed, cars),
        collapsed=int(collapsed.sum()),
        states=questions.states,
        draws=len(draws.names),
        seed=seed,
    )


def sure_frac(passed: int, of: int) -> float:
    """The least share of all cars that passes, with 95 % of confidence. [-]

    Args:
        passed: cars drawn that pass. [-]
        of: cars drawn. [-]
    Source:
        worked-out: Clopper and Pearson's one-sided bound; for none that fails the n-th root of 0.05.
    Example:
        >>> round(sure_frac(300, 300), 4)
        0.9901
    """
    from scipy.special import betaincinv  # here: a quarter of a second that few questions need

    return float(betaincinv(passed, of - passed + 1, 1.0 - CONFIDENCE)) if passed else 0.0


def worked(
    jobs: Iterable[tuple[Callable[..., T], tuple[object, ...]]], executor: Executor | None
) -> Iterator[tuple[int, T]]:  # fmt: skip
    """Work jobs off, by an executor where there is one; gives each one's number and answer, in any order."""
    if executor is None:
        for index, (work, given) in enumerate(jobs):
            yield index, work(*given)
        return
    waiting: dict[Future[T], int] = {}
    todo = enumerate(jobs)
    try:
        while True:
            for index, (work, given) in todo:
                waiting[executor.submit(work, *given)] = index
                if len(waiting) >= _AHEAD:
                    break
            if not waiting:
                return
            for one in wait(waiting, return_when=FIRST_COMPLETED).done:
                yield waiting.pop(one), one.result()
    finally:
        for one in waiting:
            one.cancel()


def _cars(
    compiled: Compiled, draws: Draws, moments: Sequence[Moment], seed: int, cars: range
) -> list[tuple[Batch, ...]]:
    """Some cars, solved in every moment."""
    found = []
    for car in cars:
        shares = shares_of(seed, car, range(len(draws.names)))
        drawn = with_figures(compiled, figures_with(draws, factors_of(draws, shares)))
        found.append(tuple(answers_of(drawn, moment.values, moment.before).batch for moment in moments))
    return found


def _answers(compiled: Compiled, batches: Sequence[Batch], moments: Sequence[Moment]) -> tuple[Answers, ...]:
    return tuple(
        Answers(compiled, batch, possible(compiled, batch), held=moment.before is not None)
        for batch, moment in zip(batches, moments, strict=True)
    )


def _figures(questions: Questions, answers: Sequence[Answers]) -> list[float]:
    return [float(np.nan_to_num(line.of(answers[line.moment])[line.row])) for line in questions.lines]


def _collapsed(answers: Sequence[Answers]) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    return np.concatenate([one.collapsed() for one in answers])


def _stray(
    compiled: Compiled, line: Line, moment: Moment, solved: float, figures: np.ndarray, bound: Bound | None
) -> Stray:  # fmt: skip
    low, middle, high = np.quantile(figures, (_LOW, _MIDDLE, _HIGH))
    variables = compiled.network.variables
    values = moment.values[line.row]
    before = values if moment.before is None else moment.before[line.row]
    return Stray(
        name=line.name,
        what=line.what,
        label=line.label,
        unit=line.unit,
        solved=solved,
        least=float(figures.min()),
        low=float(low),
        middle=float(middle),
        high=float(high),
        most=float(figures.max()),
        bound=bound,
        state={v.name: v.values[int(k)] for v, k in zip(variables, values, strict=True) if v.values[int(k)] != v.rest},
        before={
            v.name: v.values[int(old)]
            for v, k, old in zip(variables, values, before, strict=True)
            if int(k) != int(old)
        },
    )


def _verdicts(questions: Questions, failing: np.ndarray, fails: np.ndarray) -> tuple[Verdict, ...]:
    cars = len(failing)
    found = []
    for number, one in enumerate(questions.passing):
        passed = cars - int(failing[:, number].sum())
        if passed < cars or fails[number]:
            found.append(
                Verdict(
                    rule=one.rule,
                    at=one.at,
                    label=one.label,
                    wrong=one.wrong,
                    passed=passed,
                    of=cars,
                    as_solved=not fails[number],
                    sure_frac=sure_frac(passed, cars),
                )
            )
    return tuple(sorted(found, key=lambda verdict: (not verdict.as_solved, verdict.passed, verdict.rule, verdict.at)))
