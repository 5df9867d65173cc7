"""How long does the handover of the demonstration van take, everything in it worked out anew in a warm process?

Checked, drawn, planned and set from the sheets: findings, circuit drawings, the pack, the test plan, the first start.
By the clock, with processor time beside it, since the typesetter works beside.
"""

from __future__ import annotations

import time

import pytest

from loomwright.examples.shelf import example_folder
from loomwright.pages.handover_files import HandoverAsked, handover_archive, handover_files
from loomwright.sheets.csv_folder import open_folder

BAR_S = 10.0


def test_the_handover_of_the_van(benchmark, capsys: pytest.CaptureFixture[str]) -> None:  # type: ignore[no-untyped-def]
    def made(name: str) -> bytes:
        return handover_archive(handover_files(HandoverAsked(job=open_folder(example_folder(name)), kept={}, files={})))

    made("tourer")  # loads what is compiled
    begun, cpu = time.perf_counter(), time.process_time()
    data = benchmark.pedantic(lambda: made("van"), rounds=1)
    clock_s, cpu_s = time.perf_counter() - begun, time.process_time() - cpu
    with capsys.disabled():
        print(
            f"\nhandover of the van: {len(data) / 1e6:.1f} MB in {clock_s:.1f} s by the clock, {cpu_s:.1f} s of "
            f"processor (bar {BAR_S:g} s)"
        )
    assert clock_s < BAR_S
