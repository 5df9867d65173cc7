"""The shortest way along the runs: against every way there is, with ties, things to pass, and nothing in between."""

from __future__ import annotations

import random
from itertools import pairwise

import networkx as nx
import pytest

from loomwright.job.job import Job
from loomwright.job.rows import Place, Run
from loomwright.routes.run_map import run_map
from loomwright.routes.ways import Way, shortest_ways, ways_through
from tests.routes.looms import run_rows


def the_map(*lines: str):
    """A map of runs, each `R1 a b 300`."""
    rows = [
        Run(id=row["id"], from_=row["from"], to=row["to"], length_mm=float(row["length_mm"])) for row in run_rows(lines)
    ]
    return run_map(Job(runs=tuple(rows)))


def way(runs, a: str, b: str, *via: str) -> Way | None:
    """One way."""
    return ways_through(runs, [(a, via, b)]).get((a, via, b))


def random_runs(seed: int, places: int, runs: int) -> list[Run]:
    """Runs between random places, parallel ones among them, with so few lengths that ties are common."""
    dice = random.Random(seed)
    names = [f"p{number}" for number in range(places)]
    found = []
    for number in range(runs):
        a, b = dice.sample(names, 2)
        found.append(Run(id=f"R{number}", from_=a, to=b, length_mm=float(dice.choice((100, 200, 300)))))
    return found


def every_way(runs: list[Run], a: str, b: str) -> list[tuple[float, int, list[int], tuple[str, ...]]]:
    """Every way that passes no place twice: (length, number of runs, numbers of the runs, runs)."""
    graph = nx.MultiGraph()
    graph.add_nodes_from((a, b))
    for run in runs:
        graph.add_edge(run.from_, run.to, key=run.id)
    length_mm = {run.id: run.length_mm for run in runs}
    ids = [tuple(edge[2] for edge in path) for path in nx.all_simple_edge_paths(graph, a, b)]
    return [(sum(length_mm[name] for name in row), len(row), [int(name[1:]) for name in row], row) for row in ids]


@pytest.mark.parametrize("seed", range(40))
def test_no_other_way_is_shorter_and_ties_go_to_fewer_runs_then_to_the_first_run(seed):
    runs = random_runs(seed, places=6, runs=9)
    found = run_map(Job(runs=tuple(runs)))
    for a, b in [(f"p{i}", f"p{j}") for i in range(6) for j in range(i + 1, 6)]:
        # a way is worked out from the place that comes first by its id
        everyone = every_way(runs, a, b)
        ours = way(found, a, b)
        if not everyone:
            assert ours is None
            continue
        best = min(everyone)
        assert ours is not None
        assert (ours.along_mm, ours.runs) == (best[0], best[3])


@pytest.mark.parametrize("seed", range(40))
def test_a_way_is_the_same_from_either_end(seed):
    found = run_map(Job(runs=tuple(random_runs(seed, places=7, runs=11))))
    ways = shortest_ways(found, [(f"p{i}", f"p{j}") for i in range(7) for j in range(7)])
    for (a, b), there in ways.items():
        back = ways[b, a]
        assert (there.runs, there.places) == (back.runs[::-1], back.places[::-1])


@pytest.mark.parametrize("seed", range(30))
def test_what_must_be_passed_is_passed_in_order_by_the_shortest_way_of_all(seed):
    # beside: a graph with one storey for each thing passed, in which only the thing itself leads up
    dice = random.Random(seed)
    runs = random_runs(seed, places=6, runs=10)
    found = run_map(Job(runs=tuple(runs)))
    via = tuple(dice.choice(("p1", "p2", "p3", runs[0].id, runs[4].id, runs[7].id)) for _ in range(3))
    graph = nx.Graph()
    for storey in range(len(via) + 1):
        for run in runs:
            here = graph.get_edge_data((storey, run.from_), (storey, run.to), {"weight": 1e9})["weight"]
            graph.add_edge((storey, run.from_), (storey, run.to), weight=min(here, run.length_mm))
    for storey, name in enumerate(via):
        run = next((run for run in runs if run.id == name), None)
        up = [(name, name, 0.0)] if run is None else []
        up += [] if run is None else [(run.from_, run.to, run.length_mm), (run.to, run.from_, run.length_mm)]
        for one, other, length_mm in up:
            graph.add_edge((storey, one), (storey + 1, other), weight=length_mm)
    ours = way(found, "p0", "p5", *via)
    # every step up is one way only
    directed = nx.DiGraph()
    for one, other, facts in graph.edges(data=True):
        for a, b in ((one, other), (other, one)):
            if a[0] <= b[0]:
                directed.add_edge(a, b, weight=facts["weight"])
    try:
        beside_mm = nx.dijkstra_path_length(directed, (0, "p0"), (len(via), "p5"))
    except (nx.NetworkXNoPath, nx.NodeNotFound):
        assert ours is None
        return
    assert ours is not None
    assert ours.along_mm == pytest.approx(beside_mm)
    assert passes(ours, via)


def passes(ours: Way, via: tuple[str, ...]) -> bool:
    """Whether a way passes things in order: places and runs by turns, each thing found after the one before."""
    steps = [ours.places[0]]
    for run, place in zip(ours.runs, ours.places[1:], strict=True):
        steps += [run, place]
    at = 0
    for before, name in pairwise((None, *via)):
        start = at if before is None or name.startswith("p") or before != name else at + 1
        if name not in steps[start:]:
            return False
        at = steps.index(name, start)
    return True


def test_two_runs_and_the_straight_one():
    runs = the_map("R1 a b 300", "R2 b c 200", "R3 a c 600")
    found = way(runs, "a", "c")
    assert (found.runs, found.places, found.along_mm) == (("R1", "R2"), ("a", "b", "c"), 500.0)


def test_of_equal_ways_the_one_of_fewer_runs_is_taken():
    runs = the_map("R1 a b 300", "R2 b c 300", "R3 a c 600")
    assert way(runs, "a", "c").runs == ("R3",)


def test_of_equal_ways_of_as_many_runs_the_first_by_id_is_taken_and_two_stands_before_ten():
    runs = the_map("R10 a b 300", "R1 b d 300", "R2 a c 300", "R11 c d 300")
    assert way(runs, "a", "d").runs == ("R2", "R11")
    assert way(runs, "d", "a").runs == ("R11", "R2")


def test_of_runs_side_by_side_the_shorter_is_taken_and_of_equal_ones_the_first():
    assert way(the_map("R1 a b 300", "R2 a b 200"), "a", "b").runs == ("R2",)
    assert way(the_map("R2 b a 200", "R1 a b 200"), "a", "b").runs == ("R1",)


def test_lengths_that_add_up_to_the_same_are_equal_whatever_the_binary_dust():
    # the same three lengths the other way round; as floats the sums differ in the last digit
    assert (100.1 + 100.2) + 100.5 > (100.5 + 100.2) + 100.1
    runs = the_map("R1 a b 100.1", "R2 b c 100.2", "R3 c z 100.5", "R4 a d 100.5", "R5 d e 100.2", "R6 e z 100.1")
    assert way(runs, "a", "z").runs == ("R1", "R2", "R3")


def test_places_that_no_runs_join_have_no_way():
    runs = the_map("R1 a b 300", "R2 c d 200")
    assert way(runs, "a", "d") is None
    assert way(runs, "a", "nowhere") is None


def test_a_place_to_itself_is_no_way_at_all():
    runs = the_map("R1 a b 300")
    assert way(runs, "a", "a") == Way(runs=(), places=("a",), hundredths=0, ranks=(), weighed=0)
    assert way(runs, "elsewhere", "elsewhere").runs == ()


def test_a_run_to_be_passed_is_followed_in_the_direction_that_is_shorter():
    runs = the_map("R1 a b 300", "R2 b c 200", "R3 c d 100")
    assert way(runs, "a", "d", "R2").runs == ("R1", "R2", "R3")
    assert way(runs, "d", "a", "R2").runs == ("R3", "R2", "R1")


def test_a_blind_end_that_must_be_passed_is_gone_out_to_and_back():
    runs = the_map("R1 a b 300", "R2 b c 200")
    found = way(runs, "a", "b", "c")
    assert (found.runs, found.along_mm) == (("R1", "R2", "R2"), 700.0)
    assert way(runs, "a", "a", "R1").runs == ("R1", "R1")


def test_the_order_of_what_must_be_passed_decides():
    runs = the_map("R1 a b 100", "R2 b c 100", "R3 c a 100")
    assert way(runs, "a", "a", "b", "c").runs == ("R1", "R2", "R3")
    assert way(runs, "a", "a", "c", "b").runs == ("R3", "R2", "R1")


def test_what_must_be_passed_and_cannot_be_reached_leaves_no_way():
    runs = the_map("R1 a b 300", "R2 c d 200")
    assert way(runs, "a", "b", "c") is None
    assert way(runs, "a", "b", "R2") is None
    assert way(runs, "a", "b", "R9") is None


def test_a_ring_back_to_its_own_place_is_followed_only_where_it_is_asked_for():
    runs = the_map("R1 a a 50", "R2 a b 300")
    assert way(runs, "a", "b").runs == ("R2",)
    assert way(runs, "a", "b", "R1").along_mm == 350.0


def test_two_places_at_one_spot_are_joined_by_a_run_of_no_length():
    spots = {"a": 0.0, "b": 0.0, "c": 700.0}
    places = tuple(Place(id=name, x_mm=x_mm, y_mm=0.0, z_mm=0.0) for name, x_mm in spots.items())
    runs = run_map(Job(places=places, runs=(Run(id="R1", from_="a", to="b"), Run(id="R2", from_="b", to="c"))))
    assert (way(runs, "a", "b").runs, way(runs, "a", "b").along_mm) == (("R1",), 0.0)
    assert (way(runs, "a", "c").runs, way(runs, "a", "c").along_mm) == (("R1", "R2"), 700.0)
