"""The search says what solving every raw state says, and tells the fewest conditions there are.

Small random cars in which what came before, which relay is first, which supply is stronger decides. The other side
solves every raw state from rest, and every state from each of its neighbours, with the devices listed as they are and
the other way round; it knows neither plan, cones, bounds nor memory.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loomwright.job.reading import job_from_text
from loomwright.network.build import build_network
from loomwright.network.compiled import compile_network
from loomwright.network.solve import solve_many
from loomwright.states.asking.answers import Answers
from loomwright.states.asking.scene import Scene, scene_of
from loomwright.states.asking.search import Broken, answers_of, possible, search
from loomwright.states.asking.telling import told_of
from loomwright.states.asking.watch import Watch
from loomwright.states.rulebook import state_watches
from loomwright.tables.kinds import load_kinds
from tests.states.random_cars import FEATURES, features_of, random_car
from tests.states.test_search import watches_of

KINDS = load_kinds()
EVERY = 10**9
CARS = range(104)
OFF_FRAC = 0.001
"""A worst figure told may differ from that of every state by this share: where the supply itself moves a little."""

Key = tuple[str, tuple[str, ...], str, str]


def scene_at(seed: int, turned: bool = False) -> Scene:
    """A random car; turned: its parts, and so its devices, listed the other way round."""
    sheets = random_car(random.Random(seed))
    if turned:
        sheets = {**sheets, "parts": sheets["parts"][::-1]}
    job = job_from_text(sheets)
    return scene_of(job, KINDS, compile_network(build_network(job, KINDS)))


def questions(scene: Scene) -> list[Watch]:
    """All that the rule book asks, and plainly of every load and point."""
    return [*state_watches(scene), *watches_of(scene.compiled)]


def key_of(watch: Watch) -> Key:
    return watch.rule, watch.at, watch.wrong, watch.quantifier


@dataclass(frozen=True)
class Solved:
    """Every raw state from rest, and every state from each neighbour; and what is asked of them."""

    scene: Scene
    asked: list[Watch]
    first: Answers
    after: Answers
    before: np.ndarray


def every_state(scene: Scene) -> Solved:
    compiled, space = scene.compiled, scene.space
    states = np.array(list(product(*space.values)), np.int64)
    now, before = [], []
    for variable, values in enumerate(space.values):
        for value in values:
            other = states[states[:, variable] != value]
            now.append(other)
            before.append(other.copy())
            before[-1][:, variable] = value
    row = {state.tobytes(): k for k, state in enumerate(states)}
    earlier = np.concatenate(before)
    rest = solve_many(compiled, states)
    start = rest.devices[[row[state.tobytes()] for state in earlier]]
    batch = solve_many(compiled, np.concatenate(now), start)
    after = Answers(compiled, batch, possible(compiled, batch), held=True)
    return Solved(scene, questions(scene), answers_of(compiled, states), after, earlier)


def brute(solved: list[Solved]) -> dict[Key, float]:
    """What is broken, with the largest figure met."""
    met: dict[Key, tuple[bool, float]] = {}
    for one in solved:
        for watch in one.asked:
            for answers in (one.first, one.after):
                hit, found = watch.broken(answers)
                hit = hit & answers.possible
                most = float(np.abs(np.nan_to_num(found[hit])).max()) if hit.any() else 0.0
                was = met.get(key_of(watch), (False, 0.0))
                met[key_of(watch)] = (was[0] or bool(hit.any()), max(was[1], most))
    # a question about several loads names them in the order of their rows, so that turned it is another question
    as_listed = {key_of(watch) for watch in solved[0].asked}
    return {key: most for key, (hit, most) in met.items() if key in as_listed and hit != (key[3] == "ever")}


@lru_cache(maxsize=2)
def solved_at(seed: int) -> list[Solved]:
    return [every_state(scene_at(seed, turned)) for turned in (False, True)]


def compare(seed: int) -> None:
    solved = solved_at(seed)
    scene, asked = solved[0].scene, solved[0].asked
    wanted = brute(solved)
    for all_below in (EVERY, 0):
        broken = {key_of(one.watch): one for one in search(scene.compiled, asked, all_below=all_below).broken}
        assert set(broken) == set(wanted)
        for key, one in broken.items():
            if one.watch.worst:
                assert abs(one.found) == pytest.approx(wanted[key], rel=OFF_FRAC, abs=1e-3), key
                if one.watch.severity_of is not None:
                    assert one.watch.severity_of(one.found) == one.watch.severity_of(
                        float(np.copysign(wanted[key], one.found))
                    )
    assert wanted, "a car of which nothing can be said tests nothing"


@pytest.mark.parametrize("seed", CARS)
def test_planned_search_equals_every_raw_state_and_what_came_before(seed: int) -> None:
    compare(seed)


@pytest.mark.long
@settings(max_examples=300, deadline=None)
@given(seed=st.integers(1000, 10**9))
def test_search_equals_every_raw_state_of_any_car(seed: int) -> None:
    compare(seed)


def test_every_feature_is_met_in_many_cars() -> None:
    counts = Counter(feature for seed in CARS for feature in features_of(random_car(random.Random(seed))))
    assert set(counts) == set(FEATURES)
    assert min(counts.values()) >= 20, counts


def in_words(scene: Scene, told: dict[str, str]) -> dict[int, set[int]]:
    """The values a finding's conditions let through, by variable."""
    found = {}
    for name, text in told.items():
        if name not in scene.compiled.variable_of:
            assert name.startswith("before.") or name == "first", (name, text)
            continue
        variable = scene.compiled.variable_of[name]
        names = scene.compiled.network.variables[variable].values
        if text[:2] in (">=", "<="):
            edge, sign = float(text[2:]), 1.0 if text[0] == ">" else -1.0
            found[variable] = {k for k, word in enumerate(names) if sign * (float(word) - edge) >= 0.0}
        else:
            found[variable] = {names.index(word) for word in text.split("|")}
    return found


def meeting(states: np.ndarray, conditions: dict[int, set[int]]) -> np.ndarray:
    met = np.ones(len(states), bool)
    for variable, values in conditions.items():
        met &= np.isin(states[:, variable], list(values))
    return met


def table_of(solved: list[Solved], broken: Broken, told: dict[str, str]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """States, where the question is broken, which can occur: from rest, or from what came before."""
    one = solved[0]
    if broken.before is None:
        hit, _ = broken.watch.broken(one.first)
        return one.first.batch.values, hit & one.first.possible, one.first.possible
    compiled = one.scene.compiled
    came = {name.removeprefix("before."): text for name, text in told.items() if name.startswith("before.")}
    states = one.first.batch.values
    before = states.copy()
    for name, word in came.items():
        variable = compiled.variable_of[name]
        before[:, variable] = compiled.network.variables[variable].values.index(word)
    answers = answers_of(compiled, states, before)
    hit, _ = broken.watch.broken(answers)
    return states, hit & answers.possible, answers.possible


def fewer(states: np.ndarray, hit: np.ndarray, kept: np.ndarray, rest: np.ndarray, size: int) -> Iterator[object]:
    """Sets of so many variables that do as well: no kept state has them so, the plainest state that has is broken."""
    for state in states[hit]:
        away = set(np.flatnonzero(state != rest).tolist())
        others = [k for k in range(len(rest)) if k not in away and len(np.unique(states[:, k])) > 1]
        for more in combinations(others, size - len(away)) if size >= len(away) else ():
            named = sorted({*away, *more})
            if not (states[kept][:, named] == state[named]).all(axis=1).any():
                yield named, state


@pytest.mark.parametrize("seed", CARS[::4])
def test_conditions_told_imply_the_break_and_no_fewer_do(seed: int) -> None:
    solved = solved_at(seed)
    scene, rest = solved[0].scene, solved[0].scene.space.rest
    found = search(scene.compiled, solved[0].asked)
    proved = 0
    for broken in found.broken:
        if broken.values is None or broken.turned:
            continue
        told = dict(told_of(scene.compiled, found.space, broken).finding.when)
        conditions = in_words(scene, told)
        states, hit, can = table_of(solved, broken, told)
        kept = can & ~hit
        box = meeting(states, conditions)
        assert (box & hit).any(), (broken.watch.label, told)
        assert not (box & kept).any(), (broken.watch.label, told)
        plain = (states != rest).sum(axis=1) == sum((states[:, k] != rest[k]).astype(int) for k in conditions)
        assert (plain & box & hit).any(), (broken.watch.label, told)
        for size in range(len(conditions)):
            assert not list(fewer(states, hit, kept, rest, size)), (broken.watch.label, told)
        proved += 1
    assert proved


@pytest.mark.parametrize("seed", [1, 29, 61, 96])
def test_conditions_found_around_one_state_hold_in_every_raw_state(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """As on a large car, where a question is not asked of every state: what is told is still true in all of them."""
    monkeypatch.setattr("loomwright.states.asking.smallest._ASKED_NOW_MOST", 0)
    solved = solved_at(seed)
    scene = solved[0].scene
    found = search(scene.compiled, solved[0].asked, all_below=0)
    held = 0
    for broken in found.broken:
        if broken.values is None or broken.turned or broken.before is not None:
            continue
        told = dict(told_of(scene.compiled, found.space, broken).finding.when)
        if told.pop("others", ""):
            continue
        states, hit, can = table_of(solved, broken, told)
        box = meeting(states, in_words(scene, told))
        assert (box & hit).any(), (broken.watch.label, told)
        assert not (box & can & ~hit).any(), (broken.watch.label, told)
        held += 1
    assert held > 10
