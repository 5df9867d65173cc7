"""A joint at ohms it was not solved at is read as that joint."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from loomwright.car import Car
from loomwright.network.solve import values_of
from loomwright.proving.fault_bench import bench_of
from loomwright.proving.fault_table import table_of
from loomwright.proving.fitting import fits, probes_of
from loomwright.proving.live_shorts import is_too_risky
from loomwright.proving.next_point import next_points, shown_there
from loomwright.proving.ohms_between import OhmsBetween, with_ohms_between
from loomwright.proving.suspects import Suspect, suspects_of
from loomwright.proving.within_reach import within_reach
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


def test_where_the_line_leads_to_amps_no_wire_would_hold_the_joint_is_solved_at_its_ohms(car: Car) -> None:
    """Half an ohm in the starter's cable: its amps fall by 150 at a tenth of it, and the line leads on to hundreds."""
    scene, crank = car.scene, {"key": "start", "engine": "cranking"}
    cable = max((wire.id for wire in car.filled.wires), key=lambda name: abs(car.solve(crank).amps.get(name, 0.0)))
    lowest = suspects_of(scene)[joints(suspects_of(scene), cable)[0]]
    fuse = next(one for one in suspects_of(scene) if one.kind == "fuse" and one.at == ("FREL",))
    half = replace(lowest, added_ohm=tuple((k, 0.5) for k, _ in lowest.added_ohm))
    none = Suspect(kind="none", at=())
    states = np.array([values_of(scene.compiled, state) for state in ({}, crank)])
    table = table_of(scene, [none, lowest, fuse], states)
    led_on = OhmsBetween(beside=np.array([0, 0, 2]), part=np.array([0.0, -4.0, 0.0]))
    reach, rows, weights = within_reach(scene), np.arange(3), np.array([0.5, 0.5])
    line = np.abs(led_on.mixed(lambda faults: table.amps_of(faults, 1), rows))
    assert is_too_risky(line, reach.burns_a, weights), "what the line says of it"
    exact = table_of(scene, [none, half], states)
    volts, amps, second = shown_there(scene, table, led_on, rows, 1, reach.burns_a)
    assert volts[1] == pytest.approx(exact.volts_of(np.array([1]), 1)[0], abs=0.02)
    assert amps[1] == pytest.approx(exact.amps_of(np.array([1]), 1)[0], abs=0.05)
    assert not is_too_risky(np.maximum(np.abs(amps), np.abs(second)), reach.burns_a, weights)
    asked = next_points(scene, table, np.array([0.0, 0.5, 0.5]), [], led_on, reach)
    assert "engine=cranking" in "".join(one.when for one in asked)
