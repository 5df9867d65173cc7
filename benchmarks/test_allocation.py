"""How long do pins take: 80 needs on 90, all proved; why not all fit; five ways out; 500 on 600?

The jobs have two controllers, four banks on each, wires of their own lengths, options and wishes. Processor time is
told beside wall time, since others may use the machine.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from random import Random

import pytest

from loomwright.allocation.allocated import allocate, puzzle_of
from loomwright.allocation.clash_words import conflicts_of
from loomwright.allocation.ground import ground_of
from loomwright.allocation.placing import place
from loomwright.allocation.ways_out import ways_out
from loomwright.job.job import Job
from loomwright.tables.kinds import load_kinds
from tests.allocation.pin_jobs import sized_job

KINDS = load_kinds()
BAR_S, BAR_CONFLICT_S, BAR_WAYS_S, BAR_LARGE_S = 3.0, 2.0, 5.0, 60.0


def timed(work: Callable[[], object]) -> tuple[float, float, object]:
    """Processor and wall seconds, and what came of it. [s]"""
    begun, cpu = time.perf_counter(), time.process_time()
    found = work()
    return time.process_time() - cpu, time.perf_counter() - begun, found


def three_short(seed: int) -> Job:
    """77 needs and as many injector drivers asked for beside as leave three out."""
    for more in range(3, 30):
        job = sized_job(Random(seed), 77, 90, short="injector", by=more, room=1.1)
        found = place(puzzle_of(ground_of(job, KINDS)))
        if found is not None and len(found.left_out) == 3:
            return job
    raise AssertionError("no such job")


@pytest.mark.parametrize("seed", [0, 1, 2])
def test_eighty_needs_on_ninety_pins(seed: int, capsys: pytest.CaptureFixture[str]) -> None:
    job = sized_job(Random(seed), 80, 90)
    allocate(sized_job(Random(9), 5, 8), KINDS)  # loads the solver
    cpu_s, wall_s, found = timed(lambda: allocate(job, KINDS))
    with capsys.disabled():
        print(f"\n80 on 90: {cpu_s:.2f} s of processor, {wall_s:.2f} s by the clock (bar {BAR_S:.0f} s)")
    assert found.status == "fits"  # type: ignore[attr-defined]
    assert found.proved  # type: ignore[attr-defined]
    assert min(cpu_s, wall_s) < BAR_S


@pytest.mark.parametrize("seed", [0, 1])
def test_why_three_do_not_fit_and_five_ways_out(seed: int, capsys: pytest.CaptureFixture[str]) -> None:
    ground = ground_of(three_short(seed), KINDS)
    puzzle = puzzle_of(ground)
    found = place(puzzle)
    assert found is not None
    cpu_s, wall_s, conflicts = timed(lambda: conflicts_of(ground, puzzle, found.left_out[:1]))
    ways_cpu_s, ways_wall_s, ways = timed(lambda: ways_out(ground, 5))
    with capsys.disabled():
        print(
            f"\nwhy not: {cpu_s:.2f} s of processor, {wall_s:.2f} s by the clock (bar {BAR_CONFLICT_S:.0f} s); "
            f"five ways out: {ways_cpu_s:.2f} s, {ways_wall_s:.2f} s (bar {BAR_WAYS_S:.0f} s)"
        )
    assert len(conflicts) == 1  # type: ignore[arg-type]
    assert len(ways) == 5  # type: ignore[arg-type]
    assert min(cpu_s, wall_s) < BAR_CONFLICT_S
    assert min(ways_cpu_s, ways_wall_s) < BAR_WAYS_S


def test_five_hundred_needs_on_six_hundred_pins(capsys: pytest.CaptureFixture[str]) -> None:
    job = sized_job(Random(0), 500, 600, room=1.1)
    told: list[tuple[int, int]] = []
    cpu_s, wall_s, found = timed(lambda: allocate(job, KINDS, lambda done, of: told.append((done, of))))
    with capsys.disabled():
        print(f"\n500 on 600: {cpu_s:.1f} s of processor, {wall_s:.1f} s by the clock (bar {BAR_LARGE_S:.0f} s)")
    assert found.proved  # type: ignore[attr-defined]
    assert len(told) > 20
    assert min(cpu_s, wall_s) < BAR_LARGE_S
