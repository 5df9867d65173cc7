"""What is the most each thing of the car ever carries, in which state, and how near is that to what it may?

    1. the search that answers the rules (`states.asking.search`), asked for the largest figure of each thing
    2. what loads each of them most: everything that adds to its current, put together, at every key and engine
       (`demand_states`)
    3. the state is led back to rest as far as the figure stays within half a percent, so that what is told is plain

The share of a rating is kept apart from the current, since a rating may change with the state (a hot bay, cranking):
the state with the most current need not be the one nearest to the limit. States in which the supply gives way count for
nothing: no steady current is known there.

Limits: beyond some thousand raw states this is worked out as the search does it: a state of which neither the rest of
the car off, nor loaded, nor what adds to the current is the worst would not be met. Random cars are held against
solving every state.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from loomwright.network.arrays import type_i
from loomwright.network.compiled import Compiled
from loomwright.sizing.demand_states import loading_states, without_same
from loomwright.sizing.worst_asked import WorstAsked, worst_asked
from loomwright.states.asking.answers import Answers, type_bool, type_float
from loomwright.states.asking.own_states import OwnStates
from loomwright.states.asking.plan import ALL_BELOW
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.search import Broken, answers_of, implied_before, search
from loomwright.states.asking.watch import Watch

__all__ = ["WorstCase", "WorstCases", "worst_cases"]

_LEAST_A = 0.001
_PLAIN_FRAC = 0.995
_DIGITS = 6
_PIECE = 1024
_ON_FRAC = 0.5

Tell = Callable[[int, int], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class WorstCase:
    """The worst of one thing.

    amps: the most it carries. [A]   state, before: where; what is not named is at rest.
    share_frac: the most of a rating that is used; None where there is none.   judged_a, allowed_a: there. [A]
    judged: what it is held against: steady, switching on, its motors, its lamps.
    share_state, share_before: where that is.
    """

    name: str
    what: str
    label: str
    amps: float
    state: Mapping[str, str]
    before: Mapping[str, str]
    share_frac: float | None = None
    judged_a: float = 0.0
    allowed_a: float = 0.0
    judged: str = ""
    share_state: Mapping[str, str]
    share_before: Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class WorstCases:
    """The worst of everything. states_searched: raw states that covers. solved: states worked out for it. [-]"""

    cases: tuple[WorstCase, ...]
    states_searched: int
    solved: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Figure:
    """A figure whose largest is looked for. element: of the network, -1 where it is several."""

    of: Callable[[Answers], type_float]
    element: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Met:
    """The largest of a figure, and its state. before: None = from rest."""

    figure: float
    values: type_i
    before: type_i | None


def worst_cases(scene: Scene, tell: Tell | None = None, *, all_below: int = ALL_BELOW) -> WorstCases:
    """The worst of every thing of the car.

    Args:
        tell: called with states done and to do; may raise Stopped.
        all_below: with no more raw states than this every one is solved. [-]
    """
    compiled = scene.compiled
    asked = worst_asked(scene)
    figures = [_Figure(of=one.amps, element=one.element) for one in asked]
    shares = [(number, watch) for number, one in enumerate(asked) for watch in one.judged]
    figures += [_Figure(of=_share_of(watch), element=asked[number].element) for number, watch in shares]
    watches = [_recording(number, figure) for number, figure in enumerate(figures)]
    searched = search(compiled, watches, tell, all_below)
    met: list[_Met | None] = [None] * len(figures)
    for broken in searched.broken:
        met[int(broken.watch.rule)] = _met(broken)
    solved = searched.solved
    if searched.space.raw > all_below:
        for answers in _loaded(scene, figures, tell):
            _better(watches, answers, met)
            solved += answers.count
    _lead_to_rest(scene, figures, met)
    of_share = dict(enumerate(range(len(asked), len(figures))))
    cases = []
    for number, one in enumerate(asked):
        mine = [(met[of_share[k]], watch) for k, (owner, watch) in enumerate(shares) if owner == number]
        cases.append(_case(compiled, one, met[number], [(found, watch) for found, watch in mine if found is not None]))
    return WorstCases(cases=tuple(cases), states_searched=searched.states_searched, solved=solved)


def _share_of(watch: Watch) -> Callable[[Answers], type_float]:
    def share(answers: Answers) -> type_float:
        _, found = watch.broken(answers)
        assert watch.limit_of is not None
        limit = watch.limit_of(answers)
        known: type_float = np.divide(np.abs(found), limit, out=np.zeros(answers.count), where=limit > 0.0)
        return known

    return share


def _fine(figure: _Figure, answers: Answers) -> type_float:
    return np.where(answers.possible & ~answers.collapsed(), np.nan_to_num(figure.of(answers)), 0.0).round(_DIGITS)


def _recording(number: int, figure: _Figure) -> Watch:
    """A question that is broken wherever its figure is largest, so that the search keeps that state."""

    def largest(answers: Answers) -> tuple[type_bool, type_float]:
        found = _fine(figure, answers)
        most = found.max(initial=0.0)
        return (found >= most) & (most > 0.0), found

    return Watch(
        rule=str(number),
        severity="note",
        at=(),
        label="",
        wrong="",
        mend="",
        broken=largest,
        worst=True,
    )


def _met(broken: Broken) -> _Met | None:
    if broken.values is None:
        return None
    return _Met(figure=broken.found, values=broken.values, before=broken.before)


def _loaded(scene: Scene, figures: Sequence[_Figure], tell: Tell | None) -> Sequence[Answers]:
    """Answers in the states that load each thing most."""
    own = OwnStates(scene.compiled, scene.cones)
    for k, element in enumerate(scene.compiled.network.elements):
        if element.load and element.rated_a:
            own.on(k, _ON_FRAC * element.rated_a)
    moved = own.solved()
    if not moved:
        return ()
    asked = [[_fine(figure, answers) for answers in moved] for figure in figures if figure.element >= 0]
    states = without_same(scene, loading_states(scene, moved, asked))
    found = list(moved)
    for first in range(0, len(states), _PIECE):
        found.append(answers_of(scene.compiled, states[first : first + _PIECE]))
        if tell is not None:
            tell(min(len(states), first + _PIECE), len(states))
    return found


def _better(watches: Sequence[Watch], answers: Answers, met: list[_Met | None]) -> None:
    for number, watch in enumerate(watches):
        hit, found = watch.broken(answers)
        if hit.any():
            row = int(np.flatnonzero(hit)[0])
            old = met[number]
            if old is None or found[row] > old.figure:
                met[number] = _Met(figure=float(found[row]), values=answers.batch.values[row], before=None)


def _lead_to_rest(scene: Scene, figures: Sequence[_Figure], met: list[_Met | None]) -> None:
    """Each state led back to rest, as far as its figure stays: what cannot decide it first, then one by one."""
    space = scene.space
    every = range(len(space.rest))
    core = frozenset(space.core)
    far = [
        [k for k in every if figure.element >= 0 and k not in scene.cones.of((figure.element,)) | core]
        for figure in figures
    ]
    _try(scene, figures, met, far)
    for k in reversed(every):
        _try(scene, figures, met, [[k]] * len(figures))


def _try(scene: Scene, figures: Sequence[_Figure], met: list[_Met | None], which: Sequence[Sequence[int]]) -> None:
    """Lead some variables of each state back to rest where its figure stays nearly as large."""
    rest = scene.space.rest
    trials: dict[bool, list[tuple[int, type_i, type_i | None]]] = {True: [], False: []}
    for number, old in enumerate(met):
        if old is None:
            continue
        held = np.zeros(len(rest), bool) if old.before is None else old.before != old.values
        moving = [k for k in which[number] if not held[k] and old.values[k] != rest[k]]
        if moving:
            values = old.values.copy()
            values[moving] = rest[moving]
            before = None if old.before is None else np.where(held, old.before, values)
            trials[before is None].append((number, values, before))
    for plain, some in trials.items():
        if not some:
            continue
        rows = np.array([values for _, values, _ in some])
        befores = None if plain else np.array([before for _, _, before in some])
        alone, place = _alone(rows, befores)
        answers = answers_of(scene.compiled, rows[alone], None if befores is None else befores[alone])
        for (number, values, before), row in zip(some, place.tolist(), strict=True):
            found, old = float(_fine(figures[number], answers)[row]), met[number]
            if old is not None and found >= _PLAIN_FRAC * old.figure:
                # the figure stays the largest that was met; the state is the plainest that nearly makes it
                met[number] = _Met(figure=max(old.figure, found), values=values, before=before)


def _alone(rows: type_i, befores: type_i | None) -> tuple[type_i, type_i]:
    """The places of different rows, and for each row the number of its like."""
    both = rows if befores is None else np.concatenate([rows, befores], axis=1)
    _, first, place = np.unique(both, axis=0, return_index=True, return_inverse=True)
    return first, place.reshape(-1)


def _case(compiled: Compiled, one: WorstAsked, most: _Met | None, shares: Sequence[tuple[_Met, Watch]]) -> WorstCase:
    state, before = _told(compiled, most)
    amps = most.figure if most is not None and most.figure >= _LEAST_A else 0.0
    plain = WorstCase(
        name=one.name,
        what=one.what,
        label=one.label,
        amps=amps,
        state=state,
        before=before,
        share_state={},
        share_before={},
    )
    if not one.judged:
        return plain
    if not shares:
        return replace(plain, share_frac=0.0, allowed_a=one.judged[0].allowed or 0.0)
    found, watch = max(shares, key=lambda share: share[0].figure)
    answers = answers_of(compiled, found.values[None, :], None if found.before is None else found.before[None, :])
    assert watch.limit_of is not None
    allowed_a = float(watch.limit_of(answers)[0])
    share_state, share_before = _told(compiled, found)
    return replace(
        plain,
        share_frac=found.figure,
        judged_a=found.figure * allowed_a,
        allowed_a=allowed_a,
        judged=_judged(watch),
        share_state=share_state,
        share_before=share_before,
    )


def _judged(watch: Watch) -> str:
    """What a thing is held against, in a word or two."""
    words = {"at switching on": "switching on", "motor current": "its motors", "lamp current": "its lamps"}
    return next((said for piece, said in words.items() if piece in watch.wrong), "steady")


def _told(compiled: Compiled, met: _Met | None) -> tuple[dict[str, str], dict[str, str]]:
    """The state and the one before it by names, what is at rest left out."""
    if met is None:
        return {}, {}
    variables = compiled.network.variables
    before = met.before
    if before is None:
        implied, earlier = implied_before(compiled, met.values[None, :])
        before = earlier[0] if implied[0] else met.values
    state = {v.name: v.values[int(k)] for v, k in zip(variables, met.values, strict=True) if v.values[int(k)] != v.rest}
    differs = {
        v.name: v.values[int(old)]
        for v, k, old in zip(variables, met.values, before, strict=True)
        if int(k) != int(old)
    }
    return state, differs
