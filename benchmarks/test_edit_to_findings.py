"""How long from an edit of the demonstration van to its findings, in one warm process?

Seeded edits, one after the other, each checked by the car after the one before. Three kinds are told apart: those that
move no current (a colour, a name, a requirement, whatever leaves the network as it was), those behind a branch fuse,
and those that touch what lies between the sources and the branch fuses.
"""

from __future__ import annotations

import time

import pytest

from loomwright.car import Car
from loomwright.examples.shelf import example_folder
from loomwright.sheets.csv_folder import open_folder
from loomwright.sizing.protection import protection_ground
from tests.car.seeded_edits import edited

EDITS = 500
BARS_S = {"moves no current": 0.15, "behind a branch fuse": 0.15, "sources to branch fuses": 1.0}
_MS = 1000.0


def _kind(before: Car, after: Car, row: str) -> str:
    if after.compiled is before.compiled:
        return "moves no current"
    for car in (after, before):
        fused = protection_ground(car.scene).fused
        if row in fused.fuses or row in fused.fuses_of:
            return "behind a branch fuse"
    wires = {wire.id for wire in (*before.job.wires, *after.job.wires)}
    return "sources to branch fuses" if row in wires or not row else "behind a branch fuse"


def _share(times_s: list[float], share: float) -> float:
    return sorted(times_s)[min(len(times_s) - 1, int(share * len(times_s)))]


@pytest.mark.xfail(
    strict=True,
    reason="where the network changes every planned state is solved again and every rule asked anew: of the processors "
    "about 2 s on the van as it is, half of it solving, and 12 s once some thirty edits have left it with eighty "
    "findings; every state feels every load through the supply, so that no answer of a state stands to the last digit. "
    "A requirement takes about 0.2 s, most of it the digest of the kept sizes and requirements asked by themselves",
)
def test_five_hundred_edits_of_the_van(benchmark, capsys: pytest.CaptureFixture[str]) -> None:  # type: ignore[no-untyped-def]
    van = open_folder(example_folder("van"))
    taken: dict[str, list[tuple[float, float]]] = {kind: [] for kind in BARS_S}

    def all_edits() -> None:
        now = Car.begun(van)
        now.check()
        for _, row, job in edited(van, EDITS, 1):
            begun_s, begun_cpu_s = time.perf_counter(), time.process_time()
            after = now.after(job)
            after.findings()
            spent = (time.perf_counter() - begun_s, time.process_time() - begun_cpu_s)
            taken[_kind(now, after, row)].append(spent)
            now = after

    benchmark.pedantic(all_edits, rounds=1)
    with capsys.disabled():
        for kind, times in taken.items():
            walls, cpus = [wall for wall, _ in times], [cpu for _, cpu in times]
            if times:
                print(
                    f"\n{kind}: {len(times)} edits, p50 {_share(walls, 0.5) * _MS:.0f} ms, p95 "
                    f"{_share(walls, 0.95) * _MS:.0f} ms (bar {BARS_S[kind] * _MS:.0f} ms); of the processors p50 "
                    f"{_share(cpus, 0.5) * _MS:.0f} ms, p95 {_share(cpus, 0.95) * _MS:.0f} ms",
                    end="",
                )
    for kind, times in taken.items():
        assert times, f"no edit that {kind}"
        assert _share([wall for wall, _ in times], 0.95) <= BARS_S[kind], kind
