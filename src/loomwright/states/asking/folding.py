"""Which findings are only the consequence of another?

A finding that may stand at the root of others brings a trial: a bridge or a cut that would cure it. The network is
built with that trial, every other broken question is asked again in the state in which it was broken, and those that
are no longer broken are folded beneath the root; a root that goes when one told before it is mended lies beneath that
one with all that lay beneath it. Trials add bridges or open wires only, so nodes and elements keep their places.

A finding against a limit that no root cures by itself may go with several of them, where what they take off it adds up.
They are mended at once to see; it then lies beneath the one that takes off most, and names the others.

A question is asked again only where the trial can act on what it tells of (`carried`), and roots that share no question
are mended in one network: a job ten times as large is asked ten times as much, not a hundred. What is not cured there
is asked again of smaller groups, at last of the root alone.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from math import isnan, nan

import numpy as np

from loomwright.findings import Finding, in_order
from loomwright.network.arrays import type_i
from loomwright.network.compiled import Compiled
from loomwright.network.records import Changes
from loomwright.states.asking.carried import Carried
from loomwright.states.asking.kept_somewhere import RULING, kept_somewhere
from loomwright.states.asking.plan import Space
from loomwright.states.asking.search import Broken, answers_of

__all__ = ["Told", "folded"]

_ALONE_BELOW = 4
"""No more roots than this are asked each alone, where they were not cured together [-]."""

Left = Sequence[float]
"""The figure that each of several questions still shows with something mended, nan where it is kept then [-]."""
_WORTH = 0.1
"""Share of what is too much that a root has to take off, to be one of several [-]."""
_LEAST, _MOST = 2, 3
"""So many roots may have made one figure together [-]."""
_Asks = tuple[int, list[int]]
"""A root, and the findings whose question is asked with it mended [-]."""
Keep = Callable[[str, tuple[object, ...], Sequence[Broken], Callable[[Sequence[int]], Left]], Left]
"""Gives what stands of each question under a name for the same things beside it, or has those places worked out."""


@dataclass(frozen=True, slots=True, eq=False)
class Told:
    """A finding, the question it came from (None for one read off the sheets), and the trial that would cure it.

    A finding off the sheets may bring a question of its own, that is kept once it is mended.
    """

    finding: Finding
    broken: Broken | None
    trial: Changes | None


@dataclass(frozen=True, slots=True)
class _Met:
    """The findings whose question a root's trial can act on. is_alone: it can act on all there are."""

    questions: Sequence[int]
    is_alone: bool


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
        compile_with: the network with a trial applied; with none as it stands.
        keep: takes over what a trial cured before, where nothing of it has changed.
    """
    kept = keep or _worked_out
    beneath: dict[int, int] = {}
    left: dict[int, dict[int, float]] = {}
    roots = [k for k, one in enumerate(told) if one.trial is not None]
    standing = compile_with(Changes()) if roots else None
    met = {} if standing is None else _met_by(told, standing, roots)
    while roots:
        at_once, roots = _apart(roots, met, beneath)
        groups = [at_once] if any(asked for _, asked in at_once) else []
        while groups:
            group = groups.pop()
            asked = [(root, k) for root, among in group for k in among]
            trial = _joined([trial for root, _ in group if (trial := told[root].trial) is not None])
            mended = compile_with(trial)
            brokens = [broken for _, k in asked if (broken := told[k].broken) is not None]
            asks = partial(_cured, mended, brokens, space, states)
            figures = kept(f"cured by {trial!r}", (mended, states), brokens, asks)
            found = [(root, k) for (root, k), figure in zip(asked, figures, strict=True) if isnan(figure)]
            for (root, k), figure in zip(asked, figures, strict=True):
                left.setdefault(k, {})[root] = figure
            only_cut = bool(trial.opened) and not trial.shorts
            beneath |= {k: root for root, k in found if not only_cut or _is_seen_there(told, root, k, standing)}
            groups += _asked_again(group, beneath)
    together = _of_several(told, beneath, left, partial(_kept_with, told, compile_with, space, states))
    beneath |= {child: found[0] for child, found in together.items()}
    grouped: dict[int, list[Finding]] = {}
    for child in sorted(beneath):
        finding = told[child].finding
        if child in together:
            finding = _with_others(finding, [told[root].finding for root in together[child][1:]])
        grouped.setdefault(_top(beneath, child), []).append(finding)
    return tuple(
        _above(one.finding, grouped[k]) if k in grouped else one.finding
        for k, one in enumerate(told)
        if k not in beneath
    )


def _of_several(
    told: Sequence[Told],
    beneath: Mapping[int, int],
    left: Mapping[int, Mapping[int, float]],
    keeps: Callable[[int, Sequence[int]], bool],
) -> dict[int, list[int]]:
    """What goes with several roots together and with none alone: those roots, the one that takes off most first."""
    found: dict[int, list[int]] = {}
    for k, by_root in left.items():
        broken, one = told[k].broken, told[k]
        allowed = one.finding.allowed
        if k in beneath or one.trial is not None or broken is None or broken.values is None or allowed is None:
            continue
        excess = abs(broken.found - allowed)
        taken = {_top(dict(beneath), root): abs(broken.found) - abs(figure) for root, figure in by_root.items()}
        if broken.found < allowed:
            taken = {root: -less for root, less in taken.items()}
        among: list[int] = []
        for root in sorted(
            (root for root in taken if taken[root] > _WORTH * excess), key=lambda root: (-taken[root], root)
        ):
            among.append(root)
            if sum(taken[each] for each in among) >= excess:
                break
        if _LEAST <= len(among) <= _MOST and sum(taken[each] for each in among) >= excess and keeps(k, among):
            found[k] = among
    return found


def _kept_with(
    told: Sequence[Told],
    compile_with: Callable[[Changes], Compiled],
    space: Space,
    states: type_i,
    k: int,
    roots: Sequence[int],
) -> bool:
    """Is a question kept with all of these roots mended?"""
    trials = [trial for root in roots if (trial := told[root].trial) is not None]
    broken = told[k].broken
    mended = compile_with(
        Changes(
            opened=tuple(dict.fromkeys(wire for trial in trials for wire in trial.opened)),
            shorts=tuple(short for trial in trials for short in trial.shorts),
        )
    )
    return broken is not None and isnan(_cured(mended, [broken], space, states, [0])[0])


def _with_others(finding: Finding, others: Sequence[Finding]) -> Finding:
    """A finding that goes only with others mended too, and says with which."""
    names = " and ".join(f"{one.rule} at {one.at[0]}" for one in others if one.at)
    touches = (*finding.touches, *(one.at[0] for one in others if one.at))
    return replace(
        finding, touches=tuple(dict.fromkeys(touches)), mend=f"{finding.mend}; it goes with {names} mended too"
    )


def _above(root: Finding, found: Sequence[Finding]) -> Finding:
    """A root with what comes of it: it is no less grave than that."""
    gravest = in_order((root, *found))[0].severity
    return replace(root, severity=gravest, folded=(*root.folded, *found))


def _is_seen_there(told: Sequence[Told], root: int, child: int, standing: Compiled | None) -> bool:
    """Is a root broken too with key, engine and selector as in the state that shows another finding?

    What is open on trial cures more than it should: without the charge lamp's lead the alternator makes no volts, and
    every current is less. Only where the root is there as well can the other come of it.
    """
    above, below = told[root].broken, told[child].broken
    if standing is None or above is None or below is None or above.values is None or below.values is None:
        return True
    values = above.values.copy()
    ruling = [k for name in RULING if (k := standing.variable_of.get(name)) is not None]
    values[ruling] = below.values[ruling]
    before = None if above.before is None else above.before[None, :]
    hit, _ = above.watch.broken(answers_of(standing, values[None, :], before, turned=above.turned))
    return bool(hit[0])


def _met_by(told: Sequence[Told], compiled: Compiled, roots: Sequence[int]) -> dict[int, _Met]:
    """For each root the findings with a question that its trial can act on, found by the nodes both stand at."""
    carried = Carried(compiled)
    asked = [k for k, one in enumerate(told) if one.broken is not None]
    at: dict[int, list[int]] = {}
    anywhere: list[int] = []
    for k in asked:
        nodes = carried.of(told[k].finding)
        if nodes is None:
            anywhere.append(k)
        for node in nodes or ():
            at.setdefault(node, []).append(k)
    met: dict[int, _Met] = {}
    for root in roots:
        trial = told[root].trial
        nodes = None if trial is None else carried.by(trial)
        found = asked if nodes is None else {*anywhere, *(k for node in nodes for k in at.get(node, ()))}
        # one with a trial of its own lies only beneath one that was told before it
        own = sorted(k for k in found if k > root or (told[k].trial is None and k != root))
        met[root] = _Met(own, is_alone=nodes is None)
    return met


def _apart(roots: Sequence[int], met: Mapping[int, _Met], beneath: Mapping[int, int]) -> tuple[list[_Asks], list[int]]:
    """Roots that can be mended at once, since no question is met by two of them, each with its questions; the others.

    A root that shares a question with one told before it waits for that one.
    """
    at_once: list[_Asks] = []
    later: list[int] = []
    spoken_for: set[int] = set()
    for place, root in enumerate(roots):
        if root in beneath:
            continue
        asked = [k for k in met[root].questions if k not in beneath]
        if met[root].is_alone and not at_once and not later:
            return [(root, asked)], list(roots[place + 1 :])
        if met[root].is_alone or root in spoken_for or not spoken_for.isdisjoint(asked):
            later.append(root)
        elif asked:
            at_once.append((root, asked))
        spoken_for.update(asked)
    return at_once, later


def _asked_again(group: Sequence[_Asks], beneath: Mapping[int, int]) -> list[list[_Asks]]:
    """What was not cured where several roots were mended at once, in smaller groups.

    All of them mended may draw more than a fuse or a feed gives; what a root does not cure it must not cure alone.
    """
    if len(group) == 1:
        return []
    left = [(root, uncured) for root, asked in group if (uncured := [k for k in asked if k not in beneath])]
    if len(left) <= _ALONE_BELOW:
        return [[one] for one in left]
    half = len(left) // 2
    return [left[:half], left[half:]]


def _joined(trials: Sequence[Changes]) -> Changes:
    """Several trials in one; where there are several they are bridges."""
    if len(trials) == 1:
        return trials[0]
    return Changes(shorts=tuple(short for trial in trials for short in trial.shorts))


def _worked_out(
    _name: str, _beside: tuple[object, ...], brokens: Sequence[Broken], make: Callable[[Sequence[int]], Left]
) -> Left:
    return make(range(len(brokens)))


def _top(beneath: dict[int, int], child: int) -> int:
    while child in beneath:
        child = beneath[child]
    return child


def _cured(compiled: Compiled, every: Sequence[Broken], space: Space, states: type_i, places: Sequence[int]) -> Left:
    """What the questions at these places still show in a network."""
    brokens = [every[place] for place in places]
    left = [0.0] * len(brokens)
    ever = [k for k, one in enumerate(brokens) if one.values is None]
    for place in kept_somewhere(compiled, [brokens[k].watch for k in ever], space, states):
        left[ever[place]] = nan
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
            hit, found = one.watch.broken(answers)
            is_broken = bool(hit[row] and answers.possible[row])
            left[k] = float(np.nan_to_num(found[row])) if is_broken else nan
    return tuple(left)
