"""States side by side in plain numpy give the answers of the compiled kernels."""

from __future__ import annotations

from itertools import islice
from random import Random

import numpy as np
import pytest

from loomwright.network import lanes
from loomwright.network.compiled import Compiled, compile_network
from loomwright.network.lanes import ready_for_lanes, solve_lanes
from loomwright.network.records import Device, Element, Law, Network, Sense
from loomwright.network.settle import BUZZING
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


def test_room_that_was_used_before_changes_no_digit():
    compiled = demo()
    values, start = _demo_states(compiled, 24)
    ready = ready_for_lanes(compiled)
    solve_lanes(compiled, values[::-1], start[::-1], ready)
    fresh, again = solve_lanes(compiled, values, start), solve_lanes(compiled, values, start, ready)
    assert_same(fresh, again)
    assert np.array_equal(fresh.v, again.v)
    assert np.array_equal(fresh.amps, again.amps)


def test_lanes_that_settle_slowly_are_solved_pass_by_pass(monkeypatch: pytest.MonkeyPatch):
    compiled = demo()
    values, start = _demo_states(compiled, 24)
    slow: list[int] = []
    pass_by_pass = lanes.pass_by_pass

    def counted(car: lanes.Car, of: lanes.Lanes, which: np.ndarray) -> None:
        slow.extend(which.tolist())
        pass_by_pass(car, of, which)

    monkeypatch.setattr(lanes, "pass_by_pass", counted)
    by_rounds = solve_lanes(compiled, values, start)
    assert not slow
    monkeypatch.setattr(lanes, "_ROUNDS", 1)
    assert_same(by_rounds, solve_lanes(compiled, values, start))
    assert 0 < len(slow) <= len(values)


def _element(name: str, a: int, b: int, law: Law, *figures: float, needs: tuple[tuple[int, bool], ...] = ()) -> Element:
    return Element(name=name, a=a, b=b, law=law, figures=(figures,), needs=needs)


def _compiled(nodes: tuple[str, ...], elements: tuple[Element, ...], device: Device) -> Compiled:
    """A battery of 12.6 V between `plus` and `minus`, the first two nodes, with some elements and one device."""
    battery = _element("battery", 1, 0, Law.BATTERY, 12.6, 100.0, 13.0, 10.0, 1e-3)
    return compile_network(
        Network(
            nodes=("minus", "plus", *nodes),
            elements=(battery, *elements),
            devices=(device,),
            selectors=(),
            variables=(),
            reference=0,
            thermal=-1,
        )
    )


def test_a_relay_that_cuts_its_own_coil_buzzes():
    compiled = _compiled(
        ("coil", "lamp"),
        (
            _element("contact", 1, 2, Law.LINEAR, 100.0, 0.0, needs=((0, False),)),
            _element("coil", 2, 0, Law.LINEAR, 1.0 / 85.0, 0.0),
            _element("feed", 1, 3, Law.LINEAR, 100.0, 0.0, needs=((0, True),)),
            _element("lamp", 3, 0, Law.LAMP, 12.0, 21.0 / 12.0, 12.0 / 21.0),
        ),
        Device(name="relay", what="relay", senses=(Sense(2, -1, -1, 0.085, 0.014),)),
    )
    values = np.zeros((3, 0), np.int64)
    ours, other = solve_many(compiled, values), solve_lanes(compiled, values)
    assert (other.status == BUZZING).all()
    assert other.buzz.all()
    assert_same(ours, other)


@pytest.mark.parametrize("earthed", [False, True])
def test_what_hangs_on_a_diode_alone_is_no_signal(earthed: bool):
    loaded = (_element("load", 2, 0, Law.LINEAR, 1e-4, 0.0),) if earthed else ()
    compiled = _compiled(
        ("pin", "lamp"),
        (
            _element("diode", 1, 2, Law.DIODE, 0.7, 0.035, 50.0),
            _element("feed", 1, 3, Law.LINEAR, 100.0, 0.0, needs=((0, True),)),
            _element("lamp", 3, 0, Law.LAMP, 12.0, 21.0 / 12.0, 12.0 / 21.0),
            *loaded,
        ),
        Device(name="signal", what="signal", senses=(Sense(-1, 2, 0, 1.5, 1.0),)),
    )
    values = np.zeros((3, 0), np.int64)
    ours, other = solve_many(compiled, values), solve_lanes(compiled, values)
    assert (other.devices == int(earthed)).all()
    assert_same(ours, other)


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
