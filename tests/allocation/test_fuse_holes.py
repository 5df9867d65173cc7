"""A fuse box has so many holes: which fuses are given up, what is kept, what is led where, and what it costs."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loomwright.allocation.fuse_ways import fused_apart
from loomwright.allocation.other_ways import other_fuses
from loomwright.allocation.way_fixing import branch_fixed, branch_let_go, with_fuses_typed
from loomwright.job.job import Job
from loomwright.job.reading import problems_of
from loomwright.job.rows import Progress, VehicleProperty
from loomwright.tables.kinds import load_kinds
from tests.allocation.test_fuse_ways import answered, box, fuses_of

KINDS = load_kinds()
THREE = {"F1": ("BUS.3", "10"), "F2": ("BUS.4", "10"), "F3": ("BUS.5", "10")}
LOADS = {"M1": ("motor", "box", "F1"), "M2": ("motor", "box", "F2"), "M3": ("motor", "box", "F3")}


def with_holes(job: Job, count: int) -> Job:
    """The job with its box counted."""
    return replace(job, vehicle=(VehicleProperty(name="fuse_holes_box", value=str(count)),))


def test_a_box_with_a_hole_a_fuse_moves_nothing() -> None:
    assert answered(with_holes(box(LOADS, THREE), 3)).moved == ()


def test_too_few_holes_give_up_as_few_fuses_as_will_do_and_it_is_said_which() -> None:
    answer = answered(with_holes(box(LOADS, THREE), 2))
    assert answer.status == "fits"
    assert len(answer.moved) == 1
    assert len(set(fuses_of(answer).values())) == 2
    assert "box has 2 holes and 3 fuses" in answer.moved[0].says
    assert answer.proved


def test_what_is_made_up_stays_where_another_can_move() -> None:
    for stays in LOADS:
        others = [name for name in LOADS if name != stays]
        built = tuple(Progress(wire=f"W_{name}", end="from", step="seated") for name in others)
        answer = answered(with_holes(box(LOADS, THREE, progress=built), 2))
        assert [each.loads for each in answer.moved] == [(stays,)]


def test_twins_that_no_hole_parts_are_left_out_and_the_holes_are_named() -> None:
    loads = {"P1": ("fuel_pump", "box", "F1"), "P2": ("fuel_pump", "box", "F2")}
    answer = answered(with_holes(box(loads, {"F1": ("BUS.3", "10"), "F2": ("BUS.4", "10")}), 1))
    assert answer.status == "does not fit"
    assert "box has 1 holes" in answer.left_out[0]


def test_led_wires_give_a_job_in_which_nothing_moves_any_more() -> None:
    loads = {"P1": ("fuel_pump", "box", "F1"), "P2": ("fuel_pump", "box", "F1")}
    job = box(loads, {"F1": ("BUS.3", "20"), "F2": ("KEY.15", "20")})
    answer = answered(job)
    after = with_fuses_typed(job, answer)
    added = [part for part in after.parts if part.id not in {one.id for one in job.parts}]
    assert [part.kind for part in added] == ["fuse"]
    feed = next(wire for wire in after.wires if wire.to == f"{added[0].id}.1")
    assert feed.from_.startswith("BUS."), "a stud of its own beside that of F1"
    assert feed.from_ not in {end for wire in job.wires for end in (wire.from_, wire.to)}
    assert problems_of(after) == problems_of(job)
    again = answered(after)
    assert again.moved == ()
    assert again.new == ()


def test_a_branch_that_is_kept_on_its_fuse_stays_though_another_must_go() -> None:
    loads = {"LL": ("lamp", "nose_left", "F1"), "LR": ("lamp", "nose_right", "F1")}
    job = box(loads, {"F1": ("BUS.3", "10"), "F2": ("BUS.4", "10")})
    for name in loads:
        fixed = branch_fixed(job, answered(job), f"W_{name}", "F1")
        answer = answered(fixed)
        assert fuses_of(answer)[name] == "F1"
        assert [each.loads for each in answer.moved] == [tuple(other for other in loads if other != name)]
        assert branch_let_go(fixed, f"W_{name}").parts == job.parts
        other = next(one for one in other_fuses(fixed, KINDS, {}, answer, f"W_{name}") if one.name == "F2")
        assert not other.is_possible
        assert "is kept on F1" in other.says


def test_every_other_fuse_is_told_with_its_cost_or_why_not() -> None:
    job = box({"M": ("motor", "box", "F1")}, {"F1": ("BUS.3", "20"), "F2": ("BUS.4", "5"), "F3": ("BUS.5", "20")})
    amps = {wire.id: 6.0 for wire in job.wires}
    told = {one.name: one for one in other_fuses(job, KINDS, amps, fused_apart(job, KINDS, amps), "W_M")}
    assert "6 A flow, F2 carries" in told["F2"].says
    assert told["F3"].is_possible
    assert "one more is moved" in told["F3"].says
    assert "a fuse is added" in told["new fuse 1 on 30 at box"].says


@pytest.mark.parametrize("text", ["0", "many", "201", "2.5"])
def test_a_count_of_holes_that_is_none_is_told_with_its_row(text: str) -> None:
    job = replace(box(LOADS, THREE), vehicle=(VehicleProperty(name="fuse_holes_box", value=text),))
    assert [one.row for one in problems_of(job) if "fuse_holes_box" in str(one)] == [2]
