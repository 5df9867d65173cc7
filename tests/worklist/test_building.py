"""Wires are cut reel by reel, crimped die by die, seated place by place; what is on record is done."""

from __future__ import annotations

from itertools import pairwise

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
