"""A state that another stands for has the answer it has when it is solved by itself."""

from __future__ import annotations

from dataclasses import fields

import numpy as np
import pytest

from loomwright.car import Car
from loomwright.network.alike import alike
from loomwright.network.arrays import type_i
from loomwright.network.compiled import Compiled
from loomwright.network.solve import Batch, devices_after, gathered, solve_alike, solve_many, start_at_rest
from loomwright.states.asking.solving import Solving
from tests.states.small_jobs import car


@pytest.fixture(scope="module")
def compiled() -> Compiled:
    return Car(car()).compiled


@pytest.fixture(scope="module")
def states(compiled: Compiled) -> type_i:
    """Some states of a small car, in no order."""
    planned = Solving(compiled).states
    return planned[np.random.default_rng(1).permutation(len(planned))[:200]]


def test_each_is_answered_to_the_last_digit_as_by_itself(compiled: Compiled, states: type_i) -> None:
    together = solve_many(compiled, states)
    assert len(solve_alike(compiled, states)[0].values) < len(states)
    for row, values in enumerate(states):
        alone = solve_many(compiled, values[None, :])
        for field in fields(Batch):
            assert (getattr(together, field.name)[row] == getattr(alone, field.name)[0]).all(), field.name


def test_one_that_begins_otherwise_stands_for_none(compiled: Compiled, states: type_i) -> None:
    twice = np.repeat(states[:1], 3, axis=0)
    start = start_at_rest(compiled, 3)
    start[1, 0] = 1 - start[1, 0]
    first, which = alike(compiled.arrays, twice, start)
    assert (first.tolist(), which.tolist()) == ([0, 1], [0, 1, 0])


def test_devices_alone_are_those_of_the_whole_answer(compiled: Compiled, states: type_i) -> None:
    assert (devices_after(compiled, states) == solve_many(compiled, states).devices).all()


def test_gathered_states_are_those_of_their_batches(compiled: Compiled, states: type_i) -> None:
    one, other = solve_many(compiled, states[:20]), solve_many(compiled, states[20:40])
    which = np.array([39, 0, 20, 19, 0])
    found, whole = gathered([one, other], which, states[which]), solve_many(compiled, states[which])
    for field in fields(Batch):
        assert (getattr(found, field.name) == getattr(whole, field.name)).all(), field.name
    assert found.v.flags.f_contiguous
