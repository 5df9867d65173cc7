"""Recipes make ordinary rows; what does not fit is refused by name; the brief makes a job whatever is answered."""

from __future__ import annotations

import pytest

from loomwright.brief.adding import added
from loomwright.brief.brief import Kept, answers_from_text, brief_answered, briefed, load_brief, sketched
from loomwright.brief.recipe import load_recipes, recipe_called, recipes_from_text
from loomwright.car import Car
from loomwright.job.job import Job
from loomwright.refusals import BadDocument, OutOfReach, TableFault

FAN = {"place": "radiator", "feed": "BUS1", "coil_feed": "SPR"}
CHOICES = [
    (each.ask.name, word)
    for each in load_brief().asks
    for word in each.ask.allowed
    if each.ask.takes == "choice" and word != each.ask.usual
]


@pytest.fixture(scope="module")
def base() -> Job:
    """The car that the usual answers make, without a fan, with an earth point for one."""
    car = briefed({"fans": "0"}).job
    return added(car, recipe_called("earth_point"), {"earth": "EN", "place": "radiator"}).job


def test_there_are_twenty_recipes_and_more() -> None:
    assert len(load_recipes()) >= 20


def test_a_fan_comes_with_fuse_relay_wires_need_and_drive(base: Job) -> None:
    made = added(base, recipe_called("fan_on_relay"), FAN)
    assert [row.sheet for row in made.rows].count("wires") == 6
    assert {row.id for row in made.rows if row.sheet == "parts"} == {"FFAN", "KFAN", "FAN"}
    assert made.pins == 1
    assert made.answers["earth"] == "EN", "the earth point at the same place"
    assert made.answers["box"] == "box", "where the busbar sits"
    assert set(made.assumed) == {"running_a", "inrush_a"}
    assert len(made.job.wires) == len(base.wires) + 6


def test_wires_are_numbered_on_from_the_highest(base: Job) -> None:
    highest = max(int(wire.id[1:]) for wire in base.wires)
    made = added(base, recipe_called("fan_on_relay"), FAN)
    assert made.wires == tuple(f"W{highest + k}" for k in range(1, 7))


def test_a_second_fan_is_named_and_fed_apart_from_the_first(base: Job) -> None:
    first = added(base, recipe_called("fan_on_relay"), FAN)
    second = added(first.job, recipe_called("fan_on_relay"), FAN)
    assert second.answers["fan"] == "FAN2"
    assert second.answers["circuit"] == "fan2"
    assert second.answers["feed"] != first.answers["feed"], "each takes a stud of its own"


def test_what_must_be_said_is_asked_for_by_name(base: Job) -> None:
    with pytest.raises(BadDocument) as caught:
        added(base, recipe_called("fan_on_relay"), {"place": "attic", "running_a": "much", "colour": "green"})
    columns = {problem.column for problem in caught.value.problems}
    assert columns >= {"place", "feed", "coil_feed", "running_a", "colour"}, "all at once, none half taken"


def test_a_feed_from_a_part_that_is_not_there_names_the_one_most_like_it(base: Job) -> None:
    with pytest.raises(BadDocument) as caught:
        added(base, recipe_called("fan_on_relay"), FAN | {"feed": "BUS11", "coil_feed": "zzz.1"})
    told = {one.column: one.allowed for one in caught.value.problems}
    assert told["feed"].endswith("; nearest part: BUS1")
    assert "nearest" not in told["coil_feed"]


def test_an_id_that_is_taken_is_refused(base: Job) -> None:
    with pytest.raises(BadDocument, match="PUMP"):
        added(base, recipe_called("fan_on_relay"), {**FAN, "fan": "PUMP"})


def test_a_recipe_nobody_knows_is_refused_with_those_there_are() -> None:
    with pytest.raises(OutOfReach, match="horn_on_relay"):
        recipe_called("flux")


def test_no_earth_point_is_made_up_where_the_car_has_none(base: Job) -> None:
    from dataclasses import replace

    bare = replace(base, parts=tuple(part for part in base.parts if part.kind != "earth_point"))
    with pytest.raises(BadDocument) as caught:
        added(bare, recipe_called("fan_on_relay"), FAN)
    assert any(
        problem.column == "earth" and "there is none yet" in problem.allowed for problem in caught.value.problems
    )


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("[a]\ntitle = 'x'\ngives = 'x'\n", "makes no row"),
        ("[a]\ntitle = 'x'\ngives = 'x'\nrows = [{ sheet = 'decisions', row = 'x' }]", "decisions"),
        ("[a]\ntitle = 'x'\ngives = 'x'\nrows = [{ sheet = 'parts', id = '{who}' }]", "who"),
        ("[a]\ntitle = 'x'\ngives = 'x'\nrows = [{ sheet = 'parts', weight = '1' }]", "no column weight"),
        ("[a]\ntitle = 'x'\ngives = 'x'\nasks = [{ name = 'n', says = 's', takes = 'number' }]\n", "without a source"),
        ("a = 1", "a recipe is a table"),
        ("[a", "a.toml"),
    ],
)
def test_a_recipe_of_ones_own_that_does_not_hold_together_is_told(text: str, says: str) -> None:
    with pytest.raises(TableFault, match=says):
        recipes_from_text("a.toml", text)


def test_a_recipe_of_ones_own_is_as_good_as_those_that_ship(base: Job) -> None:
    text = """
[work_lamp]
title = "work lamp"
gives = "lamp"
asks = [
    { name = "lamp", says = "its name", takes = "new part", usual = "WORK" },
    { name = "feed", says = "fed from", takes = "feed" },
    { name = "switched", says = "switch", takes = "choice", usual = "yes", allowed = ["yes", "no"] },
]
rows = [
    { sheet = "parts", id = "{lamp}", kind = "lamp", place = "tank" },
    { sheet = "wires", from = "{feed}", to = "{lamp}.1", colour = "RD" },
    { sheet = "wires", from = "{lamp}.2", to = "ER.1", colour = "BN", only = { switched = ["no"] } },
]
"""
    (own,) = recipes_from_text("own.toml", text)
    assert len(added(base, own, {"feed": "FREL"}).rows) == 2
    assert len(added(base, own, {"feed": "FREL", "switched": "no"}).rows) == 3


@pytest.mark.parametrize(("name", "word"), CHOICES)
def test_whatever_is_answered_makes_a_job_that_reads(name: str, word: str) -> None:
    assert briefed({name: word}).job.wires


def test_the_brief_makes_one_injector_and_coil_a_cylinder_or_half_the_coils() -> None:
    six = briefed({"cylinders": "6", "coils": "one coil a pair"})
    kinds = [part.kind for part in six.job.parts]
    assert (kinds.count("injector"), kinds.count("coil_with_igniter")) == (6, 3)


def test_a_coil_a_pair_serves_cylinders_half_the_firing_order_apart() -> None:
    six = briefed({"cylinders": "6", "coils": "one coil a pair"}).job
    coils = [part.name for part in six.parts if part.kind == "coil_with_igniter"]
    assert coils == [f"ignition coil of cylinders {pair}" for pair in ("1 and 6", "5 and 2", "3 and 4")]
    assert [row.value for row in six.vehicle if row.name == "firing_order"] == ["1-5-3-6-2-4"]
    assert brief_answered({"cylinders": "6", "firing_order": "1 4 2 5 3 6"})["firing_order"] == "1-4-2-5-3-6"


def test_a_firing_order_that_is_not_that_of_so_many_cylinders_is_told() -> None:
    for order in ("1-3-4-2", "1-2-3-4-5-5", "straight"):
        with pytest.raises(BadDocument, match="each of the 6 cylinders once, as 1-5-3-6-2-4"):
            brief_answered({"cylinders": "6", "firing_order": order})


def test_a_small_controller_is_too_small_for_six_and_the_options_of_the_brief_count_once() -> None:
    answers = {"cylinders": "6", "coils": "one coil a pair", "solenoids": "2", "input_speed": "yes"}
    made = briefed({**answers, "controller": "small"})
    speed = next(each for each in made.made if each.recipe.id == "counted_speed")
    assert (len([row for row in speed.rows if row.sheet == "needs"]), speed.pins) == (2, 1)
    answer = Car(made.job).allocated()
    assert answer.left_out == ("INJ5_drive", "INJ6_drive", "option SIN")
    assert len(answer.ways_out) == 5
    assert all(Car(way.applied(made.job)).allocated().status == "fits" for way in answer.ways_out[:1])


def test_of_too_few_pins_the_crank_keeps_one_and_no_valve_or_selector_is_left_in_part() -> None:
    given = {"controller": "small", "cylinders": "6", "crank": "Hall, three wires", "idle": "stepper, four wires"}
    wishes = {"input_speed": "yes", "range": "yes", "programme": "yes", "tacho": "yes", "air_conditioning": "yes"}
    found = Car(briefed({**given, **wishes}).job).allocated()
    assert found.status == "does not fit"
    assert {"CRK_signal", "SPD_signal"} <= set(found.pins)
    for device in ("IDLE", "SEL", "ACC"):
        needs = {need.id for need in found.job.needs if need.id.startswith(f"{device}_")}
        assert len(needs & set(found.pins)) in (0, len(needs)), device
        for way in found.ways_out:
            assert len(needs & set(way.pins)) in (0, len(needs)), (device, way.says)


def test_the_main_relays_fuse_sits_where_the_battery_sits() -> None:
    for place in ("battery", "rear_left"):
        parts = {row.id: row for row in briefed({"battery_place": place}).job.parts}
        assert parts["BAT"].place == parts["FM"].place == parts["FMR"].place == place


def test_what_must_be_live_is_not_asked_while_the_battery_isolator_is_off() -> None:
    whens = {}
    for isolator in ("no", "yes"):
        job = briefed({"isolator": isolator, "brake_lamps": "yes"}).job
        asked = [row for row in job.requirements if row.id in ("SBRK_key_off", "PUMP_off")]
        whens[isolator] = {row.must.text: row.when.text for row in asked}
    assert whens["no"] == {"live": "SBRK=on", "dead": "key=off"}
    assert whens["yes"] == {"live": "SBRK=on, ISO=on", "dead": "key=off"}


def test_answers_that_are_not_allowed_are_told_together() -> None:
    with pytest.raises(BadDocument) as caught:
        brief_answered({"cylinders": "7", "alternator_a": "lots", "wings": "2"})
    assert {problem.column for problem in caught.value.problems} == {"cylinders", "alternator_a", "wings"}


def test_a_file_of_answers_is_read_line_by_line() -> None:
    assert answers_from_text('cylinders = 6  # a straight six\n\nhorn = "yes"\n') == {"cylinders": "6", "horn": "yes"}
    assert answers_from_text("cylinders: 6") == {"cylinders": "6"}
    with pytest.raises(BadDocument, match="cylinders six"):
        answers_from_text("horn = yes\ncylinders six\n")


def test_briefs_made_beside_one_another_are_what_each_is_by_itself() -> None:
    kept: Kept = {}
    for given in ({}, {"radio": "yes"}, {"cylinders": "2"}, {"horn": "yes", "fans": "2"}, {}):
        assert sketched(given, kept=kept).job == briefed(given).job
    alone: Kept = {}
    sketched({}, kept=alone)
    assert len(alone) < len(kept) < 3.5 * len(alone), "four briefs; what is alike is made once"
