"""Where a splice takes the least copper, and where it may not lie: by hand, and beside every choice there is."""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import pairwise, product

import networkx as nx
import pytest

from loomwright.checked import route_notes
from loomwright.job.job import Job
from loomwright.routes.route_findings import route_findings
from loomwright.routes.run_cut import with_run_cut
from loomwright.routes.splice_ground import splice_ground
from loomwright.routes.splice_places import SplicePlace, splice_places, with_splices_placed
from loomwright.routes.ways import ways_through
from loomwright.tables.kinds import load_kinds
from tests.routes.looms import loom, routes

STAR = ("R1 a m 1000", "R2 b m 1000", "R3 c m 400")
G_PER_MM3 = 0.00889


def to_splice(id: str, place: str, size: str = "1", splice: str = "S1", number: int = 1, **more: str) -> dict[str, str]:
    return {"id": id, "from": f"L_{place}.1", "to": f"{splice}.{number}", "size_mm2": size, "fitted": "new", **more}


def splice(id: str = "S1", place: str = "m", **more: str) -> dict[str, str]:
    return {"id": id, "kind": "splice", "place": place, "fitted": "new", **more}


def placed(job: Job) -> dict[str, SplicePlace]:
    return {one.splice: one for one in splice_places(job, load_kinds())}


def star(*sizes: str, runs=STAR, place="m", changed=None, bare=False, **more: str) -> SplicePlace:
    wires = [
        to_splice(f"W{n}", name, size, number=n) for n, (name, size) in enumerate(zip("abc", sizes, strict=True), 1)
    ]
    job = loom(runs, wires, [splice(place=place, **more)])
    rows = tuple(replace(run, **(changed or {}).get(run.id, {})) for run in job.runs)
    parts = tuple(part for part in job.parts if not (bare and part.id == "L_m"))
    return placed(replace(job, runs=rows, parts=parts))["S1"]


def test_equal_wires_meet_where_they_part_and_it_is_what_a_hand_adds_up():
    found = star("1", "1", "1", place="a")
    assert (found.best.place, found.moves, found.is_proved) == ("m", True, True)
    assert found.best_g == pytest.approx((1000 + 1000 + 400) * G_PER_MM3)
    assert found.now_g == pytest.approx((2000 + 1400) * G_PER_MM3)


def test_one_thick_wire_draws_the_splice_to_its_own_end():
    # at a 1 x 2000 + 1 x 1400 of 1 mm2; at m 1000 x 4 more for the thick one
    assert star("4", "1", "1").best.place == "a"
    assert star("2", "1", "1").best.place == "m"  # just as much at a: it stays where it is


def test_a_hole_moves_it_beside_the_place_and_what_was_passed_over_is_told():
    assert star("1", "1", "1", changed={"R3": {"hole_mm": 20.0}}).best.place == "m"  # a lamp sits there: no way-point
    found = star("1", "1", "1", changed={"R3": {"hole_mm": 20.0}}, bare=True)
    assert (found.best.place, found.best.run, found.best.apart_mm) == ("", "R1", 150.0)
    assert found.best_g == pytest.approx((850 + 1150 + 550) * G_PER_MM3)
    assert [(one.spot, one.why) for one in found.passed_over] == [
        ("m", "nothing sits there, and R3 passes a hole: it is beneath it, most likely")
    ]
    assert found.now_barred.startswith("nothing sits there")


@pytest.mark.parametrize("word", ["moving", "hot"])
def test_a_place_that_only_moving_or_hot_runs_reach_will_not_do_unless_something_sits_there(word):
    runs = {name: {"hazards": (word,)} for name in ("R1", "R2", "R3")}
    assert star("1", "1", "1", changed=runs).best.place == "m"  # a lamp sits there
    job = loom(STAR, [to_splice(f"W{n}", name, number=n) for n, name in enumerate("abc", 1)], [splice()])
    parts = tuple(part for part in job.parts if part.id != "L_m")
    rows = tuple(replace(run, hazards=(word,)) for run in job.runs)
    found = placed(replace(job, runs=rows, parts=parts))["S1"]
    assert found.now_barred.startswith("nothing holds it there")
    assert found.best.place == "c"  # 1400 + 1400 there; 2000 + 1400 at a and at b


def test_a_wet_place_will_do_for_a_sealed_splice_and_for_no_other():
    wires = [to_splice(f"W{n}", name, number=n) for n, name in enumerate("abc", 1)]
    wet = [{"id": "m", "wet": "yes"}]
    dry = placed(loom(STAR, wires, [splice()], wet))["S1"]
    assert (dry.best.called, dry.now_barred) == ("150 mm from m in R1", "it is wet, and the splice is not sealed")
    sealed = placed(loom(STAR, wires, [splice(settings="sealed=yes")], wet))["S1"]
    assert (sealed.best.place, sealed.now_barred) == ("m", "")


def test_a_place_hotter_than_its_sleeve_stands_will_not_do_and_just_as_hot_will():
    wires = [to_splice(f"W{n}", name, number=n) for n, name in enumerate("abc", 1)]
    assert placed(loom(STAR, wires, [splice()], [{"id": "m", "ambient_c": "86"}]))["S1"].now_barred
    assert not placed(loom(STAR, wires, [splice()], [{"id": "m", "ambient_c": "85"}]))["S1"].now_barred


def test_a_splice_that_is_kept_or_whose_wire_is_cut_stays():
    assert star("1", "1", "1", place="a", fitted="kept").frozen == "it is kept, and stays where it is"
    wires = [to_splice(f"W{n}", name, number=n) for n, name in enumerate("abc", 1)]
    job = loom(STAR, wires, [splice(place="a")], progress=[{"wire": "W2", "step": "cut"}])
    found = placed(job)["S1"]
    assert (found.frozen, found.moves) == ("W2 at it is cut already", False)
    assert with_splices_placed(job, [found]) == job


def test_what_is_placed_is_written_into_its_place_and_then_stays():
    wires = [to_splice(f"W{n}", name, number=n) for n, name in enumerate("abc", 1)]
    job = loom(STAR, wires, [splice(place="")])
    after = with_splices_placed(job, placed(job).values())
    assert next(part.place for part in after.parts if part.id == "S1") == "m"
    assert not placed(after)["S1"].moves


def test_a_splice_within_a_run_gets_a_place_there_and_everything_is_as_long_as_before():
    job = loom(STAR, [to_splice(f"W{n}", name, number=n) for n, name in enumerate("abc", 1)], [splice(place="m")])
    rows = tuple(replace(run, hole_mm=20.0) if run.id == "R1" else run for run in job.runs)
    job = replace(job, runs=rows, parts=tuple(part for part in job.parts if part.id != "L_m"))
    found = placed(job)["S1"]
    assert (found.best.place, found.best.run, found.best.beyond, found.best.apart_mm) == ("", "R2", "m", 150.0)
    after = with_splices_placed(job, [found])
    at = next(part.place for part in after.parts if part.id == "S1")
    assert next(place.name for place in after.places if place.id == at) == "150 mm from m in R2"
    assert {run.id: run.length_mm for run in after.runs} == {"R1": 1000, "R2": 850, "R2_to_m": 150, "R3": 400}
    ways = routes(after).wires
    assert [ways[name].along_mm for name in ("W1", "W2", "W3")] == [1150.0, 850.0, 550.0]
    assert ways["W3"].runs in (("R3", "R2_to_m"), ("R2_to_m", "R3"))
    again = placed(after)["S1"]
    assert (again.best.place, again.moves) == (at, False)
    assert again.best_g == pytest.approx(found.best_g)
    assert not list(told(after)), "it lies where one may"


def test_two_splices_at_one_spot_within_a_run_share_its_place_and_a_run_with_a_hole_is_left_whole():
    wires = [to_splice(f"W{n}", name, number=n) for n, name in enumerate("abc", 1)]
    wires += [to_splice(f"V{n}", name, splice="S2", number=n) for n, name in enumerate("abc", 1)]
    job = loom(STAR, wires, [splice(place="m"), splice("S2", place="m")])
    rows = tuple(replace(run, hole_mm=20.0) if run.id == "R1" else run for run in job.runs)
    job = replace(job, runs=rows, parts=tuple(part for part in job.parts if part.id != "L_m"))
    after = with_splices_placed(job, placed(job).values())
    places = {part.place for part in after.parts if part.kind == "splice"}
    assert len(places) == 1
    assert len(after.runs) == len(job.runs) + 1
    assert with_run_cut(job, "R1", beyond="m", apart_mm=150.0) == job
    assert with_run_cut(job, "R2", beyond="m", apart_mm=1000.0) == job


def random_job(seed: int) -> Job:
    """A small loom of five places with ways round, two splices that a wire may join, sizes and bars by chance."""
    dice = random.Random(seed)
    names = "abcde"
    lines = [f"R{n} {names[n]} {names[dice.randrange(n)]} {dice.randrange(3, 12) * 100}" for n in range(1, 5)]
    lines += [f"R{n} {' '.join(dice.sample(names, 2))} {dice.randrange(3, 12) * 100}" for n in range(5, 7)]
    wires, numbers = [], {"S1": 0, "S2": 0}
    for number in range(1, 7):
        name = f"S{1 + number % 2}"
        numbers[name] += 1
        size = dice.choice(("0.5", "1", "2.5"))
        wires.append(to_splice(f"W{number}", dice.choice(names), size, name, numbers[name]))
    if dice.random() < 0.7:
        wires.append({"id": "W9", "from": "S1.8", "to": "S2.8", "size_mm2": dice.choice(("1", "2.5", "4"))})
    job = loom(lines, wires, [splice("S1", "a"), splice("S2", "b")])
    seats = dice.sample(names, 2)
    lamps = tuple(replace(part, kind="earth_point") if part.id[-1] not in seats else part for part in job.parts)
    job = replace(
        job, parts=tuple(one if part.kind == "lamp" else part for part, one in zip(job.parts, lamps, strict=True))
    )
    rows = tuple(replace(run, hole_mm=30.0) if dice.random() < 0.25 else run for run in job.runs)
    rows = tuple(replace(run, hazards=("hot",)) if dice.random() < 0.25 else run for run in rows)
    return replace(job, runs=rows)


def least_by_trying(job: Job) -> float:
    """The least copper of both splices over every pair of spots, with spots every 50 mm along the runs that will do."""
    ground = splice_ground(job)
    graph: nx.MultiGraph = nx.MultiGraph()
    allowed = [spot.node for spot in ground.spots.values() if not spot.barred and spot.place]
    for run in job.runs:
        weight = 2.0 if "hot" in run.hazards else 1.0
        steps = int(run.length_mm / 50.0)
        nodes = [run.from_, *(f"{run.id}@{k}" for k in range(1, steps)), run.to]
        for one, other in pairwise(nodes):
            graph.add_edge(one, other, mm=50.0, weighed=50.0 * weight)
        if run.hole_mm is None and not run.hazards:
            barred = {end: bool(ground.spots[end].barred) for end in (run.from_, run.to)}
            for k in range(1, steps):
                clear = (not barred[run.from_] or k * 50 >= 150) and (
                    not barred[run.to] or run.length_mm - k * 50 >= 150
                )
                if clear and run.length_mm > 300.0:
                    allowed.append(f"{run.id}@{k}")

    mm: dict[str, dict[str, float]] = {}
    for a in allowed:
        paths = nx.single_source_dijkstra_path(graph, a, weight="weighed")
        mm[a] = {b: 50.0 * (len(path) - 1) for b, path in paths.items()}
    place = {part.id: part.place for part in job.parts}
    pulls = {"S1": [], "S2": []}
    joined = 0.0
    for wire in job.wires:
        one, other = wire.from_.split(".")[0], wire.to.split(".")[0]
        if one in pulls:
            joined += wire.size_mm2
        else:
            pulls[other].append((wire.size_mm2, place[one]))
    alone = {n: {a: sum(size * mm[a][end] for size, end in row) for a in allowed} for n, row in pulls.items()}
    best = min(alone["S1"][a] + alone["S2"][b] + joined * mm[a][b] for a, b in product(allowed, allowed))
    return best * G_PER_MM3


@pytest.mark.parametrize("seed", range(6))
def test_no_pair_of_spots_takes_less_than_what_is_chosen(seed):
    job = random_job(seed)
    found = placed(job)
    where = {name: one.best for name, one in found.items()}
    joined = [wire for wire in job.wires if wire.from_.startswith("S")]
    both = found["S1"].best_g + found["S2"].best_g
    # the wire that joins them stands in both sums
    if joined:
        alone = placed(replace(job, wires=tuple(wire for wire in job.wires if wire not in joined)))
        assert both >= alone["S1"].best_g + alone["S2"].best_g
        way = ways_through(splice_ground(job).runs, [(where["S1"].node, (), where["S2"].node)])
        both -= next(iter(way.values())).along_mm * joined[0].size_mm2 * G_PER_MM3
    assert all(one.is_proved for one in found.values())
    assert both == pytest.approx(least_by_trying(job), rel=1e-6)


# ------------------------------------------------------------------------ RTE-10


def told(job: Job) -> list[tuple[str, tuple[str, ...]]]:
    return [(one.severity, one.at) for one in route_findings(job, routes(job)) if one.rule == "RTE-10"]


def test_a_splice_at_a_place_hotter_than_its_sleeve_stands_is_a_note():
    wires = [to_splice(f"W{n}", name, number=n) for n, name in enumerate("abc", 1)]
    assert told(loom(STAR, wires, [splice()], [{"id": "m", "ambient_c": "90"}])) == [("note", ("S1",))]


def test_a_splice_that_is_kept_or_lies_where_it_may_is_not_told():
    wires = [to_splice(f"W{n}", name, number=n) for n, name in enumerate("abc", 1)]
    assert told(loom(STAR, wires, [splice()], [{"id": "m", "ambient_c": "85"}])) == []
    assert told(loom(STAR, wires, [splice(fitted="kept")], [{"id": "m", "ambient_c": "90"}])) == []


def test_rte_10_can_be_waived():
    wires = [to_splice(f"W{n}", name, number=n) for n, name in enumerate("abc", 1)]
    waived = [{"rule": "RTE-10", "point": "S1", "reason": "a ceramic one"}]
    job = loom(STAR, wires, [splice()], [{"id": "m", "ambient_c": "90"}], waived=waived)
    assert [one for one in route_notes(job, routes(job)) if one.rule == "RTE-10"] == []
