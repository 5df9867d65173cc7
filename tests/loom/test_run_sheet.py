"""What lies in a run: thickness, covering, hole, bend, and where wires leave it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loomwright.loom.run_sheet import run_sheets
from loomwright.routes.wire_routes import wire_routes
from loomwright.tables.kinds import load_kinds
from tests.routes.looms import between, loom

RUNS = ("R1 a b 500", "R2 b c 500", "R3 b d 500")
WIRES = (between("W1", "a", "c"), between("W2", "a", "c"), between("W3", "a", "d"), between("W4", "a", "b"))


def sheets(wires=WIRES, **cells):
    job = loom(RUNS, wires)
    rows = tuple(replace(run, **cells) if run.id == "R1" else run for run in job.runs)
    job = replace(job, runs=rows)
    return run_sheets(job, wire_routes(job, load_kinds()))


def test_a_run_holds_its_wires_as_thick_as_geometry_has_it():
    one = sheets()["R2"]
    # two wires of 1 mm2, thin walled: 2.1 mm each
    assert one.conductors == ("W1", "W2")
    assert (one.packed_mm, one.by_hand_mm) == pytest.approx((4.2, 4.2))
    assert (one.bend_mm, one.bend_held_mm) == pytest.approx((21.0, 6.3))


def test_the_thickest_wire_says_how_tight_a_run_may_be_bent():
    one = sheets([between("W1", "a", "b"), between("W2", "a", "b", size_mm2="6")])["R1"]
    # 6 mm2, thin walled: 4.3 mm; ten times that, three times where it is held
    assert (one.bend_mm, one.bend_held_mm) == pytest.approx((43.0, 12.9))


def test_by_hand_it_is_never_tighter_than_it_packs():
    for count in (4, 5, 7, 12):
        wires = [between(f"W{number}", "a", "b") for number in range(count)]
        one = sheets(wires)["R1"]
        assert one.by_hand_mm >= one.packed_mm


def test_a_hole_too_small_is_told_with_its_covering_on():
    one = sheets(hole_mm=9.0, covering="braided sleeve")["R1"]
    assert one.covering_kind == "braided"
    assert one.covered_mm == pytest.approx(one.by_hand_mm + 1.2)
    assert one.needed_mm == pytest.approx(one.covered_mm + 2.0)
    assert not sheets(hole_mm=9.0)["R1"].is_hole_too_small
    assert sheets(hole_mm=6.0)["R1"].is_hole_too_small


def test_wires_that_leave_the_others_are_a_breakout_where_they_do():
    one = sheets()["R1"]
    # at b W1 and W2 go on together, W3 turns off and W4 ends; at a everything ends
    assert {each.place: each.wires for each in one.breakouts} == {"a": ("W1", "W2", "W3", "W4"), "b": ("W3", "W4")}


def test_a_wire_no_table_has_leaves_the_thickness_open_and_is_named():
    one = sheets([between("W1", "a", "b", size_mm2="0.14"), between("W2", "a", "b")])["R1"]
    assert (one.packed_mm, one.by_hand_mm, one.bend_mm) == (None, None, None)
    assert one.unknown == ("W1",)


def test_an_empty_run_has_no_thickness():
    one = sheets([between("W1", "b", "c")])["R1"]
    assert (one.conductors, one.packed_mm, one.breakouts) == ((), None, ())


def test_a_covering_nobody_knows_adds_nothing_and_is_no_kind():
    one = sheets(covering="old hose")["R1"]
    assert one.covering_kind == ""
    assert one.covered_mm == one.by_hand_mm
