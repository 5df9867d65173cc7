"""How fast are the ways of a coach's wires, beside a search of its own for each wire in the same run?

Ten thousand wires between three hundred places. Beside: `networkx.dijkstra_path` from end to end, once a wire, on the
same runs, for a share of the wires. Run by hand (`make bench`): the machine decides.
"""

from __future__ import annotations

import random
import time

import networkx as nx
import pytest

from loomwright.job.job import Job
from loomwright.job.rows import Part, Place, Run, Wire
from loomwright.routes.decisions import length_decisions
from loomwright.routes.wire_routes import wire_routes
from loomwright.tables.kinds import load_kinds

WIRES = 10_000
PLACES = 300
EXTRA_RUNS = 160
BESIDE = 500
BAR_S = 10.0
BAR = 4.0


def coach(seed: int) -> Job:
    """A coach's worth of wires: a tree of runs with some ways round, parts at every place, a pair in ten twisted."""
    dice = random.Random(seed)
    names = [f"p{number}" for number in range(PLACES)]
    ends = [(names[number], names[dice.randrange(max(0, number - 8), number)]) for number in range(1, PLACES)]
    ends += [tuple(dice.sample(names, 2)) for _ in range(EXTRA_RUNS)]
    runs = tuple(
        Run(id=f"R{number}", from_=a, to=b, length_mm=float(dice.randrange(100, 3000)))
        for number, (a, b) in enumerate(ends)
    )
    parts = tuple(Part(id=f"L{number}", kind="lamp", place=name) for number, name in enumerate(names))
    wires = []
    for number in range(WIRES):
        a, b = dice.sample(range(PLACES), 2)
        pair = f"T{number // 2}" if number % 20 < 2 else ""
        if number % 20 == 1:
            a, b = (int(end.removeprefix("L").split(".")[0]) for end in (wires[-1].from_, wires[-1].to))
        wires.append(Wire(id=f"W{number}", from_=f"L{a}.1", to=f"L{b}.2", size_mm2=1.0, twist=pair))
    return Job(places=tuple(Place(id=name) for name in names), runs=runs, parts=parts, wires=tuple(wires))


def test_the_ways_of_a_coach_beside_a_search_for_each_wire(benchmark, capsys: pytest.CaptureFixture[str]) -> None:  # type: ignore[no-untyped-def]
    job, kinds = coach(seed=1), load_kinds()
    ours_s: list[float] = []

    def all_wires() -> None:
        begun = time.process_time()
        wire_routes(job, kinds)
        ours_s.append(time.process_time() - begun)

    benchmark.pedantic(all_wires, rounds=3, warmup_rounds=1)
    routes = wire_routes(job, kinds)
    begun = time.process_time()
    decisions, _ = length_decisions(job, kinds, routes)
    decided_s = time.process_time() - begun

    graph = nx.Graph()
    for run in job.runs:
        there = graph.get_edge_data(run.from_, run.to, {"weight": float("inf")})["weight"]
        graph.add_edge(run.from_, run.to, weight=min(there, run.length_mm))
    place = {part.id: part.place for part in job.parts}
    ends = [(place[wire.from_.split(".")[0]], place[wire.to.split(".")[0]]) for wire in job.wires[:BESIDE]]
    begun = time.process_time()
    lengths_mm = [nx.dijkstra_path_length(graph, a, b) for a, b in ends]
    theirs_s = (time.process_time() - begun) * WIRES / BESIDE
    ratio = theirs_s / min(ours_s)
    with capsys.disabled():
        print(
            f"\n{WIRES} wires: ours {min(ours_s):.2f} s (bar {BAR_S:.0f} s), a search for each wire {theirs_s:.1f} s: "
            f"{ratio:.0f} times (bar {BAR:.0f}); every length decided with its reasons in {decided_s:.1f} s more"
        )
    benchmark.extra_info.update(ours_s=min(ours_s), theirs_s=theirs_s, ratio=ratio, decided_s=decided_s)
    assert [routes.wires[wire.id].along_mm for wire in job.wires[:BESIDE]] == pytest.approx(lengths_mm)
    assert len(decisions) == WIRES
    assert min(ours_s) < BAR_S
    assert ratio >= BAR
