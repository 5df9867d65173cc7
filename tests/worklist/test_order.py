"""Tests and items of the first start keep their stages; readings of old wires come best first."""

from __future__ import annotations

import json

from loomwright.job.rows import Place
from loomwright.proving.plan import PlannedTest, TestPlan
from loomwright.routes.wire_routes import wire_routes
from loomwright.startup.first_start import first_start
from loomwright.survey.identify import survey_of
from loomwright.tables.kinds import load_kinds
from loomwright.worklist.day import day_of, day_plain
from loomwright.worklist.start_items import start_things
from loomwright.worklist.survey_left import survey_things
from loomwright.worklist.tests_left import things_to_prove
from loomwright.worklist.thing import WORKS, next_of, places_in_order
from tests.worklist.small_day import small_day

OLD = [{"id": "7", "colour": "GN", "where": "cabin"}, {"id": "8", "colour": "BN", "where": "cabin"}]


def planned(name, stage, **more):
    given = {"does": "as wired", "point": "LA1.1", "measure": "volts", "unit": "V", "low": 11.0, "high": 13.0, **more}
    return PlannedTest(id=name, stage=stage, **given)


PLAN = TestPlan(
    tests=(
        planned("dead/1", "dead", measure="ohms", unit="ohm", low=1e6, high=None, word="open"),
        planned("dead/2", "dead", measure="hand", unit="", low=None, high=None, word="yes"),
        planned("live/battery", "live", wires=("W3",), place="cabin"),
    ),
    walk_mm=0.0,
    turns=0,
    before_walk_mm=0.0,
    before_turns=0,
)


def test_no_live_test_comes_before_the_last_dead_one():
    things = things_to_prove(small_day(), PLAN)
    assert next_of(things).id == "prove/dead/1"
    assert next_of(things, {"prove/dead/1"}, later={"prove/dead/2"}).id == "prove/dead/2"
    assert next_of(things, {"prove/dead/1", "prove/dead/2"}).id == "prove/live/battery"


def test_a_test_brings_its_wire_its_band_and_what_is_asked_about():
    live = things_to_prove(small_day(), PLAN)[2]
    assert (live.colour, live.place, live.there) == ("WH/BU", "cabin", "battery’s earthed post")
    assert (live.asks.low, live.asks.high) == (11.0, 13.0)
    assert abs((live.asks.most or 0.0) - 19.2) < 1e-9  # 1.6 times 12 V
    assert things_to_prove(small_day(), PLAN)[0].asks.words == ("open",)


def test_a_test_on_record_is_done():
    job = small_day(proofs=[{"test": "dead/1", "verdict": "failed", "value": "0.2", "unit": "ohm"}])
    assert things_to_prove(job, PLAN)[0].is_done


def test_a_stage_of_the_first_start_is_closed_until_those_before_are_through():
    things = start_things(first_start(small_day()))
    first = next_of(things)
    assert first.stage == 1
    every_first = {one.id for one in things if one.stage == 1}
    assert next_of(things, every_first).stage == 2
    assert next_of(things, every_first - {first.id}).id == first.id
    assert first.again
    assert first.holds_up


def test_an_old_wire_is_read_once_and_its_card_says_what_to_set_and_to_mind():
    job = small_day(old_wires=OLD)
    things = survey_things(job, survey_of(job, is_full=False))
    assert sorted(one.wire for one in things) == ["7", "8"]
    assert all(one.cells["old_wire"] == one.wire and one.cells["when"] for one in things)
    assert all(one.asks.unit in ("V", "ohm") or one.asks.words for one in things)


def test_places_are_walked_the_short_way():
    places = [Place(id=name, x_mm=x_mm, y_mm=0.0, z_mm=0.0) for name, x_mm in (("a", 0.0), ("b", 9000.0), ("c", 100.0))]
    assert places_in_order(["a", "b", "c"], places) in (("a", "c", "b"), ("b", "c", "a"))


def test_a_day_is_plain_data_and_a_caution_that_is_shared_stands_once():
    job = small_day(old_wires=OLD)
    routes = wire_routes(job, load_kinds())
    day = day_of(job, routes, plan=PLAN, survey=survey_of(job, is_full=False), start=first_start(job))
    told = json.loads(json.dumps(day_plain(day)))
    assert [one["work"] for one in told["works"]] == list(WORKS)
    assert len(set(told["cautions"])) == len(told["cautions"])
    thing = next(one for one in told["works"][1]["things"] if one["id"] == "build/W2/from/crimped")
    assert "Pull at it" in " ".join(told["cautions"][place] for place in thing["cautions"])
    card = next(one for one in told["cards"] if one["id"] == "W3")
    assert (card["colour"], card["here"], card["there"]) == ("WH/BU", "F1.2", "LA1.1")
    assert next(one for one in told["cards"] if one["id"] == "F1")["wires"] == ["W2", "W3"]


def test_a_list_that_is_not_worked_out_yet_says_so():
    job = small_day()
    day = day_of(job, wire_routes(job, load_kinds()))
    assert day.of("prove").waits
    assert day.of("prove").left == 0
    assert day.of("build").left == 3 + 3 * 6  # three wires: a cut, and at both ends crimped, seated, labelled
