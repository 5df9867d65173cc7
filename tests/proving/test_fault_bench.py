"""A fault left out for touching nothing shows what it shows when it is solved; stopped work stops."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from loomwright.car import Car
from loomwright.job.reading import job_from_text
from loomwright.network.solve import values_of
from loomwright.proving.fault_bench import FaultBench, bench_of
from loomwright.proving.fault_table import measuring_states
from loomwright.proving.suspects import Suspect, suspects_of

NEAR_V = 0.01


@pytest.fixture(scope="module")
def bench(car: Car) -> FaultBench:
    post = car.scene.compiled.arrays.nodes
    return bench_of(car.scene, suspects_of(car.scene), [(node, post, 10e6) for node in range(post)])


def of_each_kind(suspects: Sequence[Suspect], every: int) -> list[Suspect]:
    """Some of each kind."""
    kinds = dict.fromkeys(one.kind for one in suspects)
    return [one for kind in kinds for one in [s for s in suspects if s.kind == kind][::every]]


def furthest_v(car: Car, bench: FaultBench, suspects: Sequence[Suspect]) -> tuple[float, str, float]:
    """By how much volts differ from those of solving everything, with which fault; and the share left out. [V]"""
    states = measuring_states(car.scene)
    sound = bench.solved_once(suspects_of(car.scene)[0], states)
    found, left_out = (0.0, ""), 0
    for suspect, batch in zip(suspects, bench.solved(suspects, states), strict=True):
        left_out += int((~bench.touches(suspect, sound)).sum())
        away_v = float(np.abs(batch.v - bench.solved_once(suspect, states).v).max())
        found = max(found, (away_v, suspect.says))
    return *found, left_out / (len(suspects) * len(states))


def test_what_touches_nothing_is_left_out_and_shows_the_same(car: Car, bench: FaultBench) -> None:
    some = of_each_kind(suspects_of(car.scene), 12)
    assert len({one.kind for one in some}) >= 10
    away_v, says, left_out = furthest_v(car, bench, some)
    assert away_v < NEAR_V, says
    assert left_out > 0.3


@pytest.mark.long
def test_every_fault_shows_the_same_as_when_all_is_solved(car: Car, bench: FaultBench) -> None:
    away_v, says, left_out = furthest_v(car, bench, suspects_of(car.scene))
    assert away_v < NEAR_V, says
    assert left_out > 0.3


CROSSED = {
    "parts": [
        {"id": "BAT", "kind": "battery"},
        {"id": "EN", "kind": "earth_point"},
        {"id": "LA", "kind": "lamp"},
        {"id": "SW", "kind": "switch"},
    ],
    "connectors": [{"id": "X1", "part": "LA", "terminals": "1 2"}],
    "wires": [
        {"id": "W1", "from": "BAT.+", "to": "SW.1", "size_mm2": "1", "length_mm": "1000"},
        {"id": "W2", "from": "SW.2", "to": "LA.1", "size_mm2": "1", "length_mm": "1000"},
        {"id": "W3", "from": "LA.2", "to": "EN.1", "size_mm2": "1", "length_mm": "1000"},
        {"id": "W4", "from": "BAT.-", "to": "body", "size_mm2": "16", "length_mm": "500"},
    ],
}


def test_two_wires_that_changed_places_feed_each_others_ends() -> None:
    scene = Car(job_from_text(CROSSED)).scene
    suspects = suspects_of(scene)
    swapped = next(one for one in suspects if one.kind == "swapped")
    assert swapped.at == ("W2", "W3")
    bench = bench_of(scene, suspects, [(node, scene.compiled.arrays.nodes, 10e6) for node in range(4)])
    on = values_of(scene.compiled, {"SW": "on"})[None, :]
    sound, crossed = bench.solved((suspects[0], swapped), on)
    fed, earthed = (scene.compiled.node_of[name] for name in ("LA.1", "LA.2"))
    assert crossed.v[0, earthed] == pytest.approx(sound.v[0, fed], abs=0.01)
    assert crossed.v[0, fed] == pytest.approx(sound.v[0, earthed], abs=0.01)
    assert sound.v[0, fed] - sound.v[0, earthed] > 11.0
