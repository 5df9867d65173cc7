"""RTE-1 to RTE-7: one case that makes each, one that just does not, and sound cars that are left alone."""

from __future__ import annotations

import pytest

from loomwright.car import Car
from loomwright.cli.asking import open_car
from loomwright.findings import Finding, says
from loomwright.job.job import Job
from loomwright.job.reading import job_from_text
from loomwright.routes.route_findings import route_findings
from tests.routes.looms import between, loom, routes

BATTERY = {"id": "BAT", "kind": "battery"}
RING = ("R1 a b 300", "R2 b c 300", "R3 a d 400", "R4 d c 400")


def told(job: Job) -> list[Finding]:
    """What the rules find."""
    return list(route_findings(job, routes(job)))


def codes(*wires, runs=RING, **sheets) -> list[tuple[str, str, tuple[str, ...]]]:
    """Rule, severity and places of each finding."""
    return [(one.rule, one.severity, one.at) for one in told(loom(runs, wires, **sheets))]


def test_a_wire_with_a_way_is_told_nothing():
    assert codes(between("W1", "a", "c"), between("W2", "a", "c", length_mm="720", via="R1")) == []


# ------------------------------------------------------------------------ RTE-1


def test_a_blank_length_without_a_place_is_a_warning_with_its_mend():
    (found,) = told(loom(RING, [{"id": "W1", "from": "BAT.+", "to": "L_a.1"}]))
    assert (found.rule, found.severity, found.at) == ("RTE-1", "warning", ("W1",))
    assert "BAT" in found.touches
    assert says(found) == (
        "W1 (wire, BAT.+ to L_a.1): no length is given and no route is found: BAT has no place. "
        "Write the place of BAT in the sheet parts, or type the wire's length."
    )


def test_a_typed_a_built_and_a_decided_length_need_no_way():
    wire = {"id": "W1", "from": "BAT.+", "to": "L_a.1"}
    assert codes({**wire, "length_mm": "900"}) == []
    assert codes({**wire, "built_length_mm": "900"}) == []
    kept = [{"sheet": "wires", "row": "W1", "column": "length_mm", "value": "900"}]
    assert codes(wire, decisions=kept) == []


def test_runs_that_do_not_join_are_a_warning():
    apart = ("R1 a b 300", "R2 c d 300")
    assert codes(between("W1", "a", "c"), runs=apart) == [("RTE-1", "warning", ("W1",))]
    assert codes(between("W1", "a", "b"), runs=apart) == []


def test_wires_that_lack_the_same_are_told_together():
    wires = [{"id": f"W{number}", "from": "BAT.+", "to": "L_a.1"} for number in range(1, 7)]
    (found,) = told(loom(RING, wires))
    assert found.at == ("W1", "W2", "W3", "W4")
    assert {"W5", "W6", "BAT"} <= set(found.touches)
    assert found.label == "6 wires (W1 W2 W3 W4 and 2 more)"


def test_a_free_end_is_left_to_another_rule():
    assert codes({"id": "W1", "from": "L_a.1", "to": ""}) == []


# ------------------------------------------------------------------------ RTE-2


def test_a_length_shorter_than_its_way_is_a_warning_with_both_figures():
    # 600 mm along R1 and R2, less 5 %
    (found,) = told(loom(RING, [between("W1", "a", "c", length_mm="569")]))
    assert (found.rule, found.severity, found.at) == ("RTE-2", "warning", ("W1",))
    assert (found.found, found.allowed, found.unit) == (569.0, 600.0, "mm")
    assert {"R1", "R2", "L_a", "L_c"} <= set(found.touches)
    assert "720 mm" in found.mend


def test_a_length_within_what_a_tape_may_be_out_is_left_alone():
    assert codes(between("W1", "a", "c", length_mm="570")) == []


def test_the_way_by_its_via_is_what_it_is_held_against():
    (found,) = told(loom(RING, [between("W1", "a", "c", length_mm="700", via="d")]))
    assert (found.rule, found.allowed) == ("RTE-2", 800.0)
    assert "name in via" in found.mend
    assert codes(between("W1", "a", "c", length_mm="760", via="d")) == []


def test_a_kept_wire_reaches_so_it_is_a_note_that_it_goes_another_way():
    assert codes(between("W1", "a", "c", length_mm="400", fitted="kept")) == [("RTE-2", "note", ("W1",))]


def test_what_was_built_is_held_against_the_way_before_what_was_typed():
    assert codes(between("W1", "a", "c", length_mm="400", built_length_mm="700")) == []
    (found,) = told(loom(RING, [between("W1", "a", "c", length_mm="700", built_length_mm="400")]))
    assert (found.rule, found.found) == ("RTE-2", 400.0)
    assert "Cut it anew" in found.mend


def test_a_decided_length_that_no_longer_reaches_is_to_be_worked_out_anew():
    kept = [{"sheet": "wires", "row": "W1", "column": "length_mm", "value": "400"}]
    (found,) = told(loom(RING, [between("W1", "a", "c")], decisions=kept))
    assert found.rule == "RTE-2"
    assert "route --keep" in found.mend


def test_wires_within_a_place_or_without_a_way_are_not_held_against_anything():
    assert codes(between("W1", "a", "a", length_mm="5")) == []
    assert codes(between("W1", "a", "c", length_mm="5"), runs=("R1 a b 300", "R2 c d 300")) == []
    assert codes({"id": "W1", "from": "BAT.+", "to": "L_c.1", "length_mm": "5"}) == []


# ------------------------------------------------------------------------ RTE-3


def test_a_via_that_cannot_be_followed_is_a_warning_whatever_the_length():
    apart = (*RING, "R9 x y 100")
    for length_mm in ("", "900"):
        (found,) = told(loom(apart, [between("W1", "a", "c", via="R9", length_mm=length_mm)]))
        assert (found.rule, found.severity, found.at) == ("RTE-3", "warning", ("W1",))
        assert "R9" in found.touches
    assert codes(between("W1", "a", "c", via="R4", length_mm="900"), runs=apart) == []


def test_a_via_along_a_run_of_unknown_length_is_told_at_the_wire_and_at_the_run():
    found = codes(between("W1", "a", "c", via="R9"), runs=(*RING, "R9 a c"))
    assert found == [("RTE-3", "warning", ("W1",)), ("RTE-5", "note", ("R9",))]


def test_a_via_between_places_that_nothing_joins_is_told_once():
    apart = ("R1 a b 300", "R2 c d 300")
    assert codes(between("W1", "a", "c", via="b"), runs=apart) == [("RTE-3", "warning", ("W1",))]


# ------------------------------------------------------------------------ RTE-4


def test_a_pair_that_parts_is_a_note():
    found = codes(between("W1", "a", "c", twist="T"), between("W2", "a", "b", twist="T"))
    assert found == [("RTE-4", "note", ("W1", "W2"))]
    assert codes(between("W1", "a", "c", twist="T"), between("W2", "c", "a", twist="T")) == []


def test_a_cable_that_parts_names_the_cable():
    wires = [between("W1", "a", "c", cable="C1"), between("W2", "a", "b", cable="C1")]
    (found,) = told(loom(RING, wires, cables=[{"id": "C1"}]))
    assert found.rule == "RTE-4"
    assert "C1" in found.touches
    assert "W2 goes another way" in found.wrong


# ------------------------------------------------------------------------ RTE-5


def test_a_run_of_unknown_length_is_a_note():
    spots = [{"id": "x", "x_mm": "0", "y_mm": "0", "z_mm": "0"}, {"id": "y", "x_mm": "9", "y_mm": "0", "z_mm": "0"}]
    assert codes(runs=("R9 a x",), places=spots) == [("RTE-5", "note", ("R9",))]
    assert codes(runs=("R9 y x",), places=spots) == []
    assert codes(runs=("R9 a x 100",), places=spots) == []


# ------------------------------------------------------------------------ RTE-6


def past_a_surface(surface_c: str, covering: str, insulation: str = "") -> list[tuple[str, str, tuple[str, ...]]]:
    """What is told of two wires in a run past a hot surface."""
    run = {"id": "R1", "from": "a", "to": "b", "length_mm": "400", "surface_c": surface_c, "covering": covering}
    lamps = [{"id": f"L_{place}", "kind": "lamp", "place": place} for place in "ab"] + [BATTERY]
    wires = [between("W1", "a", "b", insulation=insulation), between("W2", "a", "b", insulation="125")]
    sheets = {"places": [{"id": "a"}, {"id": "b"}], "runs": [run], "parts": lamps, "wires": wires}
    return [(one.rule, one.severity, one.at) for one in told(job_from_text(sheets))]


def test_a_bare_run_past_a_surface_hotter_than_a_wire_stands_is_told_with_what_melts():
    assert past_a_surface("106", "") == [("RTE-6", "warning", ("R1", "W1"))]
    assert past_a_surface("126", "tape") == [("RTE-6", "warning", ("R1", "W1", "W2"))]
    assert past_a_surface("105", "tape") == []
    for open_ in ("pvc tape", "cloth tape", "spiral wrap"):  # they keep no heat off
        assert past_a_surface("106", open_) == [("RTE-6", "warning", ("R1", "W1"))]


@pytest.mark.parametrize(
    ("covering", "most_c"),
    [
        ("glass sleeve", 165),  # stands 200: 105 and 60 more
        ("old hose", 165),  # nobody knows what it stands
        ("braided sleeve", 125),  # stands 125, less than 165
        ("conduit", 105),  # stands 105: no more than a wire without it
        ("pvc sleeving", 105),  # stands 90; the wire in it stands 105 all the same
    ],
)
def test_a_sleeve_lets_it_be_so_much_hotter_as_far_as_it_stands_it_itself(covering, most_c):
    assert past_a_surface(str(most_c), covering) == []
    told_of = past_a_surface(str(most_c + 1), covering)
    assert [(rule, at[:2]) for rule, _, at in told_of] == [("RTE-6", ("R1", "W1"))]


def test_better_insulation_lets_it_be_hotter_too():
    assert past_a_surface("125", "", insulation="125") == []


# ------------------------------------------------------------------------ RTE-7


def splice_at(place: dict[str, str], **row: str) -> list[tuple[str, str, tuple[str, ...]]]:
    """What is told of one splice."""
    splice = {"id": "S1", "kind": "splice", "place": place["id"], **row}
    return [
        (one.rule, one.severity, one.at) for one in told(job_from_text({"places": [place], "parts": [BATTERY, splice]}))
    ]


def test_an_open_splice_in_the_wet_is_a_warning():
    assert splice_at({"id": "p", "wet": "yes"}) == [("RTE-7", "warning", ("S1",))]
    assert splice_at({"id": "p", "wet": "yes"}, settings="sealed=no") == [("RTE-7", "warning", ("S1",))]


def test_a_sealed_splice_a_dry_one_and_one_taken_out_are_not_told():
    assert splice_at({"id": "p", "wet": "yes"}, settings="sealed=yes") == []
    assert splice_at({"id": "p", "wet": "no"}) == []
    assert splice_at({"id": "p", "wet": "yes"}, fitted="removed") == []


# ------------------------------------------------------------------------ in the whole car


def test_a_waived_rule_is_not_told():
    short = between("W1", "a", "c", length_mm="400")
    waived = {"rule": "RTE-2", "reason": "measured with a string"}
    told = [
        [one.rule for one in Car(loom(RING, [short], waived=rows)).route_findings()]
        for rows in ([], [waived], [{**waived, "point": "W1"}], [{**waived, "point": "W2"}])
    ]
    assert told == [["RTE-2"], [], [], ["RTE-2"]]


@pytest.mark.parametrize("name", ["van", "tourer", "wagon"])
def test_sound_cars_have_no_fault_and_no_warning(name):
    assert [says(one) for one in open_car(name).route_findings() if one.severity != "note"] == []
