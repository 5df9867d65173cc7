"""Parts at other places, and jobs side by side: what is opened, counted, and told against each."""

from __future__ import annotations

import pytest

from loomwright.car import Car
from loomwright.loom.weighing import ending_at, movable, moved
from tests.states.small_jobs import car, wire

PLACES = (
    {"id": "box", "ambient_c": "60"},
    {"id": "nose", "ambient_c": "50", "wet": "yes"},
    {"id": "dash", "ambient_c": "40"},
    {"id": "attic", "ambient_c": "40"},
    {"id": "stove", "ambient_c": "140"},
)
RUNS = (
    {"id": "R1", "from": "box", "to": "nose", "length_mm": "900"},
    {"id": "R2", "from": "box", "to": "dash", "length_mm": "1200", "hole_mm": "9", "covering": "braided sleeve"},
    {"id": "R3", "from": "dash", "to": "stove", "length_mm": "500"},
)
AT = {"BAT": "box", "F1": "box", "KEY": "dash", "SW1": "dash", "LA1": "nose"}


SETTINGS = {"LA1": "watt=60", "F1": "rating_a=10"}


def small(**changed):
    edits = {part: {"place": place} for part, place in AT.items()}
    for name, cells in changed.items():
        edits[name] = {**edits.get(name, {}), **cells}
    lengths = {name: {"length_mm": "", **edits.get(name, {})} for name in ("W3", "W4", "W5", "W6", "W7")}
    return Car(car(places=PLACES, runs=RUNS, changed={**edits, **lengths}))


def test_only_new_wires_that_end_at_the_part_and_are_not_cut_are_opened():
    job = small(W6={"fitted": "kept", "length_mm": "3000"}).job
    assert ending_at(job, ["SW1"]) == ("W5",)
    opened = {row.id: row for row in moved(job, ["SW1"], "box").wires}
    assert (opened["W5"].size_mm2, opened["W5"].length_mm) == (None, None)
    assert (opened["W6"].size_mm2, opened["W6"].length_mm) == (1.5, 3000.0)
    assert next(part.place for part in moved(job, ["SW1"], "box").parts if part.id == "SW1") == "box"


def test_a_place_means_every_part_that_sits_there():
    assert movable(small().job, ["dash"]) == ("KEY", "SW1")
    assert movable(small().job, ["BAT", "nose"]) == ("BAT", "LA1")


def test_where_it_is_stands_first_and_is_weighed_alike():
    here, box = small().placed(["SW1"], ["box"])
    assert (here.name, box.name) == ("as it is", "box")
    # W6 gets shorter by R2 and W5 longer by it: the runs hold as many wires as before
    assert here.conductors == {"R1": 1, "R2": 2, "R3": 0}
    assert box.conductors == {"R1": 1, "R2": 2, "R3": 0}
    assert box.wires == here.wires
    assert {load.load for load in here.losses} == {"LA1"}


def test_a_place_farther_out_takes_more_of_everything():
    here, nose = small().placed(["F1"], ["nose"])
    assert nose.wire_m > here.wire_m
    assert nose.copper_g > here.copper_g
    assert nose.losses[0].lost_v > here.losses[0].lost_v
    assert nose.wet
    assert not here.wet
    assert any("water" in text for text in nose.objections)


def test_a_place_that_no_run_leads_to_is_told_and_the_others_are_still_answered():
    here, attic, nose = small().placed(["LA1"], ["attic", "nose"])
    told = [text for text in attic.objections if "no route" in text]
    assert told
    assert "attic" in told[0]
    assert "Add the run" in told[0]
    assert nose.losses
    assert here.losses
    assert not any("no route" in text for text in (*here.objections, *nose.objections))


def test_air_above_the_class_leaves_nothing_that_would_do_and_says_so():
    (_, stove) = small().placed(["SW1"], ["stove"])
    assert any("W5.size_mm2" in text or "W6.size_mm2" in text for text in stove.objections)


def test_a_hole_too_small_is_told_with_what_is_needed():
    one = small().weighed("as it is")
    hole = next(hole for hole in one.holes if hole.run == "R2")
    # two of 1.5 to 2.5 mm2 side by side, sleeve 2 * 0.6, 2 mm room
    assert hole.conductors == 2
    assert hole.needed_mm == pytest.approx(2.4 + 3.0 + 1.2 + 2.0)
    assert not hole.is_too_small
    tight = Car(
        car(
            places=PLACES,
            runs=[{**RUNS[0]}, {**RUNS[1], "hole_mm": "8"}],
            changed={part: {"place": place} for part, place in AT.items()},
        )
    ).weighed("tight")
    assert any("the hole of R2 has 8 mm, 2 wires need 9 mm" in text for text in tight.objections)


def test_metres_and_copper_are_those_of_the_wire_list():
    one = Car(car()).weighed("as the sheets have it")
    # 0.5 + 0.5 of 25 mm2, 0.3 + 1 of 2.5, three times 1 of 1.5: 5.3 m; 32 750 mm3 at 8.89 g/cm3
    assert one.wire_m == pytest.approx(5.3)
    assert one.copper_g == pytest.approx(32_750 * 0.00889)


def test_the_warmest_wire_is_the_one_nearest_its_class():
    # the lamp draws 1.75 A at 12 V and sits in air of 90 degC: of its two wires the thinner is the warmer
    hot = {"LA1": {"place": "hot"}, "W6": {"size_mm2": "0.5"}, "W7": {"size_mm2": "2.5"}}
    one = Car(car(places=[{"id": "hot", "ambient_c": "90"}], changed=hot)).weighed("hot")
    assert one.warmest is not None
    assert (one.warmest.wire, one.warmest.class_c) == ("W6", 105.0)
    assert 90.0 < one.warmest.copper_c < 105.0


def test_a_whole_job_is_asked_about_every_load():
    one = small().weighed("whole")
    assert one.loss is not None
    assert one.loss.load == "LA1"
    assert one.warmest is not None
    assert one.parts == 5
    assert one.work_minutes > 0.0


def test_a_thicker_car_weighs_more_and_loses_less_side_by_side():
    thin = small(W5={"size_mm2": "1"}, W6={"size_mm2": "1"}).weighed("thin")
    thick = small(W5={"size_mm2": "6"}, W6={"size_mm2": "6"}).weighed("thick")
    assert thick.copper_g > thin.copper_g
    assert thick.loss.lost_v < thin.loss.lost_v


def test_a_load_that_no_stocked_size_can_feed_is_told_and_the_rest_is_answered():
    stock = [{"item": "wire", "size_mm2": "0.5", "colour": "RD", "length_m": "50"}]
    job = car(
        places=PLACES,
        runs=[*RUNS, {"id": "R4", "from": "nose", "to": "attic", "length_mm": "9000"}],
        stock=stock,
        changed={part: {"place": place, "settings": SETTINGS.get(part, "")} for part, place in AT.items()},
        wires=[wire("W9", "body", "engine", "16", "300")],
    )  # fmt: skip
    here, attic = Car(job).placed(["LA1"], ["attic"])
    assert any("size_mm2" in text for text in attic.objections)
    assert here.copper_g > 0.0
