"""The owner's sheet tells what the solved car does; what is open, agreed and changed is told in words."""

from __future__ import annotations

import pytest

from loomwright.car import Car
from loomwright.handover.asking import walk_of
from loomwright.handover.known_limits import known_limits
from loomwright.handover.number_sheet import number_sheet
from loomwright.handover.owner_sheet import owner_sheet
from loomwright.handover.revision_sheet import Changed, ChangedCell, History, revision_sheet
from loomwright.job.job import Job
from loomwright.job.reading import job_from_text
from loomwright.job.rows import Change, VehicleProperty
from loomwright.startup.first_start import EMERGENCY

STARTING = {
    "places": [{"id": "bay", "name": "engine bay"}],
    "circuits": [{"id": "start", "class": "starting"}, {"id": "tell", "class": "lighting"}],
    "parts": [
        {"id": "BAT", "kind": "battery", "place": "bay"},
        {"id": "KEY", "kind": "key_switch"},
        {"id": "SEL", "kind": "selector_switch"},
        {"id": "STR", "kind": "starter"},
        {"id": "OIL", "kind": "lamp", "name": "oil lamp", "settings": "watt=2", "circuit": "tell", "fitted": "kept"},
        {"id": "SOIL", "kind": "pressure_switch", "settings": "closes_when=engine=stopped"},
        {"id": "ISO", "kind": "isolator", "name": "isolator", "place": "bay"},
        {"id": "F1", "kind": "fuse", "settings": "rating_a=10"},
        {"id": "K9", "kind": "relay", "fitted": "removed"},
    ],
    "wires": [
        {"id": "W1", "from": "BAT.-", "to": "body", "size_mm2": "35", "length_mm": "300"},
        {"id": "W2", "from": "body", "to": "engine", "size_mm2": "35", "length_mm": "300"},
        {"id": "W3", "from": "BAT.+", "to": "STR.30", "size_mm2": "35", "length_mm": "900"},
        {"id": "W4", "from": "BAT.+", "to": "F1.1", "size_mm2": "4", "length_mm": "900"},
        {"id": "W5", "from": "F1.2", "to": "KEY.30", "size_mm2": "4", "length_mm": "900"},
        {"id": "W6", "from": "KEY.50", "to": "SEL.start1", "size_mm2": "2.5", "length_mm": "900", "circuit": "start"},
        {"id": "W7", "from": "SEL.start2", "to": "STR.50", "size_mm2": "2.5", "length_mm": "900", "circuit": "start"},
        {"id": "W8", "from": "KEY.15", "to": "OIL.1", "size_mm2": "0.5", "length_mm": "900", "circuit": "tell"},
        {"id": "W9", "from": "OIL.2", "to": "SOIL.1", "size_mm2": "0.5", "length_mm": "900", "circuit": "tell"},
    ],
}


@pytest.fixture(scope="module")
def sheet():
    """The owner's sheet of a car that starts in P and N and has an oil lamp."""
    car = Car(job_from_text(STARTING))
    walk = walk_of(car.filled, car.kinds, car.compiled)
    return owner_sheet(car.filled, car.kinds, car.compiled, walk, ())


def test_the_positions_in_which_the_starter_comes_in_are_solved_not_guessed(sheet):
    said = next(step for step in sheet.start if step.startswith("Selector"))
    assert said.startswith("Selector to P or N, foot on the brake.")
    assert "In R, D" in said
    assert "the starter stays out" in said


def test_lamps_that_light_with_the_key_and_go_out_with_the_engine_are_named(sheet):
    assert any("These light: oil lamp." in step for step in sheet.start)
    assert sheet.watch[0][0] == "oil lamp"


def test_the_line_for_an_emergency_and_where_current_is_cut_off_stand_there(sheet):
    assert sheet.stop == EMERGENCY
    assert ("isolator", "engine bay") in sheet.stops
    assert any(what == "battery" and "earth lead comes off first" in says for what, says in sheet.stops)


def test_what_was_fitted_and_taken_out_is_told_in_words_and_small_stuff_counted(sheet):
    done = dict(sheet.done)
    assert "1 fuse" in done["Fitted new"]
    assert done["Taken out"] == "1 relay"
    assert done["Wires"] == "9 new"


def test_a_car_without_a_starter_says_that_it_is_not_known_how_it_starts():
    car = Car(job_from_text({"parts": [{"id": "B", "kind": "battery"}]}))
    walk = walk_of(car.filled, car.kinds, car.compiled)
    start = owner_sheet(car.filled, car.kinds, car.compiled, walk, ()).start
    assert len(start) == 1
    assert "does not stand in them" in start[0]


def test_open_snags_unanswered_questions_and_waived_gates_are_limits():
    job = job_from_text(
        {
            "parts": [{"id": "B", "kind": "battery"}],
            "snags": [{"id": "S1", "text": "horn is silent"}, {"id": "S2", "text": "old", "status": "done"}],
            "questions": [{"id": "Q1", "text": "which radio?", "answer": "none"}, {"id": "Q2", "text": "when?"}],
            "gates": [{"gate": "oil", "verdict": "waived", "reason": "gauge borrowed"}],
        }
    )
    assert [(one[0], one[1]) for one in known_limits((), job, ("W1: length taken",))] == [
        ("gate waived", "oil"),
        ("snag", "S1"),
        ("question", "Q2"),
        ("taken as usual", ""),
    ]


def test_agreed_changes_stand_newest_first_and_records_are_counted_not_listed():
    job = Job(
        vehicle=(VehicleProperty(name="currency", value="EUR"),),
        changes=(Change(revision=2, why="a", price=140.0), Change(revision=4, why="b")),
    )
    cells = (
        ChangedCell(sheet="wires", row="W1", op="set", column="size_mm2", older="1", newer="1.5"),
        ChangedCell(sheet="hours", row="1", op="add", column="", older="", newer="minutes=20"),
        ChangedCell(sheet="hours", row="2", op="add", column="", older="", newer="minutes=30"),
    )
    history = History(changes=(Changed(number=9, time="t", who="sam", why="thicker"),), newest=9, since=3, cells=cells)
    made = revision_sheet(job, history)
    assert [one.why for one in made.agreed] == ["b", "a"]
    assert [(one.row, one.older, one.newer) for one in made.cells] == [("W1", "1", "1.5")]
    assert made.recorded == (("hours", 2),)
    assert [(one.price, made.currency) for one in made.agreed] == [("", "EUR"), ("140", "EUR")]
    assert (made.since, made.newest, made.history[0].who) == ("3", "9", "sam")


def test_a_job_without_engine_or_gearbox_has_no_numbers():
    made = number_sheet(Job())
    assert (made.numbers, made.gears) == ((), ())
