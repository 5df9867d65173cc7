"""Which findings are only the consequence of another?

A finding that may stand at the root of others brings a trial: a bridge or a cut that would cure it. The network is
built with that trial, every other broken question is asked again in the state in which it was broken, and those that
are no longer broken are folded beneath the root; a root that goes when one told before it is mended lies beneath that
one with all that lay beneath it. Trials add bridges or open wires only, so nodes and elements keep their places.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from loomwright.findings import Finding
from loomwright.network.arrays import type_i
from loomwright.network.compiled import Compiled
from loomwright.network.records import Changes
from loomwright.states.asking.answers import Answers
from loomwright.states.asking.plan import Space
from loomwright.states.asking.search import Broken, answers_of

__all__ = ["Told", "folded"]

_SAMPLE = 1000

Verdicts = Sequence[bool]
Keep = Callable[[str, tuple[object, ...], Sequence[Broken], Callable[[Sequence[int]], Verdicts]], Verdicts]
"""Gives what stands of each question under a name for the same things beside it, or has those places worked out."""


@dataclass(frozen=True, slots=True, eq=False)
class Told:
    """A finding, the question it came from (None for one read off the sheets), and the trial that would cure it.

    A finding off the sheets may bring a question of its own, that is kept once it is mended.
    """

    finding: Finding
    broken: Broken | None
    trial: Changes | None


def folded(
    told: Sequence[Told],
    space: Space,
    states: type_i,
    compile_with: Callable[[Changes], Compiled],
    keep: Keep | None = None,
) -> tuple[Finding, ...]:
    """Roots with their consequences beneath them, the others as they are.

    Args:
        space, states: the states of the search, for questions that no state satisfied.
        compile_with: the network with a trial applied.
        keep: takes over what a trial cured before, where nothing of it has changed.
    """
    kept = keep or _worked_out
    beneath: dict[int, int] = {}
    roots = [k for k, one in enumerate(told) if one.trial is not None]
    for root in roots:
        trial = told[root].trial
        assert trial is not None
        # one with a trial of its own lies only beneath one that was told before it
        waiting = [
            k
            for k, one in enumerate(told)
            if k not in beneath and one.broken is not None and (k > root or (one.trial is None and k != root))
        ]
        if root in beneath or not waiting:
            continue
        compiled = compile_with(trial)
        brokens = [broken for k in waiting if (broken := told[k].broken) is not None]
        asks = partial(_cured, compiled, brokens, space, states)
        cured = kept(f"cured by {trial!r}", (compiled, states), brokens, asks)
        beneath |= {k: root for k, is_cured in zip(waiting, cured, strict=True) if is_cured}
    grouped: dict[int, list[Finding]] = {}
    for child in sorted(beneath):
        grouped.setdefault(_top(beneath, child), []).append(told[child].finding)
    return tuple(
        replace(one.finding, folded=tuple(grouped.get(k, ()))) for k, one in enumerate(told) if k not in beneath
    )


def _worked_out(
    _name: str, _beside: tuple[object, ...], brokens: Sequence[Broken], make: Callable[[Sequence[int]], Verdicts]
) -> Verdicts:
    return make(range(len(brokens)))


def _top(beneath: dict[int, int], child: int) -> int:
    while child in beneath:
        child = beneath[child]
    return child


def _plain_answers(compiled: Compiled, space: Space, states: type_i) -> Answers:
    """The plainest states of the search solved: those with the fewest variables away from rest."""
    away = (states != space.rest).sum(axis=1)
    return answers_of(compiled, states[np.argsort(away, kind="stable")[:_SAMPLE]])


def _cured(
    compiled: Compiled, every: Sequence[Broken], space: Space, states: type_i, places: Sequence[int]
) -> Verdicts:
    """Which of the questions at these places are kept in a network."""
    brokens = [every[place] for place in places]
    plain = _plain_answers(compiled, space, states) if any(one.values is None for one in brokens) else None
    cured = [plain is not None and _is_kept_somewhere(one, plain) for one in brokens]
    # those that are come to in the same way are solved together, each still judged in its own state
    alike: dict[tuple[bool, bool], list[int]] = {}
    for k, one in enumerate(brokens):
        if one.values is not None:
            alike.setdefault((one.turned, one.before is None), []).append(k)
    for (turned, is_from_rest), among in alike.items():
        asked = [brokens[k] for k in among]
        values = np.stack([one.values for one in asked if one.values is not None])
        before = None if is_from_rest else np.stack([one.before for one in asked if one.before is not None])
        answers = answers_of(compiled, values, before, turned=turned)
        for row, (k, one) in enumerate(zip(among, asked, strict=True)):
            hit, _ = one.watch.broken(answers)
            cured[k] = not bool(hit[row] and answers.possible[row])
    return tuple(cured)


def _is_kept_somewhere(broken: Broken, plain: Answers) -> bool:
    """Whether a question that no state satisfied has one now."""
    if broken.values is not None:
        return False
    hit, _ = broken.watch.broken(plain)
    return bool((hit & plain.possible).any())
