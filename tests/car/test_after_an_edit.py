"""A car after an edit takes over what the edit left alone, and finds what a car made afresh finds."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loomwright.car import Car, solved_car
from loomwright.examples.shelf import example_folder
from loomwright.job.edits import add_row, drop_row, set_cell
from loomwright.job.job import Job
from loomwright.sheets.csv_folder import open_folder
from loomwright.states.asking import answered, folding, solving
from loomwright.trials.mend import every_finding
from tests.car.seeded_edits import edited
from tests.states.small_jobs import car, wire


@pytest.fixture(scope="module")
def job() -> Job:
    """Two lamps, one through a relay, a switch of three positions, a requirement."""
    return car(
        parts=[
            {"id": "F2", "kind": "fuse", "settings": "rating_a=15"},
            {"id": "K1", "kind": "relay"},
            {"id": "SW2", "kind": "old_switch"},
            {"id": "LA2", "kind": "lamp", "circuit": "work", "settings": "watt=55"},
        ],
        contacts=[
            {"part": "SW2", "position": "off", "joins": ""},
            {"part": "SW2", "position": "low", "joins": "a+b"},
            {"part": "SW2", "position": "high", "joins": "a+b a+c"},
        ],
        wires=[
            wire("W8", "BAT.+", "F2.1", "2.5"),
            wire("W9", "F2.2", "K1.30", "2.5"),
            wire("W10", "K1.87", "LA2.1", circuit="work"),
            wire("W11", "LA2.2", "body", circuit="work"),
            wire("W12", "KEY.15", "SW2.a"),
            wire("W13", "SW2.b", "K1.86"),
            wire("W14", "K1.85", "body"),
        ],
        requirements=[
            {"id": "Q1", "point": "LA2.1", "when": "key=run, SW2=low", "must": "live", "why": "work at night"},
        ],
    )


@pytest.mark.parametrize("seed", [1, 2])
def test_seeded_edits_are_answered_as_by_a_fresh_car(job: Job, seed: int) -> None:
    now = Car.begun(job)
    assert now.check() == Car(job).check()
    for name, row, new in edited(job, 9, seed):
        now = now.after(new)
        assert now.check() == Car(new).check(), f"{name} {row}"


@pytest.mark.long
def test_five_hundred_edits_of_the_van_are_answered_as_by_a_fresh_car() -> None:
    van = open_folder(example_folder("van"))
    now = Car.begun(van)
    for name, row, new in edited(van, 500, 1):
        now = now.after(new)
        assert now.check() == Car(new).check(), f"{name} {row}"


def test_a_colour_is_told_anew_and_no_state_is_solved_again(job: Job, monkeypatch: pytest.MonkeyPatch) -> None:
    begun = Car.begun(job)
    begun.check()
    new = set_cell(job, "parts", "LA1", "name", "Boot lamp")
    fresh = Car(new).check()
    monkeypatch.setattr(solving, "solve_alike", None)
    assert begun.after(new).check() == fresh


def test_what_a_trial_cures_is_not_solved_again_where_a_colour_changes(
    job: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    lost = drop_row(job, "wires", "W11")
    begun = Car.begun(lost)
    assert any(one.folded for one in begun.check().findings)
    new = set_cell(lost, "wires", "W12", "colour", "RD")
    fresh = Car(new).check()
    monkeypatch.setattr(solving, "solve_alike", None)
    monkeypatch.setattr(answered, "solve_many", None)
    assert begun.after(new).check() == fresh


def test_a_new_requirement_is_asked_of_the_states_solved_before(job: Job, monkeypatch: pytest.MonkeyPatch) -> None:
    begun = Car.begun(job)
    begun.check()
    new = set_cell(job, "requirements", "Q1", "must", "dead")
    fresh = Car(new).check()
    assert "REQ-1" in {one.rule for one in every_finding(fresh.findings)}
    monkeypatch.setattr(solving, "solve_alike", None)
    monkeypatch.setattr(solved_car, "build_network", None)
    assert begun.after(new).check() == fresh


def test_a_new_requirement_leaves_standing_what_a_trial_cured(job: Job, monkeypatch: pytest.MonkeyPatch) -> None:
    lost = drop_row(job, "wires", "W11")
    begun = Car.begun(lost)
    assert any(one.folded for one in begun.check().findings)
    cells = {"id": "Q2", "point": "LA1.1", "when": "key=run", "must": "<= 99 V", "why": "asked"}
    new = add_row(lost, "requirements", cells)
    fresh = Car(new).check()
    monkeypatch.setattr(folding, "answers_of", None)
    assert begun.after(new).check() == fresh


def test_a_condition_at_another_figure_makes_another_network(job: Job) -> None:
    begun = Car.begun(job)
    begun.check()
    new = set_cell(job, "requirements", "Q1", "when", "key=run, ambient_c>=45")
    after = begun.after(new)
    assert after.check() == Car(new).check()
    assert after.variables != begun.variables


def test_what_is_taken_back_is_told_again_without_a_state_being_planned(
    job: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun = Car.begun(job)
    begun.check()
    dropped = begun.after(drop_row(job, "wires", "W11"))
    dropped.check()
    monkeypatch.setattr(solving, "solve_alike", None)
    monkeypatch.setattr(solving, "plan_states", None)
    assert dropped.after(job).check() == begun.check() != dropped.check()


def test_a_question_that_is_new_after_a_step_back_is_asked_of_states_solved_again(job: Job) -> None:
    begun = Car.begun(job)
    begun.check()
    dropped = begun.after(drop_row(job, "wires", "W11"))
    dropped.check()
    new = set_cell(job, "requirements", "Q1", "must", "dead")
    assert dropped.after(new).check() == Car(new).check()


def test_a_waived_rule_is_left_out_after_the_edit(job: Job) -> None:
    begun = Car.begun(job)
    rules = {one.rule for one in begun.check().findings}
    assert rules
    waived = tuple({"rule": rule, "point": "", "reason": "shown"} for rule in sorted(rules)[:1])
    new = replace(job, waived=car(waived=waived).waived)
    assert begun.after(new).check() == Car(new).check() != begun.check()
