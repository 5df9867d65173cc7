"""How fast is one state, beside a circuit simulator on the same netlist in the same run?

Two hundred random states of the demonstration car, one by one, each from relays at rest with all its passes, against
`ngspice -b` on the netlist of the state with relays as they lie. Run by hand (`make bench`): the machine decides.
"""

from __future__ import annotations

import shutil
import statistics
import subprocess
import time
from itertools import islice
from pathlib import Path

import pytest

from loomwright.writers.netlist import netlist
from tests.outside.ngspice.cars import demo, devices_of, possible_states, settled

STATES = 200
BESIDE = 25
BAR = 50.0
AIM = 200.0


def _seconds(command: list[str]) -> float:
    begun = time.perf_counter()
    subprocess.run(command, capture_output=True, check=False)
    return time.perf_counter() - begun


def test_one_state_beside_ngspice(benchmark, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:  # type: ignore[no-untyped-def]
    ngspice = shutil.which("ngspice")
    if ngspice is None:
        pytest.skip("ngspice is not on this machine")
    compiled = demo()
    states = list(islice(possible_states(compiled, seed=1), STATES))
    ours_s: list[float] = []

    def all_states() -> None:
        for state, _ in states:
            begun = time.perf_counter()
            settled(compiled, state)
            ours_s.append(time.perf_counter() - begun)

    benchmark.pedantic(all_states, rounds=5, warmup_rounds=1)
    theirs_s: list[float] = []
    path = tmp_path / "car.cir"
    for state, batch in states[:: STATES // BESIDE]:
        path.write_text(netlist(compiled.network, state, devices=devices_of(compiled, batch)).text, encoding="utf-8")
        theirs_s.append(_seconds([ngspice, "-b", str(path)]))
    path.write_text("* nothing\nR1 1 0 1\nV1 1 0 1\n.op\n.end\n", encoding="utf-8")
    starting_s = statistics.median(_seconds([ngspice, "-b", str(path)]) for _ in range(BESIDE))
    ours, theirs = statistics.median(ours_s), statistics.median(theirs_s)
    ratio = theirs / ours
    with capsys.disabled():
        print(
            f"\none state: ours {ours * 1e3:.3f} ms (slowest {max(ours_s) * 1e3:.2f} ms), "
            f"ngspice -b {theirs * 1e3:.1f} ms: {ratio:.0f} times (bar {BAR:.0f}, aim {AIM:.0f}); "
            f"without its start of {starting_s * 1e3:.1f} ms: {(theirs - starting_s) / ours:.0f} times"
        )
    benchmark.extra_info.update(ours_ms=ours * 1e3, ngspice_ms=theirs * 1e3, ratio=ratio)
    assert ratio >= BAR
