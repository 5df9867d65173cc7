"""Wires are cut reel by reel, crimped die by die, seated place by place; what is on record is done."""

from __future__ import annotations

from itertools import pairwise

from loomwright.car import Car
from loomwright.handover.connector_faces import cavities_of, connector_faces
from loomwright.tables.kinds import load_kinds
from loomwright.worklist.building import building_things
from loomwright.worklist.thing import next_of
from tests.worklist.small_day import small_day


def steps(**more):
    return building_things(small_day(**more))


def done_in_order(things, many):
    done, order = set(), []
    for _ in range(many):
        thing = next_of(things, done)
        done.add(thing.id)
        order.append(thing.id.removeprefix("build/"))
    return order


def test_cutting_comes_first_reel_by_reel_with_the_allowance():
    first = steps()[0]
    assert (first.does, first.colour, first.here, first.there) == ("Cut W4", "BN", "LA1.2", "E1.1")
    assert ("cut", "1240 mm") in first.facts  # 1200 and 40 for another try at both ends
    assert done_in_order(steps(), 3) == ["W4/both/cut", "W3/both/cut", "W2/both/cut"]


def test_a_die_is_changed_once():
    order = done_in_order(steps(), 9)[3:]
    six, eight = order[:4], order[4:]
    assert six == ["W3/from/crimped", "W3/to/crimped", "W4/from/crimped", "W2/to/crimped"]
    assert eight == ["W4/to/crimped", "W2/from/crimped"]


def test_a_crimp_tells_strip_die_and_pull_and_says_what_goes_on_before_it():
    thing = next(one for one in steps() if one.id == "build/W2/from/crimped")
    assert dict(thing.facts)["strip"] == "8 mm"
    assert dict(thing.facts)["die"] == "M8"
    assert "pull" in dict(thing.facts)
    assert any("before the terminal" in says for says in thing.cautions)


def test_seating_goes_place_by_place_and_the_label_follows_at_once():
    order = done_in_order(steps(), 27)[9:]
    seats = [name for name in order if name.endswith("seated")]
    places = [next(one.place for one in steps() if one.id == f"build/{name}") for name in seats]
    assert len(seats) == 6
    assert sum(one != other for one, other in pairwise(places)) == 1
    assert order.index("W2/to/labelled") > order.index("W2/to/seated")


def test_a_step_waits_for_the_one_before_it_and_one_put_off_holds_up_nothing_else():
    things = steps()
    assert next_of(things, later={"build/W4/both/cut"}).id == "build/W3/both/cut"
    done = {"build/W3/both/cut", "build/W2/both/cut"}
    assert next_of(things, done, later={"build/W4/both/cut"}).id == "build/W3/from/crimped"


def test_what_is_on_record_is_done_and_a_kept_wire_is_not_built():
    things = steps(progress=[{"wire": "W4", "end": "both", "step": "cut"}])
    assert next_of(things).id == "build/W3/both/cut"
    assert not any(one.wire == "W1" for one in things)


def test_a_sleeve_is_offered_and_may_be_passed_over():
    things = steps()
    sleeve = next(one for one in things if one.id == "build/W2/from/sleeved")
    assert sleeve.offered
    done = {one.id for one in things if not one.offered}
    assert next_of(things, done).offered
    assert next_of(things, done, later={one.id for one in things if one.offered}) is None


FITTINGS = {
    "parts": [
        {"id": "BAT", "kind": "battery", "place": "bay"},
        {"id": "BUS", "kind": "busbar", "place": "bay"},
        {"id": "SP1", "kind": "splice", "place": "bay"},
        {"id": "E1", "kind": "earth_point", "place": "bay"},
        {"id": "SEL", "kind": "selector_switch", "place": "cabin"},
        {"id": "F1", "kind": "fuse", "settings": "rating_a=10", "place": "bay"},
    ],
    "wires": [
        {"id": "B1", "from": "BAT.-", "to": "body", "fitted": "kept"},
        {"id": "B2", "from": "BAT.+", "to": "BUS.1", "fitted": "kept"},
        {"id": "W1", "from": "BUS.2", "to": "SP1.1", "size_mm2": "1", "length_mm": "500", "colour": "RD"},
        {"id": "W2", "from": "SP1.2", "to": "F1.1", "size_mm2": "1", "length_mm": "400", "colour": "RD"},
        {"id": "W3", "from": "SEL.2", "to": "E1.1", "size_mm2": "1", "length_mm": "300", "colour": "BN"},
        {"id": "W4", "from": "SEL.P", "to": "SP1.3", "size_mm2": "1", "length_mm": "300", "colour": "BN"},
    ],
    "circuits": [],
    "crimps": [],
    "connectors": [{"id": "XS", "part": "SEL", "terminals": "c P N 2", "ways": "4"}],
}


def at(things, name):
    return next(one for one in things if one.id == f"build/{name}")


def test_each_end_is_told_by_what_it_goes_to_and_nothing_clicks_on_a_bolt():
    things = steps(**FITTINGS)
    told = {name: at(things, f"{name}/seated") for name in ("W1/from", "W1/to", "W2/to", "W3/to", "W3/from")}
    assert {name: one.does for name, one in told.items()} == {
        "W1/from": "Bolt down the start of W1",
        "W1/to": "See the splice done at the end of W1",
        "W2/to": "Seat the end of W2",
        "W3/to": "Bolt down the end of W3",
        "W3/from": "Seat the start of W3",
    }
    assert [name for name, one in told.items() if any("until it clicks, then" in says for says in one.cautions)] == [
        "W3/from"
    ]
    assert any("Bright metal" in says for says in told["W3/to"].cautions)
    assert all("Battery off" in told[name].cautions[0] for name in ("W1/from", "W3/to"))


def test_the_wires_of_a_splice_are_pressed_together_one_after_the_other():
    things = steps(**FITTINGS)
    splices = [one for one in things if one.group == "Splice SP1"]
    assert [one.does for one in splices] == [
        "Splice the end of W1",
        "Splice the start of W2",
        "Splice the end of W4",
    ]
    assert all("one barrel" in one.cautions[0] for one in splices)


def test_a_cavity_is_the_one_of_the_face_on_the_paper_and_a_terminal_is_never_told_as_one():
    job = small_day(**FITTINGS)
    faces = connector_faces(job, load_kinds())
    cavity = {f"SEL.{one.terminal}": one.number for one in faces[0].cavities}
    assert (cavity["SEL.P"], cavity["SEL.2"]) == (2, 4)
    things = building_things(job, cavities=cavities_of(faces))
    for point, wire in (("SEL.P", "W4"), ("SEL.2", "W3")):
        told = dict(at(things, f"{wire}/from/seated").facts)["cavity"]
        assert told == f"{cavity[point]}, taken by the order of the sheets: compare before pinning"
    assert dict(at(building_things(job), "W3/from/seated").facts) == {"connector": "XS", "terminal": "2"}


def test_a_crimp_says_which_tubes_along_its_wire_no_terminal_passes():
    runs = [
        {"id": "R1", "from": "bay", "to": "cabin", "length_mm": "700", "covering": "braided sleeve"},
        {"id": "R9", "from": "cabin", "to": "bay", "length_mm": "9000", "covering": "conduit"},
    ]
    day = Car(small_day(runs=runs)).day("build")
    told = {one.id: dict(one.facts).get("pushed on before its second end") for one in day.of("build").things}
    assert told["build/W3/to/crimped"] == told["build/W3/from/crimped"] == "braided sleeve of R1"
    assert told["build/W2/to/crimped"] is None
    taped = Car(small_day(runs=[{**row, "covering": "cloth tape"} for row in runs])).day("build")
    assert not any("pushed on" in word for one in taped.of("build").things for word, _ in one.facts)
