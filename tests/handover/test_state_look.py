"""What is energised in a state, what feeds each point, what each circuit draws, and what stops when a thing is out."""

from __future__ import annotations

import pytest

from loomwright.car import Car
from loomwright.handover.asking import walk_of
from loomwright.handover.fuse_list import fuses_of
from loomwright.handover.outage import gauges_of, loads_of, working
from loomwright.handover.state_plain import plan_plain, solved_plain, wires_plain
from loomwright.job.reading import job_from_text
from loomwright.network.records import Changes
from loomwright.network.solve import solve_many, values_of
from loomwright.refusals import OutOfReach
from tests.handover.van import rows
from tests.states.rules.engine_car import engine_car
from tests.states.small_jobs import car as small_car
from tests.states.small_jobs import wire

ON = {"key": "run", "SW1": "on"}


@pytest.fixture(scope="module")
def lamp_car() -> Car:
    return Car(small_car())


def test_with_the_key_off_only_what_lies_before_it_is_energised(lamp_car):
    plan = lamp_car.in_states.plan(lamp_car.in_states.look())
    assert plan.energised == ("W3", "W4")
    assert [one.energised for one in plan.circuits if one.id == "work"] == [0]


def test_a_lamp_that_is_on_works_and_its_circuit_draws_what_it_takes(lamp_car):
    look = lamp_car.in_states.look(ON)
    work = next(one for one in lamp_car.in_states.plan(look).circuits if one.id == "work")
    assert [(load.part, load.works) for load in work.loads] == [("LA1", True)]
    assert work.drawn_a == pytest.approx(look.solved.amps["W6"])
    assert work.carried_a == pytest.approx(abs(look.solved.amps["W7"]))
    assert work.energised == 3


def test_a_way_goes_through_what_is_closed_in_this_state(lamp_car):
    on, off = lamp_car.in_states.look(ON), lamp_car.in_states.look({"key": "run"})
    assert on.feeds("LA1.1") == ("BAT", "F1", "KEY", "SW1")
    assert on.leads_back("LA1.1") == ("LA1", "BAT")
    assert off.feeds("SW1.1") == ("BAT", "F1", "KEY")
    assert off.feeds("LA1.1") == ()
    assert [off.standing(point) for point in ("SW1.1", "LA1.1", "nowhere.1")] == ["live", "dead", ""]


def test_a_way_goes_along_the_current_and_not_against_it():
    # a second lamp nearer to earth hangs before the switch: the first lamp's way back is not through it
    car = Car(
        small_car(
            parts=[{"id": "LA2", "kind": "lamp", "settings": "watt=21"}],
            wires=[wire("W8", "SW1.2", "LA2.1"), wire("W9", "LA2.2", "body")],
        )
    )
    look = car.in_states.look(ON)
    assert look.leads_back("LA1.1") == ("LA1", "BAT")
    assert look.leads_back("LA2.1") == ("LA2", "BAT")


def test_a_wire_that_is_joined_to_nothing_floats():
    car = Car(
        small_car(
            parts=[{"id": "X", "kind": "splice"}, {"id": "Y", "kind": "splice"}], wires=[wire("W8", "X.1", "Y.1")]
        )
    )
    look = car.in_states.look(ON)
    assert look.standing("X.1") == "floating"
    assert [one.floating for one in car.in_states.plan(look).circuits if not one.id] == [1]


@pytest.mark.parametrize(
    "state", [{"key": "run", "engine": "idle", "coolant_c": "95", "lights": "on"}, {"key": "run"}, {}]
)
def test_what_stops_without_a_wire_is_what_stops_when_it_is_cut(state):
    car = Car(job_from_text(rows()))
    look = car.in_states.look(state)
    told = {}
    for circuit in {row.circuit for row in car.filled.wires}:
        told |= {k: v for k, v in car.in_states.stops(look, circuit).items() if k.startswith("W")}
    loads = loads_of(car.compiled)
    before = working(loads, look.batch.amps)[0]
    for name, stopped in told.items():
        cut = car.compiled_with(Changes(opened=(name,)), look.solved.state)
        after = working(loads_of(cut), solve_many(cut, values_of(cut, look.solved.state)[None, :]).amps)[0]
        lost = {part for part, was, on in zip(loads.parts, before, after, strict=True) if was and not on}
        assert set(stopped) == lost, name
    assert len(told) > 10


GAUGED = {
    "parts": [
        {"id": "F2", "kind": "fuse", "settings": "rating_a=5"},
        {"id": "F3", "kind": "fuse", "settings": "rating_a=5"},
        {"id": "STAB", "kind": "stabiliser"},
        {"id": "GF", "kind": "gauge_thermal", "name": "fuel gauge"},
        {"id": "TS", "kind": "sender_fuel", "settings": "bolted_to=body"},
        {"id": "GV", "kind": "voltmeter"},
        {"id": "RPM", "kind": "tacho_pulse"},
        {"id": "AM", "kind": "ammeter"},
    ],
    "wires": [
        wire("W20", "KEY.15", "F2.1"),
        wire("W21", "F2.2", "STAB.B"),
        wire("W22", "STAB.I", "GF.supply"),
        wire("W23", "GF.signal", "TS.1"),
        wire("W24", "STAB.E", "body"),
        wire("W25", "F2.2", "RPM.supply"),
        wire("W26", "RPM.earth", "body"),
        wire("W27", "KEY.15", "F3.1"),
        wire("W28", "F3.2", "AM.1"),
        wire("W29", "AM.2", "GV.1"),
        wire("W30", "GV.2", "body"),
        # the pulses come from the lamp's switched wire, so that its input stays fed when its feed is gone
        wire("W31", "SW1.2", "RPM.signal"),
    ],
}
"""Three sorts: one behind its sender and a stabiliser, one that measures volts, one that draws to be alive."""


def test_a_gauge_goes_dead_with_its_fuse_its_feed_and_its_senders_wire():
    car = Car(small_car(**GAUGED))
    walk = walk_of(car.filled, car.kinds, car.compiled)
    fuses = fuses_of(car.filled, car.kinds, car.compiled, walk.columns, walk.nearby, before=walk.answers)
    told = {line.id: line.dies for line in fuses}
    assert told["F2"] == ("GF", "RPM")
    assert told["F3"] == ("GV",)
    assert {"GF", "GV", "RPM", "LA1"} <= set(told["F1"])
    assert "AM" not in told["F1"], "an ammeter reads that nothing flows"
    stops = car.in_states.stops(car.in_states.look(ON), "")
    assert {name: stops[name] for name in ("W22", "W23", "W24", "W25", "W29")} == {
        "W22": ("GF",),
        "W23": ("GF",),
        "W24": (),  # without its earth the stabiliser gives the gauge more, not less
        "W25": ("RPM",),
        "W29": ("GV",),
    }


def test_a_gauge_that_only_its_neighbours_input_feeds_is_dead():
    car = Car(small_car(**GAUGED))
    gauges = gauges_of(car.filled, car.kinds)
    assert gauges == ("GF", "GV", "RPM")
    loads = loads_of(car.compiled, gauges)
    amps = car.in_states.look(ON, changes=Changes(opened=("W25",))).batch.amps[0]
    left = abs(sum(amps[k] for k in loads.places[loads.names.index("RPM")]))
    # by hand: some 12.5 V over the 10 000 ohm of its input: a milliampere and a quarter, and it stands still
    assert left == pytest.approx(0.00125, rel=0.05)
    fed = car.in_states.look(ON).batch.amps[0]
    assert abs(sum(fed[k] for k in loads.places[loads.names.index("RPM")])) > 0.05


def test_answers_are_kept_and_a_plug_that_is_off_is_another_answer():
    car = Car(small_car(connectors=[{"id": "X1", "part": "LA1", "terminals": "1 2"}]))
    look = car.in_states.look(ON)
    assert car.in_states.look(dict(reversed(ON.items()))) is look
    off = car.in_states.look(ON, changes=Changes(unplugged=("X1",)))
    assert off is not look
    assert car.in_states.plan(off).drawn_a == pytest.approx(0.0)
    with pytest.raises(OutOfReach):
        car.in_states.look({"key": "sideways"})


def test_plain_answers_hold_what_the_records_hold(lamp_car):
    look = lamp_car.in_states.look(ON)
    plain = plan_plain(lamp_car.in_states.plan(look))
    assert plain["energised"] == list(lamp_car.in_states.plan(look).energised)
    told = {one["id"]: one for one in wires_plain(look, lamp_car.filled.wires)}
    assert told["W6"]["fed_by"] == ["BAT", "F1", "KEY", "SW1"]
    assert told["W6"]["amps"] == pytest.approx(solved_plain(look.solved)["amps"]["W6"])
    assert told["W6"]["from_v"] > 11.0


def test_a_dead_wire_is_fed_by_nothing_though_a_way_leads_to_it_from_the_supply():
    # key off, SW1 on: 100 kohm from the fuse to the lamp's feed carry 0.1 mA, and the lamp takes it to earth
    job = small_car(
        parts=[{"id": "R1", "kind": "resistor", "settings": "ohm=100000"}],
        wires=[wire("W20", "F1.2", "R1.1"), wire("W21", "R1.2", "SW1.1")],
    )
    look = Car(job).in_states.look({"key": "off", "SW1": "on"})
    assert look.feeds("LA1.1") == ("BAT", "F1", "R1", "SW1")
    told = {one["id"]: one for one in wires_plain(look, Car(job).filled.wires)}
    assert (told["W6"]["energised"], told["W6"]["fed_by"]) == (False, [])
    assert told["W20"]["fed_by"] == ["BAT", "F1"]


def test_behind_the_charge_lamp_a_turning_alternator_feeds_and_no_battery_through_a_load_and_earth():
    """Key off, engine turning, no diode in the lamp's lead: D+ feeds the key's net through the lamp."""
    job = engine_car(without=["L2", "L3"], wires=[wire("L9", "CHG.2", "ALT.D+", "1")])
    look = Car(job).in_states.look({"key": "off", "engine": "idle"})
    assert look.feeds("CHG.2") == ("ALT",)
    assert look.feeds("CHG.1") == ("ALT", "CHG")
    assert look.feeds("KMR.86") == ("ALT", "CHG")
    # the controller itself is fed by the battery over the relay that this holds in
    assert look.feeds("ECU.1")[0] == "BAT"
