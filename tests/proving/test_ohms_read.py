"""Ohms with the battery off: what the meter shows with each fault, and the fault found by it."""

from __future__ import annotations

import numpy as np
import pytest

from loomwright.car import Car
from loomwright.job.conditions import parse_condition
from loomwright.job.rows import Reading
from loomwright.network.meter import Bench, read_ohms
from loomwright.network.records import Changes
from loomwright.proving.fitting import decades, probes_of
from loomwright.proving.ohms_read import ohms_bench, ohms_shown
from loomwright.proving.suspects import Suspect, suspects_of
from loomwright.refusals import BadDocument

SOUND = [Suspect(kind="none", at=())]


def ohms(point: str, to: str = "", value: float | str = "open", when: str = "", off: tuple[str, ...] = ()) -> Reading:
    return Reading(
        point=point, to=to, when=parse_condition(when), measure="ohms", value=value, unit="ohm", off=off, visit="x"
    )


def shown_by_a_network_of_its_own(car: Car, one: Reading, **wrong: object) -> float:
    """The same with the fault put into the sheets' network, built anew without its battery. [ohm]"""
    state = dict(piece.split("=") for piece in one.when.text.split(", ") if piece)
    changes = Changes(unplugged=tuple(name for name in one.off if "." not in name), **wrong)  # type: ignore[arg-type]
    bench = Bench(job=car.taken.job, kinds=car.kinds, changes=changes, state=state)
    network = car.compiled.network
    found = read_ohms(bench, one.point, one.to or network.nodes[network.reference]).value
    return np.inf if found is None else found


def test_of_the_sound_car_the_ohms_are_those_of_its_network_without_the_battery(car: Car) -> None:
    read = [
        ohms("FAN1.+"),
        ohms("FAN1.+", "FAN1.-"),
        ohms("KFAN1.85", "KFAN1.86"),
        ohms("KFAN1.30", "KFAN1.87"),
        ohms("F15.1", when="key=run"),
        ohms("F15.1", "KEY.15"),
        ohms("FAN1.+", off=("FAN1",)),
    ]
    probes = probes_of(car.scene, read)
    found = [float(ohms_shown(car.scene, probe, SOUND)[0]) for probe in probes]
    wanted = [shown_by_a_network_of_its_own(car, one) for one in read]
    assert decades(np.array(found)) == pytest.approx(decades(np.array(wanted)), abs=0.01)
    assert found[3] == np.inf, "a relay at rest"
    assert found[1] < 10.0 < found[2] < 200.0, "a fan's winding, a relay's"


def test_of_many_meters_in_one_network_the_one_that_is_on_shows_what_it_shows_by_itself(car: Car) -> None:
    wire = next(one for one in car.filled.wires if {one.from_, one.to} == {"KFAN1.87", "FAN1.+"})
    some = [*SOUND, *(one for one in suspects_of(car.scene) if one.at[:1] in ((wire.id,), ("FAN1.+",), ("FAN1",)))]
    assert len({one.kind for one in some}) >= 5
    read = [ohms("KFAN1.87", off=("FAN1",)), ohms("KFAN1.87", "FAN1.+"), ohms("FAN1.+", "FAN1.-")]
    probes = probes_of(car.scene, read)
    together = ohms_bench(car.scene, some, [(one.a, one.b) for one in probes])
    for number, probe in enumerate(probes):
        found = together.shown(number, some, probe.values, probe.off)
        assert decades(found) == pytest.approx(decades(ohms_shown(car.scene, probe, some)), abs=0.005), probe.reading


def test_with_a_fault_they_are_those_of_the_network_that_has_it(car: Car) -> None:
    wire = next(one for one in car.filled.wires if {one.from_, one.to} == {"KFAN1.87", "FAN1.+"})
    suspects = suspects_of(car.scene)
    one = ohms("KFAN1.87")
    (probe,) = probes_of(car.scene, [one])
    for kind, wrong, more in (
        ("open", {"opened": (wire.id,)}, 0.0),
        ("resistance", {"series": ((wire.id, 10.0),)}, 10.0),
        ("resistance", {"series": ((wire.id, 0.1),)}, 0.1),
    ):
        mine = [
            suspect
            for suspect in suspects
            if suspect.kind == kind
            and suspect.at == (wire.id,)
            and sum(ohm for _, ohm in suspect.added_ohm) == pytest.approx(more)
        ]
        assert len(mine) == 1
        found = float(ohms_shown(car.scene, probe, mine)[0])
        wanted = shown_by_a_network_of_its_own(car, one, **wrong)
        assert decades(found) == pytest.approx(decades(wanted), abs=0.01), kind


def test_a_wire_on_the_body_shows_next_to_nothing_with_its_ends_off(car: Car) -> None:
    wire = next(one.id for one in car.filled.wires if {one.from_, one.to} == {"KFAN1.87", "FAN1.+"})
    off = ("FAN1", "KFAN1")
    clear = car.located([ohms("FAN1.+", value="open", off=off)])
    assert clear.groups[0].suspects[0].kind == "none", "clear of the body, as it should be"
    located = car.located([ohms("FAN1.+", value=0.2, off=off)])
    told = [one for group in located.groups[:1] for one in group.suspects]
    crimped = {("bare", ("FAN1.+",)), ("bare", ("KFAN1.87",))}
    assert {(one.kind, one.at) for one in told} - crimped == {("short to body", (wire,))}, [one.says for one in told]
    assert located.groups[0].odds > 0.8


def test_ends_of_one_wire_that_are_open_to_each_other_are_that_wire(car: Car) -> None:
    wire = next(one.id for one in car.filled.wires if {one.from_, one.to} == {"KFAN1.87", "FAN1.+"})
    located = car.located([ohms("KFAN1.87", "FAN1.+")])
    assert [(one.kind, one.at) for one in located.groups[0].suspects] == [("open", (wire,))]
    high = car.located([ohms("KFAN1.87", "FAN1.+", value=4.0)])
    assert {one.at for one in high.groups[0].suspects} == {(wire,)}
    assert "high in resistance" in high.groups[0].says


@pytest.mark.parametrize(
    ("one", "says"),
    [
        (ohms("FAN1.+", when="key=run, engine=running"), "the engine standing: ohms are read with the battery off"),
        (ohms("FAN1.+", value=-2.0), "ohms, nought or more, or open"),
        (ohms("FAN1.+", value="dim"), "the ohms, or open"),
        (ohms("FAN1.+", value=2.0, off=("lamp",)), "the battery is off altogether"),
        (ohms("NOWHERE.1"), "a point of the job"),
    ],
)
def test_ohms_that_cannot_be_meant_are_refused(car: Car, one: Reading, says: str) -> None:
    with pytest.raises(BadDocument, match=says):
        car.located([one])
