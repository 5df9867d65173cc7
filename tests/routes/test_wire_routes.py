"""Where wires begin and end, which way they are led, and how long that makes them: small cases worked by hand."""

from __future__ import annotations

import math
import random
from dataclasses import replace

import pytest

from loomwright.cli.asking import open_car
from loomwright.findings import says
from loomwright.job.job import Job
from loomwright.job.rows import Cable, Part, Place, Progress, Run, Wire
from loomwright.routes.decisions import length_decisions
from loomwright.routes.records import Routes
from loomwright.routes.route_findings import route_findings
from loomwright.tables.kinds import load_kinds
from tests.routes.looms import between, loom, routes

RUNS = ("R08 box bulkhead 780", "R11 bulkhead kick 460", "R01 tray box 380", "R20 tail lamp_right 1460")


def one(job: Job, wire: str = "W1"):
    """The route of one wire."""
    return routes(job).wires[wire]


def why(job: Job, wire: str = "W1") -> tuple[str, str]:
    """Why a wire is not led."""
    found = routes(job).unrouted[wire]
    return found.cause, found.why


# ------------------------------------------------------------------------ worked by hand


def test_a_wire_is_as_long_as_its_runs_and_its_two_ends():
    # 780 + 460 + 2 * 60 = 1360, a multiple of 10 already
    found = one(loom(RUNS, [between("W1", "box", "kick")]))
    assert (found.runs, found.places) == (("R08", "R11"), ("box", "bulkhead", "kick"))
    assert (found.along_mm, found.near_mm, found.twisted_mm, found.ends_mm) == (1240.0, 0.0, 0.0, 120.0)
    assert found.length_mm == 1360.0


def test_lengths_go_up_to_the_next_step_and_not_beyond():
    # 781 + 120 = 901: up to 910; 780 + 120 = 900 stays
    assert one(loom(["R1 a b 781"], [between("W1", "a", "b")])).length_mm == 910.0
    assert one(loom(["R1 a b 780"], [between("W1", "a", "b")])).length_mm == 900.0


def test_the_vehicle_may_give_allowance_and_step_of_its_own():
    own = {"end_allowance_mm": "100", "length_step_mm": "25 mm"}
    # 780 + 200 = 980: up to 1000
    found = one(loom(RUNS, [between("W1", "box", "bulkhead")], vehicle=own))
    assert (found.ends_mm, found.length_mm) == (200.0, 1000.0)


def test_two_ends_at_one_place_have_a_typical_distance_between_them():
    # 120 within the place + 2 * 60
    found = one(loom(RUNS, [between("W1", "box", "box")]))
    assert (found.runs, found.places, found.near, found.near_mm) == ((), ("box",), "place", 120.0)
    assert found.length_mm == 240.0
    assert one(loom(RUNS, [between("W1", "box", "box")], vehicle={"within_place_mm": "200"})).length_mm == 320.0


def test_an_end_at_a_metal_is_on_a_bolt_near_by():
    # 150 to the bolt + 2 * 60
    wire = {"id": "W1", "from": "L_box.2", "to": "body"}
    found = one(loom(RUNS, [wire]))
    assert (found.places, found.near, found.near_mm, found.length_mm) == (("box",), "bolt", 150.0, 270.0)
    assert one(loom(RUNS, [{**wire, "from": "body", "to": "L_box.2"}])).length_mm == 270.0
    assert one(loom(RUNS, [wire], vehicle={"earth_stud_mm": "300"})).length_mm == 420.0


def test_an_earth_point_has_the_place_it_sits_at():
    earth = {"id": "E1", "kind": "earth_point", "place": "bulkhead", "settings": "on=body"}
    found = one(loom(RUNS, [{"id": "W1", "from": "L_box.2", "to": "E1"}], [earth]))
    assert (found.runs, found.near, found.length_mm) == (("R08",), "", 900.0)


def test_a_case_a_splice_and_a_plug_in_the_loom_have_the_place_of_their_part():
    parts = [
        {"id": "SP1", "kind": "splice", "place": "bulkhead"},
        {"id": "X1", "kind": "inline_connector", "place": "kick"},
        {"id": "ST", "kind": "starter", "place": "tray"},
    ]
    wires = [
        {"id": "W1", "from": "L_box.1", "to": "SP1.3"},
        {"id": "W2", "from": "SP1.4", "to": "X1.1p"},
        {"id": "W3", "from": "L_box.2", "to": "ST.case"},
    ]
    found = routes(loom(RUNS, wires, parts)).wires
    assert {name: route.runs for name, route in found.items()} == {"W1": ("R08",), "W2": ("R11",), "W3": ("R01",)}


def test_a_run_without_a_length_is_the_straight_line_between_its_places():
    # 300, 400 and 0 apart: 500
    places = [
        {"id": "a", "x_mm": "100", "y_mm": "0", "z_mm": "50"},
        {"id": "b", "x_mm": "400", "y_mm": "-400", "z_mm": "50"},
    ]
    found = routes(loom(["R1 a b"], [between("W1", "a", "b")], places=places))
    assert (found.wires["W1"].along_mm, found.straight, found.unmeasured) == (500.0, ("R1",), ())


@pytest.mark.parametrize("missing", ["x_mm", "y_mm", "z_mm"])
def test_a_run_nobody_knows_the_length_of_is_not_followed(missing):
    places = [
        {"id": "a", "x_mm": "100", "y_mm": "0", "z_mm": "50"},
        {"id": "b", "x_mm": "400", "y_mm": "-400", "z_mm": "50", missing: ""},
        {"id": "c"},
    ]
    around = ["R1 a b", "R2 b c 900", "R3 a c 800"]
    found = routes(loom(around, [between("W1", "a", "b")], places=places))
    assert (found.wires["W1"].runs, found.unmeasured) == (("R3", "R2"), ("R1",))
    cause, words = why(loom(["R1 a b"], [between("W1", "a", "b")], places=places))
    assert cause == "runs"
    assert "R1" in words


def test_a_core_of_a_cable_is_longer_by_its_twist():
    # 1 mm2 is 2.1 mm thick: sqrt(1 + (pi 2.1 / 30)^2) = 1.02390, so 1240 mm takes 29.6 mm more
    cable = [{"id": "C1", "cores": "2", "lay_mm": "30"}]
    found = one(loom(RUNS, [between("W1", "box", "kick", cable="C1")], cables=cable))
    assert found.twisted_mm == pytest.approx(1240.0 * (math.sqrt(1.0 + (math.pi * 2.1 / 30.0) ** 2) - 1.0))
    assert found.twisted_mm == pytest.approx(29.6, abs=0.05)
    assert found.length_mm == 1390.0
    plain = one(loom(RUNS, [between("W1", "box", "kick", cable="C1")], cables=[{"id": "C1", "cores": "2"}]))
    assert (plain.twisted_mm, plain.length_mm) == (0.0, 1360.0)


# ------------------------------------------------------------------------ what is not led, and why


def test_a_part_without_a_place_leaves_its_wires_without_a_way():
    assert why(loom(RUNS, [{"id": "W1", "from": "BAT.+", "to": "L_box.1"}])) == ("place", "BAT has no place")


def test_two_metals_leave_a_strap_without_a_way():
    cause, words = why(loom(RUNS, [{"id": "W1", "from": "body", "to": "engine"}]))
    assert cause == "metals"
    assert "body and engine" in words


def test_a_free_end_leaves_a_wire_without_a_way():
    assert why(loom(RUNS, [{"id": "W1", "from": "L_box.1", "to": ""}])) == ("free", "one of its ends is free")


def test_places_without_runs_between_them_are_told():
    cause, words = why(loom(RUNS, [between("W1", "box", "tail")]))
    assert (cause, words) == (
        "runs",
        "the runs are in pieces that do not meet: box bulkhead kick tray, and lamp_right tail",
    )
    assert why(loom(RUNS, [between("W1", "tail", "box")])) == (cause, words), (
        "the same for all wires between two pieces"
    )
    roof = [{"id": "roof"}]
    cause, words = why(loom(RUNS, [between("W1", "box", "roof")], places=roof))
    assert (cause, words) == ("runs", "no run that can be followed leads to roof")
    assert why(loom((), [between("W1", "a", "b")], places=[{"id": "a"}, {"id": "b"}])) == (
        "runs",
        "there are no runs to follow",
    )


def test_two_ends_at_one_place_need_no_runs():
    assert one(loom((), [between("W1", "a", "a")], places=[{"id": "a"}])).length_mm == 240.0


def test_a_way_longer_than_a_wire_may_be_is_told():
    far = ["R1 a b 99900", "R2 b c 30"]
    assert why(loom(far, [between("W1", "a", "b", via="R1 R2")]))[0] == "long"
    assert one(loom(["R1 a b 99880"], [between("W1", "a", "b")])).length_mm == 100_000.0


def test_removed_wires_are_not_there_and_all_others_are():
    wires = [between("W1", "box", "kick"), between("W2", "box", "kick", fitted="removed"), between("W3", "box", "tail")]
    found = routes(loom(RUNS, wires))
    assert (list(found.wires), list(found.unrouted)) == (["W1"], ["W3"])


# ------------------------------------------------------------------------ the pin of a need

CONTROLLER = {"id": "ECU", "kind": "controller", "place": "kick"}
PINS = [{"id": "A3", "part": "ECU", "terminal": "A3", "abilities": "low_side"}]
NEEDS = [{"id": "lamp", "part": "L_box", "terminal": "2", "ability": "low_side", "pin": "A3"}]
TO_NEED = {"id": "W1", "from": "L_box.2", "to": ""}


def test_a_blank_end_beside_a_need_goes_to_the_controller_that_has_its_pin():
    found = one(loom(RUNS, [TO_NEED], [CONTROLLER], controller_pins=PINS, needs=NEEDS))
    assert (found.runs, found.length_mm) == (("R08", "R11"), 1360.0)
    turned = {"id": "W1", "from": "", "to": "L_box.2"}
    assert one(loom(RUNS, [turned], [CONTROLLER], controller_pins=PINS, needs=NEEDS)).runs == ("R11", "R08")


def test_a_need_without_a_pin_goes_to_the_only_controller_that_can_and_is_open_where_there_are_two():
    free = [{**NEEDS[0], "pin": ""}]
    other = {"id": "BOX2", "kind": "controller", "place": "tray"}
    theirs = {"id": "B1", "part": "BOX2", "terminal": "B1", "abilities": "high_side"}
    job = loom(RUNS, [TO_NEED], [CONTROLLER, other], controller_pins=[*PINS, theirs], needs=free)
    assert one(job).runs == ("R08", "R11")
    both = [*PINS, {**theirs, "abilities": "high_side low_side"}]
    assert why(loom(RUNS, [TO_NEED], [CONTROLLER, other], controller_pins=both, needs=free))[0] == "need"


# ------------------------------------------------------------------------ through, and side by side


RING = ("R1 a b 300", "R2 b c 300", "R3 a d 400", "R4 d c 400")


def test_via_is_followed_in_its_order_and_the_shortest_way_is_taken_without_it():
    assert one(loom(RING, [between("W1", "a", "c")])).runs == ("R1", "R2")
    assert one(loom(RING, [between("W1", "a", "c", via="R4")])).runs == ("R3", "R4")
    assert one(loom(RING, [between("W1", "a", "c", via="d")])).runs == ("R3", "R4")
    assert one(loom(RING, [between("W1", "a", "c", via="b R3")])).runs == ("R1", "R1", "R3", "R4")


def test_a_via_that_cannot_be_followed_is_told_with_what_is_out_of_reach():
    apart = (*RING, "R9 x y 100")
    cause, words = why(loom(apart, [between("W1", "a", "c", via="d R9 b")]))
    assert cause == "via"
    assert "by way of R9" in words
    unmeasured = (*RING, "R9 a c")
    assert why(loom(unmeasured, [between("W1", "a", "c", via="R9")]))[0] == "via"


def test_a_wire_out_and_back_lies_in_the_run_twice():
    assert routes(loom(RING, [between("W1", "a", "a", via="b")])).runs["R1"] == ("W1", "W1")


@pytest.mark.parametrize("column", ["twist", "screen", "cable"])
def test_wires_side_by_side_follow_the_first_of_them_that_has_a_via(column):
    word = {column: "T1"}
    cables = [{"id": "T1"}] if column == "cable" else []
    wires = [
        between("W1", "a", "c", **word),
        between("W2", "c", "a", via="d", **word),
        between("W3", "a", "c"),
    ]
    found = routes(loom(RING, wires, cables=cables)).wires
    assert found["W1"].runs == ("R3", "R4")
    assert found["W2"].runs == ("R4", "R3")
    assert found["W3"].runs == ("R1", "R2")
    assert (found["W1"].follows, found["W2"].follows) == ("W2", "")


def test_wires_that_part_go_by_themselves():
    wires = [between("W1", "a", "c", via="d", twist="T"), between("W2", "a", "b", twist="T")]
    found = routes(loom(RING, wires)).wires
    assert (found["W2"].runs, found["W2"].follows) == (("R1",), "")


def test_a_chain_of_words_joins_wires():
    wires = [
        between("W1", "a", "c", twist="T", via="d"),
        between("W2", "a", "c", twist="T", screen="S"),
        between("W3", "a", "c", screen="S"),
    ]
    found = routes(loom(RING, wires)).wires
    assert found["W3"].runs == ("R3", "R4")
    assert found["W3"].follows == "W1"


def test_one_that_cannot_follow_its_own_via_goes_with_the_others():
    wires = [between("W1", "a", "c", twist="T", via="x"), between("W2", "a", "c", twist="T")]
    found = routes(loom((*RING, "R9 x y 100"), wires)).wires
    assert (found["W1"].runs, found["W1"].follows) == (("R1", "R2"), "W2")


# ------------------------------------------------------------------------ what stands, what shares a run


def test_it_is_told_what_stands_in_the_cell():
    wires = [
        between("W1", "a", "c"),
        between("W2", "a", "c", length_mm="900"),
        between("W3", "a", "c", length_mm="900", built_length_mm="880"),
        between("W4", "a", "c"),
    ]
    kept = [{"sheet": "wires", "row": "W4", "column": "length_mm", "value": "720"}]
    found = routes(loom(RING, wires, decisions=kept)).wires
    assert [route.stands for route in found.values()] == ["blank", "typed", "built", "decided"]
    assert {route.length_mm for route in found.values()} == {720.0}


def test_every_run_says_which_wires_lie_in_it_in_order_of_id():
    wires = [between("W10", "a", "c"), between("W2", "b", "a"), between("W3", "a", "d")]
    assert dict(routes(loom(RING, wires)).runs) == {"R1": ("W2", "W10"), "R2": ("W10",), "R3": ("W3",), "R4": ()}


def test_the_order_of_rows_does_not_matter():
    names = "abcd"
    dice = random.Random(4)
    wires = [
        between(f"W{k}", *dice.sample(names, 2), twist=dice.choice(("", "", "T1", "T2")), via=dice.choice(("", "d")))
        for k in range(30)
    ]
    job = loom(RING, wires)

    def shuffled(rows):
        return tuple(dice.sample(rows, len(rows)))

    other = replace(job, wires=shuffled(job.wires), runs=shuffled(job.runs), parts=shuffled(job.parts))
    assert as_rows(routes(other)) == as_rows(routes(job))


def as_rows(found: Routes) -> list[object]:
    """Routes with their order."""
    return [list(found.wires.items()), list(found.unrouted.items()), list(found.runs.items())]


def test_progress_changes_no_route():
    job = loom(RING, [between("W1", "a", "c")])
    cut = replace(job, progress=(Progress(wire="W1", end="both", step="cut"),))
    assert routes(cut) == routes(job)


@pytest.mark.parametrize("seed", range(25))
def test_every_wire_is_routed_or_told_and_every_route_hangs_together(seed):
    dice = random.Random(seed)
    names = [f"p{number}" for number in range(6)]
    runs = tuple(
        Run(
            id=f"R{number}",
            from_=dice.choice(names),
            to=dice.choice(names),
            length_mm=dice.choice((None, 100.0, 250.0)),
        )
        for number in range(7)
    )
    parts = tuple(Part(id=f"L{number}", kind="lamp", place=dice.choice((*names, ""))) for number in range(8))
    points = [*(f"L{number}.1" for number in range(8)), "body", "engine", "", "L99.1"]
    words = [*names, *(run.id for run in runs)]
    wires = tuple(
        Wire(
            id=f"W{number}",
            from_=dice.choice(points),
            to=dice.choice(points),
            via=tuple(dice.sample(words, dice.choice((0, 0, 0, 1, 2)))),
            twist=dice.choice(("", "", "T1")),
            cable=dice.choice(("", "", "C1")),
            fitted=dice.choice(("new", "new", "kept", "removed")),
        )
        for number in range(40)
    )
    places = tuple(Place(id=name, x_mm=dice.choice((None, 0.0, 90.0)), y_mm=0.0, z_mm=0.0) for name in names)
    job = Job(places=places, runs=runs, parts=parts, wires=wires, cables=(Cable(id="C1", lay_mm=30.0),))
    found = routes(job)
    assert {*found.wires, *found.unrouted} == {wire.id for wire in wires if wire.fitted != "removed"}
    assert not set(found.wires) & set(found.unrouted)
    assert found.wires
    assert found.unrouted
    rows, by_id = {run.id: run for run in runs}, {wire.id: wire for wire in wires}
    for route in found.wires.values():
        assert len(route.places) == len(route.runs) + 1
        for name, one, other in zip(route.runs, route.places, route.places[1:], strict=False):
            assert {one, other} == {rows[name].from_, rows[name].to}
        wire = by_id[route.wire]
        assert route.follows or set(wire.via) <= {*route.runs, *route.places}
        whole_mm = route.along_mm + route.near_mm + route.twisted_mm + route.ends_mm
        assert 0.0 <= route.length_mm - whole_mm < 10.0
        assert route.length_mm % 10.0 == 0.0
    inside = [(run, wire) for run, wires in found.runs.items() for wire in wires]
    assert sorted(inside) == sorted((run, route.wire) for route in found.wires.values() for run in route.runs)
    for one in route_findings(job, found):
        assert says(one)
    decisions, reasons = length_decisions(job, load_kinds(), found)
    assert [one.row for one in decisions] == list(found.wires)
    assert {one.row for one in reasons} == set(found.wires)


# ------------------------------------------------------------------------ the demonstration


def test_the_lengths_of_the_van_come_back_from_its_runs():
    car = open_car("van")
    blank = replace(car.job, wires=tuple(replace(wire, length_mm=None) for wire in car.job.wires))
    found = routes(blank)
    assert not found.unrouted
    typed = {wire.id: wire.length_mm for wire in car.job.wires}
    along = [one for one in found.wires.values() if one.runs and not one.twisted_mm and typed[one.wire] is not None]
    same = [route.wire for route in along if route.length_mm == typed[route.wire]]
    # short battery leads are made to measure; nearly all the rest is what the rule of thumb says, to the millimetre
    assert len(along) > 50
    assert len(same) > 0.9 * len(along)
    assert max(abs(route.length_mm - typed[route.wire]) for route in along) <= 120.0
