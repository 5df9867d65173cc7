"""Fuses and relays by the box: what works a relay, what hangs on it, what stops without it, what carries most."""

from __future__ import annotations

import pytest

from loomwright.handover.asking import walk_of
from loomwright.handover.box_charts import box_charts
from loomwright.handover.fuse_list import fuses_of
from loomwright.handover.outage import loads_of, stops_with_fuse, stops_without_part, working
from loomwright.handover.relay_list import relays_of
from loomwright.network.records import Changes
from loomwright.network.solve import solve_many
from tests.handover.bench_van import bench_car, bench_rows
from tests.handover.van import changed, rows, wire


def told(sheets):
    """The car, its walk, its relay lines by id."""
    car = bench_car(sheets)
    walk = walk_of(car.filled, car.kinds, car.compiled)
    return car, walk, {line.id: line for line in relays_of(car.scene, walk.answers)}


@pytest.fixture(scope="module")
def van():
    """The small van, its walk, its relays."""
    return told(rows())


def test_a_coil_is_followed_to_its_fuse_and_to_the_pin_that_earths_it(van):
    fan = van[2]["KF"]
    assert (fan.coil_from, fan.coil_to, fan.remark) == ("F3, KEY", "ECU.A3", "")


def test_a_coil_earthed_by_metal_names_the_metal_or_the_earth_point():
    sheets = rows()
    row = next(row for row in sheets["wires"] if row["id"] == "W18")
    row["to"] = "body"
    assert told(sheets)[2]["KF"].coil_to == "body"
    sheets["parts"].append({"id": "E1", "kind": "earth_point"})
    row["to"] = "E1"
    assert told(sheets)[2]["KF"].coil_to == "E1"


def test_a_relay_that_never_pulls_in_names_the_wires_at_its_coil():
    line = told(changed("wires", "W17", fitted="removed"))[2]["KF"]
    assert line.remark == "not in in any state here"
    assert (line.coil_from, line.coil_to) == ("nothing", "ECU.A3 by W18")
    assert line.stops == ()


def test_the_contact_tells_what_it_feeds_and_its_current_against_its_rating(van):
    (contact,) = van[2]["KF"].contacts
    assert (contact.terminals, contact.feeds, contact.rating) == ("30 to 87", ("FAN.+",), "30 A")
    # the fan draws 15 A at 13.5 V and nothing at 1.5 V: 13.3 A at the 12.2 V that are left of a battery alone
    assert float(contact.most.removesuffix(" A")) == pytest.approx(15.0 * (12.2 - 1.5) / (13.5 - 1.5), abs=0.3)


def test_what_stops_without_a_relay_is_what_its_contact_feeds(van):
    assert van[2]["KF"].stops == ("FAN",)


def test_a_relay_is_out_with_its_break_contact_too():
    sheets = rows()
    sheets["parts"].append({"id": "LB", "kind": "lamp", "name": "fan is off", "circuit": "fan"})
    sheets["wires"] += [wire("W50", "KF.87a", "LB.1", "fan"), wire("W51", "LB.2", "body", "fan")]
    car, walk, relays = told(sheets)
    assert relays["KF"].stops == ("FAN", "LB")
    assert [one.terminals for one in relays["KF"].contacts] == ["30 to 87", "30 to 87a"]
    # the same with the network built without it
    without = car.compiled_with(Changes(removed=("KF",)))
    after = solve_many(without, walk.answers.values)
    before, later = (
        {name for k, name in enumerate(loads.names) if works[:, k].any()}
        for loads, works in (
            (loads_of(car.compiled), working(loads_of(car.compiled), walk.answers.amps)),
            (loads_of(without), working(loads_of(without), after.amps)),
        )
    )
    assert {name.split(".")[0] for name in before - later} == {"FAN", "LB"}


def test_nothing_is_lost_by_leaving_alike_states_out(van):
    car, walk, _ = van
    loads = loads_of(car.compiled)
    before = working(loads, walk.answers.amps)
    for fuse in ("F1", "F2", "F3"):
        after = solve_many(car.compiled_with(Changes(pulled=(fuse,))), walk.answers.values)
        gone = (before & ~working(loads, after.amps)).any(axis=0)
        every = sorted({part for part, lost in zip(loads.parts, gone, strict=True) if lost})
        assert list(stops_with_fuse(car.compiled, fuse, walk.answers)) == every


def test_a_part_that_carries_nothing_stops_nothing(van):
    car, walk, _ = van
    assert stops_without_part(car.compiled, "TL", walk.answers) == ()


def test_a_fuse_tells_the_colour_of_its_blade_and_what_hangs_on_it():
    car = bench_car(bench_rows())
    walk = walk_of(car.filled, car.kinds, car.compiled)
    numbers = {"F3.rating_a": 3}
    lines = fuses_of(
        car.filled, car.kinds, car.compiled, walk.columns, walk.nearby, before=walk.answers, numbers=numbers
    )
    fuses = {line.id: line for line in lines}
    assert (fuses["F1"].colour, fuses["F2"].colour, fuses["F3"].colour) == ("red", "yellow", "tan")
    assert (fuses["F3"].rating, fuses["F3"].note, fuses["F1"].note) == ("5 A", 3, 0)
    assert fuses["F1"].feeds == ("LSW.1", "SBRK.1")
    # what only burns with one more switch on counts in the most, and is named
    assert fuses["F2"].most.endswith(", run, idling")
    assert fuses["F1"].most.endswith(" A, with lights=on, brake=on")


def test_only_a_blade_has_a_colour_and_no_other_family():
    car = bench_car(changed("parts", "F2", settings="rating_a=30; family=strip_sf30"))
    walk = walk_of(car.filled, car.kinds, car.compiled)
    lines = fuses_of(car.filled, car.kinds, car.compiled, walk.columns, walk.nearby)
    fuse = next(line for line in lines if line.id == "F2")
    assert (fuse.rating, fuse.colour, fuse.family) == ("30 A", "", "strip_sf30")


def test_a_fuse_that_is_fed_from_its_second_terminal_feeds_the_first():
    sheets = rows()
    for row in sheets["wires"]:
        for end in ("from", "to"):
            row[end] = {"F2.1": "F2.2", "F2.2": "F2.1"}.get(row[end], row[end])
    car = bench_car(sheets)
    walk = walk_of(car.filled, car.kinds, car.compiled)
    lines = fuses_of(car.filled, car.kinds, car.compiled, walk.columns, walk.nearby)
    assert next(line for line in lines if line.id == "F2").feeds == ("KF.30",)


def test_a_chart_holds_what_sits_at_one_place_by_box_and_way(van):
    sheets = rows()
    settings = {"F1": "box=A; way=10; rating_a=10", "F2": "box=A; way=2; rating_a=20", "F3": "rating_a=5"}
    for row in sheets["parts"]:
        row["settings"] = settings.get(row["id"], row.get("settings", ""))
    next(row for row in sheets["parts"] if row["id"] == "F3")["place"] = "rear"
    car, walk, relays = told(sheets)
    fuses = fuses_of(car.filled, car.kinds, car.compiled, walk.columns, walk.nearby)
    bay, rear = box_charts(fuses, tuple(relays.values()))
    assert (bay.place, bay.boxes) == ("engine bay", ("A",))
    assert [fuse.id for fuse in bay.fuses] == ["F2", "F1"]
    assert [relay.id for relay in bay.relays] == ["KF"]
    assert ([fuse.id for fuse in rear.fuses], rear.relays) == (["F3"], ())
