"""A joint at ohms it was not solved at is read as that joint."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from loomwright.car import Car
from loomwright.network.solve import values_of
from loomwright.proving.fault_bench import bench_of
from loomwright.proving.fitting import fits, probes_of
from loomwright.proving.ohms_between import with_ohms_between
from loomwright.proving.suspects import Suspect, suspects_of
from tests.proving.hunts import reading

RUNNING = "key=run, engine=running, coolant_c=105"
STATE = dict(piece.split("=") for piece in RUNNING.split(", "))


def joints(suspects: tuple[Suspect, ...], at: str) -> list[int]:
    return [k for k, one in enumerate(suspects) if one.kind == "resistance" and one.at == (at,)]


def test_a_joint_whose_next_level_is_another_car_goes_straight_on_from_the_sound_one(car: Car) -> None:
    """Amps times ohms: 0.5 ohm reads five times as far from the sound car as 0.1 ohm, while 1 ohm drops the relay."""
    suspects = (
        Suspect(kind="none", at=()),
        *(Suspect(kind="resistance", at=("E1",), added_ohm=((0, ohm),)) for ohm in (0.1, 1.0, 3.0)),
    )
    (probe,) = probes_of(car.scene, [reading("FAN1.+", RUNNING, 2.0)])
    shown = np.array([[0.0], [0.4], [0.0], [0.0]])
    found, between = with_ohms_between(suspects, [probe], shown)
    assert found[1, 0] == pytest.approx(2.0, abs=0.01)
    assert between.at_its_ohms(suspects, 1).added_ohm == ((0, pytest.approx(0.5)),)
    mixed = between.mixed(lambda faults: shown[faults], np.array([0, 1, 2, 3]))
    assert mixed[:, 0] == pytest.approx(found[:, 0])
    assert fits(probe, found[:, 0]).argmax() == 1


def test_the_line_through_the_first_level_is_what_the_car_does(car: Car) -> None:
    suspects = suspects_of(car.scene)
    wire = next(one.id for one in car.filled.wires if {one.from_, one.to} == {"KFAN1.87", "FAN1.+"})
    lowest = suspects[joints(suspects, wire)[0]]
    bench = bench_of(car.scene, suspects)
    values = values_of(car.scene.compiled, STATE)[None, :]
    node = car.scene.compiled.node_of["FAN1.+"]

    def at_fan(ohm: float) -> float:
        one = replace(lowest, added_ohm=tuple((k, ohm) for k, _ in lowest.added_ohm)) if ohm else suspects[0]
        return float(bench.solved_once(one, values).v[0, node])

    sound, first = at_fan(0.0), at_fan(0.1)
    for times in (0.5, 2.0):
        assert at_fan(0.1 * times) == pytest.approx(sound + times * (first - sound), rel=0.05)
