"""States side by side in plain numpy give the answers of the compiled kernels."""

from __future__ import annotations

from itertools import islice
from random import Random

import numpy as np
import pytest

from loomwright.network.compiled import Compiled, compile_network
from loomwright.network.lanes import solve_lanes
from loomwright.network.records import Law
from loomwright.network.solve import Batch, before_of, solve_many, start_at_rest, values_of
from tests.network.random_networks import MODES, random_network
from tests.outside.ngspice.cars import demo, possible_states

SAME_V = 1e-6
NETWORKS = 40


def assert_same(ours: Batch, other: Batch) -> None:
    """Every figure and every flag of two answers."""
    assert np.array_equal(ours.status, other.status)
    assert np.array_equal(ours.devices, other.devices)
    assert np.array_equal(ours.buzz, other.buzz)
    assert np.array_equal(ours.floating, other.floating)
    assert np.abs(ours.v - other.v).max() < SAME_V
    assert np.allclose(ours.amps, other.amps, rtol=1e-5, atol=1e-5)


@pytest.mark.parametrize("part", range(4))
def test_random_networks_in_all_their_states(part: int):
    rng = Random(part)
    for count in range(NETWORKS // 4):
        laws = [law for law in Law if law != Law.LINEAR]
        compiled = compile_network(random_network(rng, rng.sample(laws, 4), relays=count % 4))
        states = [values_of(compiled, {"mode": mode, "ambient_c": t}) for mode in MODES for t in ("-10", "40")]
        values = np.array(states)
        assert_same(solve_many(compiled, values), solve_lanes(compiled, values))


def _demo_states(compiled: Compiled, count: int) -> tuple[np.ndarray, np.ndarray]:
    states = [state for state, _ in islice(possible_states(compiled, seed=5), count)]
    values = np.array([values_of(compiled, state) for state in states])
    start = start_at_rest(compiled, count)
    for row, one in enumerate(values):
        earlier = before_of(compiled, one)
        if earlier is not None:
            start[row] = solve_many(compiled, earlier[None, :]).devices[0]
    return values, start


def test_the_demonstration_car_with_its_relays_fuses_and_motors():
    compiled = demo()
    values, start = _demo_states(compiled, 60)
    ours, other = solve_many(compiled, values, start), solve_lanes(compiled, values, start)
    assert_same(ours, other)
    assert ours.devices.any()


def test_a_lane_knows_nothing_of_its_neighbours():
    compiled = demo()
    values, start = _demo_states(compiled, 24)
    whole = solve_lanes(compiled, values, start)
    for row in (0, 23):
        assert_same(solve_lanes(compiled, values[row : row + 1], start[row : row + 1]), _row(whole, row))


def _row(batch: Batch, row: int) -> Batch:
    here = slice(row, row + 1)
    return Batch(
        values=batch.values[here],
        v=batch.v[here],
        floating=batch.floating[here],
        devices=batch.devices[here],
        buzz=batch.buzz[here],
        amps=batch.amps[here],
        status=batch.status[here],
    )
