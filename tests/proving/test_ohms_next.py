"""Ohms are asked for where a short would blow its fuse or volts tell little, and what they show parts the suspects."""

from __future__ import annotations

from math import inf

import numpy as np
import pytest

from loomwright.car import Car
from loomwright.cli.locate import located_plain
from loomwright.job.rows import Reading
from loomwright.network.meter import Bench, read_ohms
from loomwright.network.records import Changes
from loomwright.proving.fault_table import measuring_states
from loomwright.proving.fitting import decades, probes_of
from loomwright.proving.locate import AT_REST, Located, NextPoint
from loomwright.proving.ohms_next import ohm_points
from loomwright.proving.suspects import suspects_of
from loomwright.proving.within_reach import within_reach
from tests.proving.hunts import reading

RUNNING = "key=run, engine=running, coolant_c=105"
FED_UP_TO_ITS_RELAY = [
    reading("FAN1.+", RUNNING, 0.0),
    reading("KFAN1.86", RUNNING, 13.8),
    reading("KPUMP.87", RUNNING, 13.7),
    reading("KFAN1.30", "key=run", 12.5),
]
"""A fan that stands: its wire may be bare and blow the fuse as the relay pulls in, or the relay does not make."""


def wire_between(car: Car, one: str, other: str) -> str:
    return next(wire.id for wire in car.filled.wires if {wire.from_, wire.to} == {one, other})


def odds_of(located: Located, kind: str, name: str) -> float:
    return sum(group.odds for group in located.groups if any((s.kind, s.at) == (kind, (name,)) for s in group.suspects))


def test_where_a_short_would_blow_the_fuse_once_more_ohms_to_the_body_are_asked_for(car: Car) -> None:
    asked = car.located(FED_UP_TO_ITS_RELAY, table=car.faults_read()).next[0]
    assert (asked.measure, asked.unit, asked.when) == ("ohms", "ohm", AT_REST)
    assert {asked.point, asked.to} <= {"KFAN1.87", "FAN1.+", "body"}
    assert asked.says.startswith("the battery's earth lead off its post; ")
    assert f"ohms from {asked.point} to {asked.to}" in asked.says
    dead = Bench(job=car.taken.job, kinds=car.kinds, changes=Changes(unplugged=asked.off), state={})
    sound = read_ohms(dead, asked.point, asked.to).value
    assert decades(asked.expected) == pytest.approx(decades(inf if sound is None else sound), abs=0.01)


def test_what_the_ohms_show_parts_the_bare_wire_from_the_relay(car: Car) -> None:
    wire = wire_between(car, "KFAN1.87", "FAN1.+")
    asked = car.located(FED_UP_TO_ITS_RELAY, table=car.faults_read()).next[0]
    for value, is_bare in ((0.0, True), (round(asked.expected, 1), False)):
        shown = Reading(point=asked.point, to=asked.to, measure="ohms", off=asked.off, value=value, unit="ohm")
        located = car.located([*FED_UP_TO_ITS_RELAY, shown], table=car.faults_read())
        assert (odds_of(located, "short to body", wire) > 0.9) is is_bare
        assert (odds_of(located, "contact", "KFAN1") > 0.5) is False, "of a relay with several contacts"
        again = (asked.point, asked.to, asked.off, asked.when, "ohms")
        assert again not in [(one.point, one.to, one.off, one.when, one.measure) for one in located.next]


def test_no_controller_hangs_on_a_net_whose_ohms_are_asked_for(car: Car) -> None:
    wire = wire_between(car, "F15.2", "ECU.A5")
    suspects = [
        one
        for one in suspects_of(car.scene)
        if one.kind == "none" or (one.at == (wire,) and one.kind in ("open", "short to body"))
    ]
    probes = probes_of(car.scene, [reading("ECU.A5", "key=run", 0.0)])
    asked = ohm_points(car.scene, within_reach(car.scene), suspects, np.array([0.0, 0.5, 0.5]), probes, 0.0)
    assert asked
    assert all("ECU" in one.off for one in asked), [one.says for one in asked]


def test_nothing_is_asked_where_volts_tell_enough_and_nothing_touches(car: Car) -> None:
    wire = wire_between(car, "F15.2", "ECU.A5")
    named = suspects_of(car.scene)
    suspects = [one for one in named if one.kind == "none" or (one.at == (wire,) and one.kind == "open")]
    suspects += [one for one in named if one.kind == "fuse" and one.at == ("F15",)]
    probes = probes_of(car.scene, [reading("ECU.A5", "key=run", 0.0)])
    half = np.array([0.0, 0.5, 0.5])
    assert ohm_points(car.scene, within_reach(car.scene), suspects, half, probes, 0.9) == []
    assert ohm_points(car.scene, within_reach(car.scene), suspects, half, probes, 0.1)


def test_the_table_knows_in_which_states_a_bare_wire_blows_its_fuse(car: Car) -> None:
    wire, table = wire_between(car, "KFAN1.87", "FAN1.+"), car.faults_read()
    bare = next(k for k, one in enumerate(table.suspects) if (one.kind, one.at) == ("short to body", (wire,)))
    hot = table.state_at({"key": "run", "engine": "running", "coolant_c": "105"})
    hot = hot if hot >= 0 else max(range(len(measuring_states(car.scene))), key=lambda s: table.blown[bare, s])
    assert table.blown[bare, hot]
    assert not table.blown[bare, 0], "at rest its relay is out"
    assert not table.blown[0].any()


def test_open_is_told_by_its_word_where_a_sound_car_shows_it() -> None:
    one = NextPoint(point="A.1", to="body", measure="ohms", bits=1.0, worth=1.0, expected=inf, unit="ohm")
    plain = located_plain(Located(groups=(), next=(one,), asked_again=(), faults=1))
    assert plain["next"]["expected"] == "open"  # type: ignore[index]
    assert one.says == "ohms from A.1 to body, everything at rest; open if that is sound"
