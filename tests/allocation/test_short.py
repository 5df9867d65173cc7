"""Too few pins: the smallest set that does not fit, in words, and ways out that hold; and rows that cannot be meant."""

from __future__ import annotations

import json
from dataclasses import replace
from random import Random

import pytest

from loomwright.allocation.allocated import Allocation, allocate, puzzle_of
from loomwright.allocation.engine import only_units
from loomwright.allocation.ground import ground_of
from loomwright.allocation.placing import fits
from loomwright.allocation.way_costs import minutes_of
from loomwright.car import Car
from loomwright.cli.main import main
from loomwright.job.job import Job
from loomwright.job.rows import Circuit, Connector, ControllerPin, Drive, Part, StockRow, VehicleProperty, Wire
from loomwright.refusals import BadDocument
from loomwright.sheets.csv_folder import open_folder, write_folder
from loomwright.tables.kinds import load_kinds
from tests.allocation.pin_jobs import sized_job, small_job
from tests.allocation.test_pins import need, pin

KINDS = load_kinds()


def short(job: Job) -> Allocation:
    """The answer of a job that does not fit."""
    found = allocate(job, KINDS)
    assert found.status == "does not fit"
    assert found.proved
    return found


def holds(found: Allocation) -> None:
    """Every way out leads to a job in which everything that is left has a pin, and none is told twice."""
    assert found.ways_out
    assert len({way.says for way in found.ways_out}) == len(found.ways_out)
    for way in found.ways_out:
        after = allocate(way.applied(found.job), KINDS, ways=0)
        assert after.status == "fits", way.says


def test_a_shortage_is_told_by_what_is_asked_for_and_not_by_a_count_of_all():
    needs = [need(f"inj{n}", "injector") for n in range(1, 7)] + [need(f"t{n}", "analog_input") for n in range(9)]
    pins = [pin(f"A{n}", "injector", max_a=3) for n in range(1, 5)] + [pin(f"B{n}", "analog_input") for n in range(9)]
    found = short(small_job(needs, pins))
    assert len(found.conflicts) == 1
    conflict = found.conflicts[0]
    assert len(conflict.needs) == 5
    assert set(conflict.pins) == {"A1", "A2", "A3", "A4"}
    assert len(conflict.likewise) == 1
    assert conflict.says.startswith("5 needs ask for an injector driver (injector): inj1 inj2 inj3 inj4 inj5")
    assert "Only 4 pins can do it: A1 A2 A3 A4. Leave any one of them out" in conflict.says
    holds(found)


def test_a_conflict_is_one_and_any_need_left_out_lets_the_others_fit():
    found = short(sized_job(Random(3), 30, 34, short="injector", by=6))
    puzzle = puzzle_of(ground_of(found.job, KINDS))
    for conflict in found.conflicts:
        units = frozenset(conflict.units)
        assert not fits(only_units(puzzle, units))
        for unit in units:
            assert fits(only_units(puzzle, units - {unit}))
    holds(found)


def test_a_pull_up_lets_a_switch_use_an_analog_input():
    five = [
        need("five", "supply_5v", part="MAP", terminal="5v"),
        need("map", "analog_input", part="MAP", terminal="signal"),
    ]
    needs = [*five, need("brake", "switch_to_earth"), need("clutch", "switch_to_earth", rank=3)]
    pins = [pin("V", "supply_5v"), pin("B1", "analog_input"), pin("B2", "analog_input"), pin("B3", "switch_to_earth")]
    job = small_job(needs, pins, stock=(StockRow(item="resistor", price=0.5),))
    job = replace(job, vehicle=(VehicleProperty(name="rate_per_hour", value="60"),))
    found = short(job)
    first = found.ways_out[0]
    assert "on a 0 to 5 V input with a pull-up to 5 V" in first.says
    # two wires cut 2 × 2, four ends 4 × 2.5, proved 2 × 1.5, two splices 2 × 10, a sensor set 15
    assert first.cost.minutes == 4 + 10 + 3 + 20 + 15
    assert (first.cost.wires, first.cost.parts, first.cost.price, first.cost.unpriced) == (2, ("resistor",), 52.5, ())
    after = first.applied(job)
    resistor = next(part for part in after.parts if part.kind == "resistor")
    ends = {wire.to for wire in after.wires if wire.from_.startswith(f"{resistor.id}.")}
    assert "MAP.5v" in ends
    assert len(ends) == 2
    assert found.ways_out[-1].changes[0].kind == "leave out"
    holds(found)


def test_what_is_bought_counts_as_the_minutes_it_pays_for():
    job = small_job(
        [need("pump", "low_side", load_a=6.0)],
        [pin("A1", "low_side", max_a=1.0)],
        stock=(StockRow(item="relay", price=7.5),),
    )
    (change,) = short(job).ways_out[0].changes
    paid = replace(job, vehicle=(VehicleProperty(name="rate_per_hour", value="30"),))
    work, whole = (minutes_of(ground_of(each, KINDS), change) for each in (job, paid))
    # a relay at 7.5 is a quarter of an hour at 30 an hour
    assert whole - work == pytest.approx(15.0)


def test_a_relay_lets_a_weak_driver_do_and_its_contact_takes_over_the_load():
    wires = (Wire(id="W1", from_="P_pump.2", to="", colour="GN/WH"),)
    job = small_job([need("pump", "low_side", load_a=6.0)], [pin("A1", "low_side", max_a=1.0)], wires=wires)
    found = short(job)
    assert found.conflicts[0].says.startswith(
        "pump: no pin serves even by itself: A1 carries 1 A and 6 A are asked for"
    )
    way = found.ways_out[0]
    assert way.changes[0].stand_in == "relay_low"
    assert way.loses == ("pump: quick switching: a relay cannot be pulsed",)
    after = way.applied(job)
    relay = next(part for part in after.parts if part.kind == "relay")
    ends = {wire.from_: wire.to for wire in after.wires}
    assert ends[f"{relay.id}.87"] == "P_pump.2"
    assert ends[f"{relay.id}.30"] == "body"
    assert ends[f"{relay.id}.86"] == "P_pump.1"
    assert next(wire for wire in after.wires if wire.id == "W1").from_ == f"{relay.id}.85"
    assert [wire.id for wire in after.wires] == ["W1", "W2", "W3", "W4"]
    # the control wire keeps its colour; a new leg has the base of its circuit, what goes to earth is brown
    assert [(wire.from_.split(".")[1], wire.colour) for wire in after.wires] == [
        ("85", "GN/WH"), ("86", "GN/BK"), ("30", "BN"), ("87", "GN/BN"),
    ]  # fmt: skip
    assert Car(after).allocated().pins == {"pump": "A1"}


def test_a_relay_for_a_load_that_is_fed_leaves_its_feed_to_be_chosen():
    job = small_job(
        [need("lamp", "high_side", load_a=6.0)], [pin("A1", "low_side", max_a=1.0), pin("A2", "high_side", max_a=1)]
    )
    found = short(job)
    ends_of_coil = {"relay_high": "86", "relay_turned_high": "85"}
    assert {way.changes[0].stand_in for way in found.ways_out[:2]} == set(ends_of_coil)
    for way in found.ways_out[:2]:
        assert "its contact wants a fused feed, to be chosen" in way.loses[0]
        after = way.applied(job)
        relay = next(part.id for part in after.parts if part.kind == "relay")
        ends = {wire.from_: wire.to for wire in after.wires}
        assert ends[f"{relay}.87"] == "P_lamp.2"
        assert ends[f"{relay}.30"] == ""
        assert next(row for row in after.needs if row.id == "lamp").terminal == ends_of_coil[way.changes[0].stand_in]
    holds(found)


def test_a_load_that_is_pulsed_gets_no_relay():
    drives = (Drive(output="pump", when=_always(), duty_frac=0.4),)
    job = small_job([need("pump", "low_side", load_a=6.0)], [pin("A1", "low_side", max_a=1.0)], drives=drives)
    assert [way.changes[0].kind for way in short(job).ways_out] == ["leave out"]


def _always():  # type: ignore[no-untyped-def]
    from loomwright.job.conditions import ALWAYS

    return ALWAYS


def test_two_loads_share_a_driver_those_that_are_on_together_first():
    needs = [need(f"inj{n}", "injector", load_a=1.0) for n in range(1, 4)]
    drives = tuple(Drive(output=f"inj{n}", when=_always(), duty_frac=0.1 if n < 3 else 0.2) for n in range(1, 4))
    job = small_job(needs, [pin(f"A{n}", "injector", max_a=2.5) for n in (1, 2)], drives=drives)
    found = short(job)
    way = found.ways_out[0]
    assert way.says.startswith("inj1 and inj2 on one driver")
    assert way.loses == ("inj1 and inj2 can only be on together",)
    assert way.cost.pins == -1
    after = way.applied(job)
    assert {row.id for row in after.needs} == {"inj1", "inj3"}
    assert any({wire.from_, wire.to} == {"P_inj2.2", "P_inj1.2"} for wire in after.wires)
    assert {drive.output for drive in after.drives} == {"inj1", "inj3"}
    holds(found)


@pytest.mark.parametrize(
    ("served", "on", "may"), [("lamps", 0.1, True), ("gearbox", 0.1, False), ("lamps", 0.2, False)]
)
def test_a_driver_is_shared_by_loads_that_are_on_together_and_never_by_those_of_a_gearbox(served, on, may):
    needs = [need(f"sol{n}", "low_side", load_a=1.0) for n in (1, 2)]
    drives = tuple(Drive(output=f"sol{n}", when=_always(), duty_frac=duty) for n, duty in ((1, 0.1), (2, on)))
    job = small_job(needs, [pin("A1", "low_side", max_a=2.5)], drives=drives)
    parts = tuple(replace(one, circuit="c") if one.id.startswith("P_sol") else one for one in job.parts)
    job = replace(job, parts=parts, circuits=(*job.circuits, Circuit(id="c", name="c", class_=served)))
    shared = [way for way in short(job).ways_out if any(change.kind == "share" for change in way.changes)]
    assert bool(shared) is may


def test_half_a_bridge_is_set_to_the_side_that_is_asked_for():
    job = small_job([need("a", "low_side"), need("b", "low_side")], [pin("A1", "low_side"), pin("A2", "half_bridge")])
    found = short(job)
    after = found.ways_out[0].applied(job)
    assert next(row for row in after.controller_pins if row.id == "A2").active == "low"
    assert set(Car(after).allocated().pins.values()) == {"A1", "A2"}


def test_a_need_that_is_fixed_in_the_way_may_be_moved():
    needs = [need("a", "low_side", pin="A1"), need("b", "pwm")]
    job = small_job(needs, [pin("A1", "pwm", "low_side"), pin("A2", "low_side")])
    found = short(job)
    assert found.ways_out[0].says == "a off A1, where it is fixed, on A2"
    assert Car(found.ways_out[0].applied(job)).allocated().pins == {"a": "A2", "b": "A1"}


def test_what_is_wanted_least_is_left_out_first_and_last_of_all_ways():
    needs = [need("must", "ignition", rank=1), need("wish", "ignition", rank=3)]
    job = small_job(needs, [pin("A1", "ignition")], circuits=(Circuit(id="c", class_="ignition"),))
    found = short(job)
    assert found.left_out == ("wish",)
    assert [way.says for way in found.ways_out] == ["wish left out", "must left out"]
    assert found.ways_out[0].cost.minutes == 0


def test_one_wanted_most_is_kept_though_two_wishes_go_for_it():
    needs = [
        *(
            need(name, "vr_input", part="CRK", terminal=end, kind="sensor_vr")
            for name, end in (("c+", "+"), ("c-", "-"))
        ),
        need("w1", "hall_input", rank=3),
        need("w2", "hall_input", rank=3),
    ]
    pins = [pin("B1", "vr_input", "hall_input", pair="B2"), pin("B2", "vr_input", "hall_input", pair="B1")]
    found = short(small_job(needs, pins))
    assert set(found.pins) == {"c+", "c-"}
    assert found.ways_out[0].says == "w1 left out; w2 left out"


def test_what_is_of_no_use_in_part_is_built_whole_or_left_out_whole():
    lines = [need(f"sel{n}", "switch_to_earth", part="SEL", terminal="2", option="SEL/coded", rank=2) for n in range(4)]
    pins = [pin(f"B{n}", "switch_to_earth") for n in range(3)]
    found = short(small_job([*lines, need("wish", "switch_to_earth", rank=3)], pins))
    assert found.pins == {"wish": "B0"}
    assert found.left_out == ("sel0 + sel1 + sel2 + sel3",)
    assert found.options == {}
    assert [way.says for way in found.ways_out] == ["sel0 + sel1 + sel2 + sel3 left out"]
    holds(found)


def test_one_of_needs_built_together_may_stand_elsewhere_and_the_others_keep_their_kind_of_pin():
    five = [
        need("five", "supply_5v", part="MAP", terminal="5v"),
        need("map", "analog_input", part="MAP", terminal="signal"),
    ]
    lines = [need(f"sel{n}", "switch_to_earth", option="SEL/coded") for n in range(3)]
    pins = [
        pin("A1", "supply_5v"),
        *(pin(f"B{n}", "switch_to_earth") for n in (1, 2)),
        *(pin(f"B{n}", "analog_input") for n in (8, 9)),
    ]
    found = short(small_job([*five, *lines], pins))
    first = found.ways_out[0]
    assert first.says == "sel2 on a 0 to 5 V input with a pull-up to 5 V, on B9"
    assert {first.pins["sel0"], first.pins["sel1"]} == {"B1", "B2"}
    holds(found)


def wished(more: tuple[Wire, ...] = (), fitted: str = "new") -> Job:
    """Two switches of one input: the wish with a circuit of its own, its wire and its earth."""
    job = small_job(
        [need("must", "switch_to_earth"), need("wish", "switch_to_earth", rank=3)],
        [pin("B1", "switch_to_earth")],
        circuits=(Circuit(id="w"), Circuit(id="m")),
    )
    parts = tuple(replace(row, circuit="w", fitted=fitted) if row.id == "P_wish" else row for row in job.parts)
    wires = (
        Wire(id="W1", circuit="w", from_="P_wish.2", fitted="new"),
        Wire(id="W2", circuit="w", from_="P_wish.1", to="body", fitted="new"),
        Wire(id="W3", circuit="m", from_="P_must.1", to="body", fitted="new"),
    )
    return replace(job, parts=parts, wires=(*wires, *more))


def test_with_the_last_need_of_a_circuit_its_part_and_wires_are_left_out():
    job = wished()
    after = short(job).ways_out[0].applied(job)
    assert [row.id for row in after.needs] == ["must"]
    assert {row.id for row in job.parts} - {row.id for row in after.parts} == {"P_wish"}
    assert [row.id for row in after.wires] == ["W3"]


def test_a_sensor_left_out_goes_with_its_heater():
    needs = [
        need("must", "analog_input"),
        need("oxygen", "analog_input", part="LBD", kind="oxygen_narrow", terminal="signal", rank=3),
    ]
    job = small_job(
        needs,
        [pin("B1", "analog_input")],
        circuits=(Circuit(id="heater"), Circuit(id="signal")),
    )
    parts = tuple(replace(row, circuit="heater") if row.id == "LBD" else row for row in job.parts)
    parts = (*parts, Part(id="FL", kind="fuse", circuit="heater"))
    wires = (
        Wire(id="W1", circuit="heater", from_="FL.2", to="LBD.h+", fitted="new"),
        Wire(id="W2", circuit="heater", from_="LBD.h-", to="body", fitted="new"),
        Wire(id="W3", circuit="signal", from_="LBD.signal", fitted="new"),
        Wire(id="W4", circuit="signal", from_="LBD.earth", to="body", fitted="new"),
    )
    after = short(replace(job, parts=parts, wires=wires)).ways_out[0].applied(replace(job, parts=parts, wires=wires))
    assert [row.id for row in after.needs] == ["must"]
    assert not {"LBD", "FL"} & {row.id for row in after.parts}
    assert after.wires == ()


@pytest.mark.parametrize(
    ("more", "fitted"),
    [((Wire(id="W4", circuit="m", from_="P_wish.1", to="P_must.1", fitted="new"),), "new"), ((), "kept")],
)
def test_a_circuit_that_serves_another_or_is_in_the_car_already_stays(more: tuple[Wire, ...], fitted: str):
    job = wished(more, fitted)
    after = short(job).ways_out[0].applied(job)
    assert [row.id for row in after.needs] == ["must"]
    assert after.parts == job.parts
    assert [row.id for row in after.wires] == ["W2", "W3", *(row.id for row in more)]


def test_an_ability_nobody_has_is_told_with_its_row_and_what_would_do_it():
    job = small_job(
        [need("a", "low_side"), need("kn", "knock_input", part="K", terminal="+", kind="knock", rank=3)],
        [pin("A1", "low_side"), pin("A3", "analog_input")],
    )
    found = short(job)
    assert found.left_out == ("kn",)
    assert found.conflicts[0].says == (
        "kn (row 3 of needs): no pin of ECU is a knock input (knock_input). It can be had by a knock box of its own "
        "that tells a 0 to 5 V input how loud it is (A3), lost: listening by cylinder and crank angle."
    )
    assert [way.says for way in found.ways_out] == ["kn left out"]
    assert found.wanted == (("knock_input", 1),)
    more = replace(job, controller_pins=(*job.controller_pins, ControllerPin(id="A9", part="ECU", terminal="A9",
                                                                            abilities=("knock_input",))))  # fmt: skip
    assert allocate(more, KINDS).status == "fits"


def test_both_leads_of_a_sensor_nobody_has_pins_for_are_wanted_as_a_pair():
    needs = [need(f"c{end}", "vr_input", part="CRK", terminal=end, kind="sensor_vr") for end in "+-"]
    found = short(small_job(needs, [pin("A1", "low_side"), pin("A2", "hall_input")]))
    assert "(rows 2 and 3 of needs): no pin of ECU is an input for a coil sensor" in found.conflicts[0].says
    assert "prove the base timing anew" in found.conflicts[0].says
    assert found.wanted == (("vr_input", 2),)


def test_an_ability_that_something_stands_in_for_is_a_way_out():
    five = [need("five", "supply_5v", part="MAP", terminal="5v")]
    pins = [pin("V", "supply_5v"), pin("A3", "analog_input")]
    found = short(small_job([*five, need("a", "temperature_input", rank=3)], pins))
    assert "It can be had by a 0 to 5 V input with a pull-up to 5 V (A3)" in found.conflicts[0].says
    assert found.ways_out[0].says == "a on a 0 to 5 V input with a pull-up to 5 V, on A3"
    holds(found)


def test_more_pins_are_not_called_for_where_a_bank_is_to_blame():
    needs = [need(f"n{k}", "low_side", load_a=1.0, together=(f"n{1 - k}",)) for k in (0, 1)]
    pins = [pin(f"A{k}", "low_side", max_a=2.0, bank="B", bank_max_a=1.5) for k in (1, 2)]
    assert short(small_job(needs, [*pins, pin("A3", "analog_input")])).wanted == ()


def coils(order: str, count: int, drivers: int) -> Job:
    """A coil a cylinder, its igniter inside, on too few drivers."""
    needs = [need(f"c{n}", "ignition", part=f"C{n}", does=f"coil {n}") for n in range(1, count + 1)]
    job = small_job(needs, [pin(f"A{n}", "ignition", max_a=0.05) for n in range(drivers)])
    return replace(job, vehicle=(VehicleProperty(name="firing_order", value=order),) if order else ())


def test_coils_of_companions_share_a_driver_all_of_them_or_none():
    found = short(coils("1-5-3-6-2-4", 6, 4))
    way = found.ways_out[0]
    assert way.says == (
        "c1 and c6 on one driver, as companions; c2 and c5 on one driver, as companions; "
        "c3 and c4 on one driver, as companions"
    )
    assert "wasted spark" in way.loses[0]
    assert len(way.loses) == 1
    assert way.cost.pins == -3
    after = way.applied(found.job)
    assert len([row for row in after.needs if row.ability == "ignition"]) == 3
    ends = [{wire.from_, wire.to} for wire in after.wires]
    for one, other in ((1, 6), (2, 5), (3, 4)):
        assert {f"C{one}.signal", f"C{other}.signal"} in ends
    assert found.wanted == (("ignition", 2),)
    holds(found)


@pytest.mark.parametrize(("order", "count", "drivers"), [("", 6, 4), ("1-2-4-5-3", 5, 4), ("1-5-3-6-2-4", 6, 2)])
def test_no_companions_are_offered_where_nobody_knows_them_or_they_are_no_help(order: str, count: int, drivers: int):
    found = short(coils(order, count, drivers))
    whole = [way for way in found.ways_out if all(change.kind == "share" for change in way.changes)]
    assert whole == []


def test_injectors_share_with_their_companions_where_the_firing_order_is_known():
    needs = [need(f"i{n}", "injector", part=f"I{n}", load_a=1.0, does=f"injector {n}") for n in range(1, 5)]
    job = small_job(needs, [pin(f"A{n}", "injector", max_a=2.5) for n in (1, 2)])
    job = replace(job, vehicle=(VehicleProperty(name="firing_order", value="1-3-4-2"),))
    (way, *_) = short(job).ways_out
    assert way.says == "i1 and i4 on one driver, as companions; i2 and i3 on one driver, as companions"


def test_of_six_injectors_on_four_drivers_none_is_left_single_beside_pairs():
    """A controller opens each by itself or all in pairs: of two pins too few the answer is three pairs."""
    needs = [need(f"i{n}", "injector", part=f"I{n}", load_a=1.0, does=f"injector {n}") for n in range(1, 7)]
    job = small_job(needs, [pin(f"A{n}", "injector", max_a=2.5) for n in range(1, 5)])
    job = replace(job, vehicle=(VehicleProperty(name="firing_order", value="1-5-3-6-2-4"),))
    shared = [sum(change.kind == "share" for change in way.changes) for way in short(job).ways_out]
    assert shared[0] == 3
    assert set(shared) <= {0, 3}


def test_where_one_pair_is_too_much_for_every_driver_no_pair_shares():
    loads_a = {1: 2.0, 6: 2.0}
    needs = [
        need(f"i{n}", "injector", part=f"I{n}", load_a=loads_a.get(n, 1.0), does=f"injector {n}") for n in range(1, 7)
    ]
    job = small_job(needs, [pin(f"A{n}", "injector", max_a=2.5) for n in range(1, 5)])
    job = replace(job, vehicle=(VehicleProperty(name="firing_order", value="1-5-3-6-2-4"),))
    # i1 and i6 would be 4 A on a driver of 2.5
    shared = {change.kind == "share" for way in short(job).ways_out for change in way.changes}
    assert shared == {False}


WRONG = {
    "two needs on one pin": (
        [need("a", "low_side", pin="A1"), need("b", "low_side", pin="ECU.A1")],
        ("needs", 3, "pin"),
        "a in row 2 has that pin too, and a pin serves one need: leave one of the two blank",
    ),
    "together and apart": (
        [
            need("a", "low_side", together=("b",)),
            need("b", "low_side"),
            need("c", "low_side", together=("b",), apart=("a",)),
        ],
        ("needs", 4, "apart"),
        "They are to be together as well, by c (row 4), b (row 3), a (row 2): take one of the two out",
    ),
    "with itself": ([need("a", "low_side", apart=("a",))], ("needs", 2, "apart"), "Take a out of its own row"),
    "no part": ([need("a", "low_side", part="")], ("needs", 2, "part"), "Name the part that a drives or senses"),
    "no ability": ([need("a", "")], ("needs", 2, "ability"), "Write what the pin of a must be able to do"),
    "a pin that cannot": (
        [need("a", "low_side", pin="A3")],
        ("needs", 2, "pin"),
        "A3 is no switch to earth (low_side): name another",
    ),
    "nothing left of an option": (
        [need("a", "low_side"), need("v", "low_side", part="GONE", option="idle/valve")],
        ("needs", 3, "option"),
        "Of the option idle nothing is left to build, GONE being removed",
    ),
}


@pytest.mark.parametrize("case", WRONG)
def test_what_cannot_be_meant_is_told_with_its_row(case: str):
    needs, where, words = WRONG[case]
    job = small_job(needs, [pin("A1", "low_side"), pin("A2", "low_side"), pin("A3", "analog_input")])
    job = replace(job, parts=tuple(replace(p, fitted="removed") if p.id == "GONE" else p for p in job.parts))
    with pytest.raises(BadDocument) as caught:
        allocate(job, KINDS)
    assert [(one.sheet, one.row, one.column) for one in caught.value.problems] == [where]
    assert words in str(caught.value)


@pytest.mark.parametrize(("terminal", "words"), [("", "Write the terminal of A1"), ("A9", "Add A9 to the terminals")])
def test_a_pin_without_a_terminal_is_told(terminal: str, words: str):
    plug = (Connector(id="XA", part="ECU", terminals=("A1", "A2")),)
    job = small_job(
        [need("a", "low_side")], [pin("A1", "low_side", terminal=terminal), pin("A2", "low_side")], connectors=plug
    )
    with pytest.raises(BadDocument) as caught:
        allocate(job, KINDS)
    problems = caught.value.problems
    assert [(one.sheet, one.row, one.column) for one in problems] == [("controller_pins", 2, "terminal")]
    assert words in str(caught.value)


def test_alternatives_of_one_option_may_be_fixed_to_one_pin():
    needs = [
        need("a", "low_side", pin="A1", option="o/a", rank=1),
        need("b", "low_side", pin="A1", option="o/b", rank=2),
    ]
    assert allocate(small_job(needs, [pin("A1", "low_side")]), KINDS).pins == {"a": "A1"}


def test_a_job_that_needs_nothing_has_an_answer():
    found = allocate(small_job([], [pin("A1", "low_side")]), KINDS)
    assert (found.status, found.pins) == ("fits", {})
    assert [one.pins for one in found.spares] == [("A1",)]


def test_the_command_answers_keeps_and_goes_a_way(tmp_path, capsys):
    battery = [Part(id="B1", kind="battery", place="bay")]
    needs = [need("a", "low_side", rank=1), need("b", "low_side", rank=3)]
    job = small_job(needs, [pin("A1", "low_side"), pin("A2", "half_bridge")], parts=battery)
    write_folder(job, tmp_path / "job")
    name = str(tmp_path / "job")
    assert main(["allocate", name, "--json"]) == 1
    answer = json.loads(capsys.readouterr().out)
    assert answer["status"] == "does not fit"
    assert answer["pins"] == {"a": "ECU.A1"}
    assert set(answer["ways_out"][0]) >= {"change", "cost", "loses"}
    assert set(answer["conflict"][0]["needs"]) == {"a", "b"}
    assert main(["allocate", name]) == 1
    shown = capsys.readouterr().out
    assert "Does not fit: left out are b." in shown
    assert "Ways out, what gives up least first, then the cheapest:" in shown
    assert main(["allocate", name, "--way", "1", "--keep"]) == 0
    capsys.readouterr()
    kept = open_folder(tmp_path / "job")
    assert len(kept.decisions) == 2
    assert main(["allocate", name, "--json", "--adopt"]) == 0
    assert json.loads(capsys.readouterr().out)["status"] == "fits"
    assert all(row.pin for row in open_folder(tmp_path / "job").needs)
    assert main(["allocate", name, "--way", "9"]) == 2
    assert "none: everything fits" in capsys.readouterr().err
