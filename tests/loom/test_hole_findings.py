"""RTE-8: a hole too small for what lies in its run, and what would mend it."""

from __future__ import annotations

from dataclasses import replace

from loomwright.checked import route_notes
from loomwright.loom.hole_findings import hole_findings
from loomwright.loom.run_sheet import run_sheets
from tests.routes.looms import between, loom, routes


def job(hole_mm: float | None, count: int = 2, covering: str = "", sizes: tuple[str, ...] = (), **sheets):
    wires = [between(f"W{n}", "a", "b", size_mm2=sizes[n] if sizes else "1") for n in range(count)]
    made = loom(("R1 a b 800",), wires, **sheets)
    return replace(made, runs=tuple(replace(run, hole_mm=hole_mm, covering=covering) for run in made.runs))


def told(made):
    return list(hole_findings(made, routes(made)))


def test_two_wires_that_do_not_go_through_are_told_with_the_hole_they_need():
    # two of 2.1 mm lie 4.2 mm wide, and 2 mm to draw them through
    (found,) = told(job(6.1))
    assert (found.rule, found.severity, found.at) == ("RTE-8", "warning", ("R1", "W0", "W1"))
    assert (found.found, found.allowed, found.unit) == (6.2, 6.1, "mm")
    assert found.mend == "A hole of 6.2 mm, or W0 led another way (via)"


def test_a_hole_just_wide_enough_and_one_nobody_measured_are_left_alone():
    assert told(job(6.2)) == told(job(None)) == told(job(1.0, count=0)) == []


def test_the_thickest_are_named_that_would_have_to_go_another_way():
    (found,) = told(job(8.0, count=4, sizes=("0.5", "6", "0.5", "4")))
    # 4.3 and 3.7 mm gone, 1.6 and 1.6 are left: 3.2 + 2; with the 3.7 it is 6.0 and more
    assert found.mend.endswith("or W1 led another way (via)")
    assert "W1 W3 led another way" in told(job(6.0, count=4, sizes=("0.5", "6", "0.5", "4")))[0].mend


def test_what_stays_is_as_thick_as_it_comes_out_by_hand():
    # five of 2.1 mm: 1.2 x 2.1 x root 5 = 5.6 mm and 2 mm; six want 8.3 mm
    assert told(job(7.7, count=6))[0].mend.endswith("or W0 led another way (via)")


def test_two_thick_wires_that_stay_lie_side_by_side_whatever_thin_ones_lie_with_them():
    sizes = ("6", "6", "6", "0.5", "0.5")
    (found,) = told(job(10.0, count=5, sizes=sizes))
    # two of 4.3 mm want 8.6 mm and 2 mm, though all four wires have room in 1.2 x 6.5 mm
    assert found.mend.endswith("or W0 W1 led another way (via)")
    assert told(job(10.0, count=4, sizes=sizes[1:])) != []
    assert told(job(10.0, count=3, sizes=sizes[2:])) == []


def test_where_the_bare_bundle_goes_through_the_covering_may_end_at_the_hole():
    (found,) = told(job(6.5, covering="conduit"))
    assert "the covering ended on both sides of the hole" in found.mend
    assert "covering ended" not in told(job(6.1, covering="conduit"))[0].mend


def test_the_finding_is_the_run_sheets_own_verdict():
    for hole_mm in (5.0, 6.19, 6.2, 9.0):
        made = job(hole_mm)
        assert bool(told(made)) is run_sheets(made, routes(made))["R1"].is_hole_too_small


def test_it_is_told_with_the_routes_and_can_be_waived_at_the_run():
    waived = [{"rule": "RTE-8", "point": "R1", "reason": "it will be opened up"}]
    made, kept = job(5.0), job(5.0, waived=waived)
    assert [one.rule for one in route_notes(made, routes(made))] == ["RTE-8"]
    assert [one.rule for one in route_notes(kept, routes(kept))] == []
