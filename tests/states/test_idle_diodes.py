"""A diode that can never carry makes no way; one that may carry in some state does."""

from __future__ import annotations

import random

import numpy as np
import pytest

from loomwright.cli.asking import open_car
from loomwright.job.reading import job_from_text
from loomwright.network.build import build_network
from loomwright.network.compiled import compile_network
from loomwright.network.records import Law
from loomwright.network.solve import solve_many
from loomwright.states.asking.cones import is_way
from loomwright.states.asking.idle_diodes import idle_diodes
from loomwright.states.asking.plan import ALL_BELOW, cut_cones
from loomwright.tables.kinds import load_kinds
from tests.states.random_cars import random_car
from tests.states.small_jobs import car, scene, wire

KINDS = load_kinds()
LEAST_A = 0.01
COIL_PARTS = [{"id": "K1", "kind": "relay"}, {"id": "LA2", "kind": "lamp"}]
COIL_WIRES = [
    wire("W10", "KEY.15", "K1.86"),
    wire("W11", "K1.85", "body"),
    wire("W12", "F1.2", "K1.30"),
    wire("W13", "K1.87", "LA2.1"),
    wire("W14", "LA2.2", "body"),
]


def idle_in(job) -> set[str]:
    """The names of the diodes that are held idle."""
    compiled = scene(job).compiled
    return {compiled.network.elements[k].name for k in idle_diodes(compiled, is_way)}


def with_diode(*ends: str):
    """The relay car and a diode between two points, its anode first."""
    return car(
        parts=[*COIL_PARTS, {"id": "D1", "kind": "diode"}],
        wires=[*COIL_WIRES, wire("W20", ends[0], "D1.a"), wire("W21", "D1.k", ends[1])],
    )


def test_a_diode_from_earth_to_a_coils_live_end_never_carries():
    assert {name.split(".")[0] for name in idle_in(with_diode("body", "K1.86"))} >= {"D1"}


@pytest.mark.parametrize("ends", [("KEY.75", "KEY.15"), ("SW1.2", "K1.86"), ("K1.86", "body")])
def test_a_diode_that_a_supply_can_feed_may_carry(ends):
    assert not any(name.startswith("D1") for name in idle_in(with_diode(*ends)))


def test_with_the_strap_of_an_alternator_lost_no_diode_is_held_idle():
    job = car(
        parts=[*COIL_PARTS, {"id": "D1", "kind": "diode"}, {"id": "ALT", "kind": "alternator"}],
        wires=[*COIL_WIRES, wire("W20", "body", "D1.a"), wire("W21", "D1.k", "K1.86"), wire("A1", "ALT.B+", "BAT.+")],
    )
    assert any(name.startswith("D1") for name in idle_in(job))
    lost = car(
        parts=[*COIL_PARTS, {"id": "D1", "kind": "diode"}, {"id": "ALT", "kind": "alternator"}],
        wires=[*COIL_WIRES, wire("W20", "body", "D1.a"), wire("W21", "D1.k", "K1.86"), wire("A1", "ALT.B+", "BAT.+")],
        without=["W2"],
    )
    assert idle_in(lost) == set()


def test_what_is_held_idle_carries_nothing_in_any_state_of_random_cars():
    held = 0
    dice = np.random.default_rng(3)
    for seed in range(0, 100, 3):
        compiled = compile_network(build_network(job_from_text(random_car(random.Random(seed))), KINDS))
        idle = sorted(idle_diodes(compiled, is_way))
        if not idle:
            continue
        held += len(idle)
        values = [range(len(v.values)) for v in compiled.network.variables]
        states = np.stack([dice.choice(list(one), 60) for one in values], axis=1).astype(np.int64)
        assert all(compiled.network.elements[k].law == Law.DIODE for k in idle)
        assert float(np.abs(solve_many(compiled, states).amps[:, idle]).max()) < LEAST_A
    assert held > 10


def test_without_the_idle_diodes_ways_the_wagon_is_searched_whole():
    """Two million raw states, each thing's own variables few enough to be combined."""
    wagon = open_car("wagon").scene
    assert wagon.space.raw > 300 * ALL_BELOW
    assert cut_cones(wagon.space, wagon.cones.asked) == []
