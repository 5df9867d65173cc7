"""One thing wrong, each in turn, in every state: what goes dead, starts, goes on by another way, is overloaded?

In: a `Scene`. Out: `Wrong`: an outcome for each failure, and what deserves a word (`wrong_findings`). The sound car is
solved once; each failure then only in states in which it makes a difference (`sound`). The failures are tried in
pieces, by an executor where one is given; the answers are the same with any and with none.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Executor, Future, wait
from dataclasses import dataclass
from itertools import groupby

from loomwright.findings import Finding
from loomwright.network.arrays import type_i
from loomwright.network.compiled import Compiled
from loomwright.network.records import Network
from loomwright.network.solve import Batch
from loomwright.states.asking.plan import ALL_BELOW
from loomwright.states.asking.scene import Scene
from loomwright.trials.failing import rebuilt
from loomwright.trials.failures import Failure, failures_of
from loomwright.trials.outcomes import Outcome, outcome_of
from loomwright.trials.reach import Reach
from loomwright.trials.sound import ALL_APART_BELOW, Sound, solved_sound, states_for
from loomwright.trials.wrong_findings import wrong_findings
from loomwright.trials.yardstick import Yardstick, yardstick_of

__all__ = ["Wrong", "wrong_with"]

Tell = Callable[[int, int], None]
_PIECE_STATES = 600
_AHEAD = 3
"""Pieces handed to an executor for each that is awaited, so that stopping does not wait for all. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wrong:
    """What one thing wrong does.

    sound: states of the sound car that were solved.   tried: states solved with something wrong.
    of: states in which something wrong can make a difference, those that lie alike with them. [-]
    """

    outcomes: tuple[Outcome, ...]
    findings: tuple[Finding, ...]
    sound: int
    tried: int
    of: int

    @property
    def worst(self) -> str:
        """The gravest severity there is, `none` where there is nothing."""
        words = [finding.severity for finding in self.findings]
        return next((word for word in ("fault", "warning", "note") if word in words), "none")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Asked:
    """One failure and the states it is tried in."""

    failure: Failure
    rows: type_i
    of: int


def wrong_with(
    scene: Scene,
    tell: Tell | None = None,
    executor: Executor | None = None,
    *,
    failures: Sequence[Failure] | None = None,
    all_below: int = ALL_BELOW,
    all_apart_below: int = ALL_APART_BELOW,
) -> Wrong:
    """Try every failure of a car.

    Args:
        tell: called with states done and to do; may raise Stopped.
        executor: tries pieces of it; here and now where left out.
        failures: those to try; all there are where left out.
        all_below: with no more raw states than this every one of the sound car is solved. [-]
        all_apart_below: with no more ways of lying than this one state of each is solved. [-]
    """
    planned = 0

    def solving(done: int, of: int) -> None:
        nonlocal planned
        planned = of
        if tell is not None:
            tell(done, of)

    sound = solved_sound(scene, solving, all_below)
    yard = yardstick_of(scene, sound.amps)
    reach = Reach(scene)
    asked = []
    for failure in failures_of(scene) if failures is None else failures:
        rows, of = states_for(scene, sound, failure, reach.of(failure), all_apart_below)
        asked.append(_Asked(failure=failure, rows=rows, of=of))
    pieces = list(_pieces(asked))
    total = planned + sum(len(one.rows) for one in asked)
    outcomes: dict[int, tuple[Outcome, ...]] = {}
    done = planned
    for index, found in _worked(scene, yard, sound, pieces, executor):
        outcomes[index] = found
        done += sum(len(one.rows) for one in pieces[index])
        if tell is not None:
            tell(done, total)
    every = tuple(one for index in range(len(pieces)) for one in outcomes[index])
    return Wrong(
        outcomes=every,
        findings=wrong_findings(scene, yard, every),
        sound=len(sound.values),
        tried=sum(one.tried for one in every),
        of=sum(one.of for one in every),
    )


def _pieces(asked: Sequence[_Asked]) -> Iterator[tuple[_Asked, ...]]:
    """Failures in pieces of about as many states; bridges between the same two points stay together."""
    piece: list[_Asked] = []
    for _, group in groupby(asked, key=lambda one: (one.failure.part, one.failure.what, one.failure.at)):
        piece.extend(group)
        if sum(len(one.rows) for one in piece) >= _PIECE_STATES:
            yield tuple(piece)
            piece = []
    if piece:
        yield tuple(piece)


def _worked(
    scene: Scene, yard: Yardstick, sound: Sound, pieces: Sequence[tuple[_Asked, ...]], executor: Executor | None
) -> Iterator[tuple[int, tuple[Outcome, ...]]]:
    if executor is None:
        for index, piece in enumerate(pieces):
            yield index, _tried(scene.compiled, yard, _with_answers(scene, sound, piece))
        return
    waiting: dict[Future[tuple[Outcome, ...]], int] = {}
    todo = list(range(len(pieces)))[::-1]
    try:
        while todo or waiting:
            while todo and len(waiting) < 2 * _AHEAD:
                index = todo.pop()
                given = _with_answers(scene, sound, pieces[index])
                waiting[executor.submit(_tried, scene.compiled, yard, given)] = index
            for one in wait(waiting, return_when=FIRST_COMPLETED).done:
                yield waiting.pop(one), one.result()
    finally:
        for one in waiting:
            one.cancel()


_Given = tuple[Failure, Batch, int, Network | None]


def _with_answers(scene: Scene, sound: Sound, piece: Sequence[_Asked]) -> tuple[_Given, ...]:
    return tuple(
        (
            one.failure,
            sound.at(one.rows),
            one.of,
            rebuilt(scene.job, scene.kinds, scene.compiled, one.failure) if len(one.rows) else None,
        )
        for one in piece
    )


def _tried(compiled: Compiled, yard: Yardstick, piece: Sequence[_Given]) -> tuple[Outcome, ...]:
    return tuple(outcome_of(compiled, yard, failure, before, of, anew) for failure, before, of, anew in piece)
