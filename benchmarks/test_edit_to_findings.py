"""How long from an edit of the demonstration van to its findings, in one warm process?

Three kinds of edits are told apart: those that move no current (a colour, a name, a requirement, whatever leaves the
network as it was), those behind a branch fuse, and those that touch what lies between the sources and the branch fuses.
Two measurements: 500 edits each made on the demonstration as it is and taken back again, which is what the bars are
about; those that move no current come first, since they are asked of the demonstration's own states, of which the next
network's take the room. And 100 one after the other, which leave a van with some eighty findings: no bar, but what is
taken over again and again must still be right at the end.
"""

from __future__ import annotations

import gc
import time
from collections.abc import Iterator
from contextlib import contextmanager

import pytest

from loomwright.car import Car
from loomwright.examples.shelf import example_folder
from loomwright.job.job import Job
from loomwright.pages.checking import MADE_BETWEEN_LOOKS
from loomwright.sheets.csv_folder import open_folder
from loomwright.sizing.protection import protection_ground
from tests.car.seeded_edits import edited, single_edits

EDITS = 500
IN_A_ROW = 100
MOVE_NOTHING = ("requirement", "colour", "name")
BARS_S = {"moves no current": 0.15, "behind a branch fuse": 0.15, "sources to branch fuses": 1.0}
_MS = 1000.0

Spent = tuple[float, float]
"""By the clock, and of the processors. [s, s]"""


def _kind(before: Car, after: Car, row: str) -> str:
    if after.compiled is before.compiled:
        return "moves no current"
    # a form taken back may have moved anything
    unfused = not row or any(row in protection_ground(car.scene).fused.unfused for car in (before, after))
    return "sources to branch fuses" if unfused else "behind a branch fuse"


def _share(times_s: list[float], share: float) -> float:
    return sorted(times_s)[min(len(times_s) - 1, int(share * len(times_s)))]


@contextmanager
def _warm(van: Job) -> Iterator[Car]:
    """The van checked, what nobody holds looked for as in the desk's process: seldom, and not in what is loaded."""
    now = Car.begun(van)
    now.check()
    gc.collect()
    gc.freeze()
    looks = gc.get_threshold()
    gc.set_threshold(MADE_BETWEEN_LOOKS)
    try:
        yield now
    finally:
        gc.set_threshold(*looks)
        gc.unfreeze()


def _timed(now: Car, job: Job) -> tuple[Car, Spent]:
    begun_s, begun_cpu_s = time.perf_counter(), time.process_time()
    after = now.after(job)
    after.findings()
    return after, (time.perf_counter() - begun_s, time.process_time() - begun_cpu_s)


def _told(taken: dict[str, list[Spent]]) -> None:
    for kind, times in taken.items():
        walls, cpus = [wall for wall, _ in times], [cpu for _, cpu in times]
        if times:
            print(
                f"\n{kind}: {len(times)} edits, p50 {_share(walls, 0.5) * _MS:.0f} ms, p95 "
                f"{_share(walls, 0.95) * _MS:.0f} ms (bar {BARS_S[kind] * _MS:.0f} ms); of the processors p50 "
                f"{_share(cpus, 0.5) * _MS:.0f} ms, p95 {_share(cpus, 0.95) * _MS:.0f} ms",
                end="",
            )


@pytest.mark.xfail(
    strict=True,
    reason="where the network changes every planned state is solved again and every rule asked anew: of the processors "
    "about 0.55 s, half of it solving, half what the rules ask and read; every state feels every load through the "
    "supply, so that no answer of a state stands to the last digit",
)
def test_five_hundred_edits_of_the_van(benchmark, capsys: pytest.CaptureFixture[str]) -> None:  # type: ignore[no-untyped-def]
    van = open_folder(example_folder("van"))
    taken: dict[str, list[Spent]] = {kind: [] for kind in BARS_S}

    edits = sorted(single_edits(van, EDITS, 1), key=lambda edit: edit[0] not in MOVE_NOTHING)

    def all_edits() -> None:
        with _warm(van) as now:
            for _, row, job in edits:
                after, spent = _timed(now, job)
                taken[_kind(now, after, row)].append(spent)
                now, _ = _timed(after, van)

    benchmark.pedantic(all_edits, rounds=1)
    with capsys.disabled():
        _told(taken)
    for kind, times in taken.items():
        assert times, f"no edit that {kind}"
        assert _share([wall for wall, _ in times], 0.95) <= BARS_S[kind], kind


def test_edits_one_after_the_other(benchmark, capsys: pytest.CaptureFixture[str]) -> None:  # type: ignore[no-untyped-def]
    van = open_folder(example_folder("van"))
    taken: dict[str, list[Spent]] = {kind: [] for kind in BARS_S}

    def all_edits() -> Car:
        with _warm(van) as now:
            for _, row, job in edited(van, IN_A_ROW, 1):
                after, spent = _timed(now, job)
                taken[_kind(now, after, row)].append(spent)
                now = after
            return now

    last = benchmark.pedantic(all_edits, rounds=1)
    with capsys.disabled():
        _told(taken)
    assert last.findings() == Car(last.job).findings()
