"""How long does a check of the demonstration car take in a process of its own, and how much memory?"""

from __future__ import annotations

import json
import resource
import subprocess
import sys
import time

import pytest

BAR_S = 60.0
BAR_GB = 1.0
_KB_PER_GB = 1024.0 * 1024.0


def test_check_of_the_demo_in_a_fresh_process(benchmark, capsys: pytest.CaptureFixture[str]) -> None:  # type: ignore[no-untyped-def]
    taken_s: list[float] = []
    said: list[str] = []

    def check() -> None:
        begun = time.perf_counter()
        command = [sys.executable, "-m", "loomwright", "check", "van-as-drawn", "--json"]
        ran = subprocess.run(command, capture_output=True, text=True, check=False)
        taken_s.append(time.perf_counter() - begun)
        assert ran.returncode == 1, ran.stderr
        said.append(ran.stdout)

    benchmark.pedantic(check, rounds=1)
    # the largest child so far; this test starts no other
    peak_gb = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / _KB_PER_GB
    answer = json.loads(said[0])
    with capsys.disabled():
        print(
            f"\ncheck: {taken_s[0]:.1f} s (bar {BAR_S:.0f} s), {peak_gb:.2f} GB (bar {BAR_GB:.0f} GB), "
            f"{answer['states_searched']} states settled by solving {answer['solved']}, "
            f"{len(answer['findings'])} findings"
        )
    assert answer["findings"], "the van as drawn has mistakes"
    assert taken_s[0] < BAR_S
    assert peak_gb < BAR_GB
