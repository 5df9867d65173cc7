"""A part does nothing: the state is found, places stand in the order a hand goes to them, and looks part them."""

from __future__ import annotations

import pytest

from loomwright.car import Car
from loomwright.handover.symptom import SymptomAsked
from loomwright.handover.symptom_causes import Symptom
from loomwright.job.conditions import parse_condition
from loomwright.job.edits import add_row
from loomwright.job.job import Job
from loomwright.job.reading import job_from_text
from loomwright.refusals import OutOfReach
from tests.pages.shelves import SMALL


def two_lamps(**changed: dict[str, str]) -> Job:
    """The small car with a second lamp that hangs on the key alone."""
    sheets = {name: [dict(row) | changed.get(row.get("id", ""), {}) for row in rows] for name, rows in SMALL.items()}
    job = job_from_text(sheets)
    job = add_row(job, "parts", {"id": "LA2", "kind": "lamp", "name": "cabin lamp", "settings": "watt=10"})
    job = add_row(job, "wires", {"id": "W20", "from": "KEY.15", "to": "LA2.1", "size_mm2": "1", "length_mm": "500"})
    return add_row(job, "wires", {"id": "W21", "from": "LA2.2", "to": "body", "size_mm2": "1", "length_mm": "500"})


CAR = Car(two_lamps())


def asked(*works: str, dead: tuple[str, ...] = ("LA1",), when: str = "") -> Symptom:
    return CAR.symptom(SymptomAsked(dead=dead, works=works, when=parse_condition(when) if when else None))


def at(found: Symptom) -> list[str]:
    return [one.at for one in found.causes]


def test_the_state_is_the_plainest_in_which_the_sound_car_feeds_it():
    found = asked()
    assert found.when == "key=run, SW1=on"
    assert found.amps == pytest.approx(21 / 12, rel=0.2)
    assert asked(dead=("LA2",)).when == "key=run"


def test_a_bulb_stands_first_and_ends_before_the_copper_between_them():
    found = asked()
    assert (found.causes[0].at, found.causes[0].sort) == ("LA1", "part")
    assert found.causes[0].why[0] == "bulbs go first"
    odds = {(one.sort, one.at): one.odds for one in found.causes}
    assert odds["part", "SW1"] > 2 * odds["wire", "W6"]
    assert sum(odds.values()) == pytest.approx(1.0)


def test_what_works_meanwhile_leaves_out_what_would_kill_it():
    assert {"F1", "KEY", "W3"} <= set(at(asked()))
    left = asked("LA2")
    assert "W4" not in at(left)
    assert not any("blown" in said for one in left.causes for said in one.faults)
    assert left.faults < asked().faults


def test_what_is_dead_too_leaves_the_shared_way_alone():
    both = asked(dead=("LA1", "LA2"))
    assert "W12" not in at(both)
    own = [said for one in both.causes if one.at in ("SW1", "LA1") for said in one.faults]
    assert own == ["SW1.1: bare on the body", "SW1.2: bare on the body", "LA1.1: bare on the body"], (
        "they blow the fuse"
    )
    assert {"F1", "KEY"} <= set(at(both))


def test_a_look_at_the_other_lamp_is_offered_before_a_meter_and_its_share_is_what_it_leaves():
    found = asked()
    look = next(one for one in found.looks if one.part == "LA2")
    kills = sum(one.odds for one in found.causes if "LA2" in one.also)
    assert look.works + look.dead == pytest.approx(1.0)
    assert 0.0 < look.dead < 0.5
    assert kills > 0.0
    assert not asked("LA2").looks
    assert found.next[0].when == found.when


def test_a_fault_that_would_have_killed_more_counts_less_where_nobody_told_of_it():
    """With the second lamp on the key the odds of the battery's wire fall to three tenths, the first lamp's do not."""
    plain = Car(job_from_text(SMALL)).symptom(SymptomAsked(dead=("LA1",)))
    alone = {one.at: one.odds for one in plain.causes}
    told = {one.at: one.odds for one in asked().causes}
    assert told["W1"] / told["W12"] == pytest.approx(0.3 * alone["W1"] / alone["W12"], rel=0.01)


def test_wet_and_new_ends_are_raised_and_say_so():
    job = two_lamps(bay={"wet": "yes"})
    found = Car(job).symptom(SymptomAsked(dead=("LA1",)))
    assert not any("wet there" in one.why for one in found.causes if one.at in ("SW1", "KEY"))
    raised = {one.at: one.why for one in found.causes}
    assert set(raised["F1"]) == {"touched in this job", "wet there"}


def test_a_state_in_which_it_should_not_work_is_told_with_one_in_which_it_does():
    with pytest.raises(OutOfReach, match="should work; it does in: key=run, SW1=on"):
        asked(when="key=off")


def test_what_draws_too_little_for_a_clamp_is_sent_to_the_fault_finder():
    job = two_lamps(LA1={"settings": "watt=0.1"})
    with pytest.raises(OutOfReach, match="50 mA or more; in the sound car it draws"):
        Car(job).symptom(SymptomAsked(dead=("LA1",)))


def test_a_fault_put_in_by_hand_is_among_the_places_told():
    """Every open wire of the way stands at both of its ends or its run."""
    found = asked()
    told = " ".join(said for one in found.causes for said in one.faults)
    assert all(f"{wire}: " in told for wire in ("W3", "W4", "W5", "W6", "W12"))
