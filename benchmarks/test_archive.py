"""How long do an archive and a JSON document of 5 000 wires take, read and checked, and written?"""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

import pytest

from loomwright.job.job import Job
from loomwright.job.reading import job_from_text
from loomwright.sheets.opening import open_job, write_job

ROWS = 5_000
READ_BAR_S = 5.0
WRITE_BAR_S = 2.0


def coach() -> Job:
    """A job of five thousand wires, from fuses to lamps, with half as many parts."""
    parts = [{"id": "B1", "kind": "battery", "place": "bay"}]
    parts += [
        {"id": f"F{n}", "kind": "fuse", "place": "bay", "settings": "rating_a=10; family=blade_c"}
        for n in range(ROWS // 4)
    ]
    parts += [{"id": f"L{n}", "kind": "lamp", "place": "rear", "name": f"lamp {n}"} for n in range(ROWS // 4)]
    wires = []
    for n in range(ROWS // 4):
        cells = {"size_mm2": "1.5", "colour": "wh/bu", "length_mm": "1.2 m", "notes": f"seat {n}, left"}
        ends = (("B1.+", f"F{n}.1"), (f"F{n}.2", f"L{n}.1"), (f"L{n}.2", "body"), (f"L{n}.1", f"F{n}.2"))
        wires += [{"id": f"W{n}_{k}", "from": one, "to": other, **cells} for k, (one, other) in enumerate(ends)]
    return job_from_text({"parts": parts, "wires": wires, "places": [{"id": "bay"}, {"id": "rear"}]})


def best_s(task: Callable[[], object], rounds: int = 3) -> float:
    """The least of a few timings."""
    taken_s = []
    for _ in range(rounds):
        begun = time.perf_counter()
        task()
        taken_s.append(time.perf_counter() - begun)
    return min(taken_s)


@pytest.mark.parametrize("ending", [".loomjob", ".json", ""])
def test_a_coach_of_5000_wires(benchmark, tmp_path: Path, capsys: pytest.CaptureFixture[str], ending: str) -> None:  # type: ignore[no-untyped-def]
    job = coach()
    path = tmp_path / f"coach{ending}"
    write_s = best_s(lambda: write_job(job, path))
    read_s = best_s(lambda: open_job(path))
    benchmark.pedantic(lambda: open_job(path), rounds=3)
    assert open_job(path) == job
    with capsys.disabled():
        print(
            f"\n{ending or 'folder'}: {len(job.wires)} wires read and checked in {read_s:.2f} s "
            f"(bar {READ_BAR_S:.0f} s), written in {write_s:.2f} s (bar {WRITE_BAR_S:.0f} s)"
        )
    benchmark.extra_info.update(read_s=read_s, write_s=write_s)
    assert read_s < READ_BAR_S
    assert write_s < WRITE_BAR_S
