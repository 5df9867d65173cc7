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
from loomwright.proving.put_off import put_off
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


def touching(switch: str, *off: str) -> tuple[float, float, float]:
    """W2 of the small job on the body: amps into it at its first end, what is lost in it, and volts at its second."""
    scene = Car(job_from_text(CROSSED)).scene
    suspects = suspects_of(scene)
    bare = next(one for one in suspects if one.kind == "short to body" and one.at == ("W2",))
    bench = bench_of(scene, suspects, [(node, scene.compiled.arrays.nodes, 10e6) for node in range(4)], along=True)
    batch = next(bench.solved((bare,), values_of(scene.compiled, {"SW": switch})[None, :], put=put_off(scene, off)))
    ((_, lost),) = bench.lost_a(bare, batch)
    amps = float(batch.amps[0, scene.compiled.elements_of["W2"][0]])
    return amps, float(lost[0]), float(batch.v[0, scene.compiled.node_of["LA.1"]])


def test_amps_that_go_into_a_bare_wire_do_not_come_out() -> None:
    into_a, lost_a, far_v = touching("on", "lamp")
    assert into_a == pytest.approx(1.8, abs=0.2)
    assert -lost_a == pytest.approx(into_a, abs=0.1)
    assert far_v < 0.3


def test_a_bare_wire_touches_until_it_is_off_at_the_end_the_current_comes_from() -> None:
    assert touching("on", "lamp", "W2:LA.1")[0] == pytest.approx(1.8, abs=0.2), "off at the lamp, it still touches"
    assert abs(touching("on", "lamp", "W2")[0]) < 1e-6, "off at the switch, nothing flows"


FUSED = {
    "parts": [
        {"id": "BAT", "kind": "battery"},
        {"id": "F1", "kind": "fuse", "settings": "rating_a=15"},
        {"id": "SW", "kind": "switch"},
        {"id": "LA", "kind": "lamp", "settings": "watt=170"},
        {"id": "EN", "kind": "earth_point"},
    ],
    "wires": [
        {"id": "W1", "from": "BAT.+", "to": "F1.1", "size_mm2": "2.5", "length_mm": "1000"},
        {"id": "W2", "from": "F1.2", "to": "SW.1", "size_mm2": "2.5", "length_mm": "1000"},
        {"id": "W3", "from": "SW.2", "to": "LA.1", "size_mm2": "2.5", "length_mm": "1000"},
        {"id": "W4", "from": "LA.2", "to": "EN.1", "size_mm2": "2.5", "length_mm": "1000"},
        {"id": "W5", "from": "BAT.-", "to": "body", "size_mm2": "16", "length_mm": "500"},
    ],
}


def test_a_fuse_that_is_too_small_blows_when_the_load_is_on_and_not_before() -> None:
    scene = Car(job_from_text(FUSED)).scene
    suspects = suspects_of(scene)
    small = next(one for one in suspects if one.kind == "small fuse")
    assert small.at == ("F1",)
    bench = bench_of(scene, suspects, [(node, scene.compiled.arrays.nodes, 10e6) for node in range(6)], along=True)
    states = np.array([values_of(scene.compiled, {"SW": where}) for where in ("off", "on")])
    (batch,) = bench.solved((small,), states)
    volts = batch.v[:, scene.compiled.node_of["F1.2"]]
    assert volts[0] == pytest.approx(12.6, abs=0.1)
    assert volts[1] < 0.1, "5 A does not hold 14 A"
