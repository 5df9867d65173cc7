"""States asked for one question after the other are answered as if each were solved anew, and solved once."""

from __future__ import annotations

from dataclasses import fields

import numpy as np
import pytest

from loomwright.network.solve import Batch
from loomwright.states.asking import beside
from loomwright.states.asking.answered import answers_of
from loomwright.states.asking.answers import Answers
from loomwright.states.asking.beside import Beside
from tests.states.small_jobs import car, scene

SCENE = scene(car())


def same(one: Answers, other: Answers) -> bool:
    pairs = [(getattr(one.batch, field.name), getattr(other.batch, field.name)) for field in fields(Batch)]
    return one.held == other.held and all(np.array_equal(a, b) for a, b in [*pairs, (one.possible, other.possible)])


def rows(*engines: int) -> np.ndarray:
    """The loaded state with the engine in each of some states."""
    found = np.repeat(SCENE.space.loaded[None, :], len(engines), axis=0)
    found[:, SCENE.compiled.variable_of["engine"]] = engines
    return found


@pytest.fixture
def solved(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """How many states were solved, call by call."""
    counts: list[int] = []

    def counting(compiled, values, *others):
        counts.append(len(values))
        return answers_of(compiled, values, *others)

    monkeypatch.setattr(beside, "answers_of", counting)
    return counts


def test_what_was_asked_before_is_not_solved_again(solved: list[int]) -> None:
    ground = Beside(SCENE.compiled)
    for values in (rows(0, 1, 0), rows(1, 2, 0), rows(2)):
        assert same(ground.answers(values), answers_of(SCENE.compiled, values))
    assert solved == [2, 1]


def test_a_state_come_to_from_another_is_another(solved: list[int]) -> None:
    ground = Beside(SCENE.compiled)
    values = rows(1, 1)
    ground.answers(values)
    for before in (rows(0, 2), rows(2, 2)):
        assert same(ground.answers(values, before), answers_of(SCENE.compiled, values, before))
    assert same(ground.answers(values, turned=True), answers_of(SCENE.compiled, values, turned=True))
    assert solved == [1, 2, 1]


def test_states_beyond_the_room_are_solved_again_and_answered_alike(
    solved: list[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(beside, "_KEPT_MOST", 2)
    ground = Beside(SCENE.compiled)
    for values in (rows(0, 1), rows(1, 2), rows(0, 1, 2)):
        assert same(ground.answers(values), answers_of(SCENE.compiled, values))
    assert solved == [2, 2, 3]
