"""The same job gets the same pins and ways out in every process: nothing hangs on the order of a set."""

from __future__ import annotations

import os
import subprocess
import sys

from tests.shape.source import ROOT

_ASK = """
from random import Random
from loomwright.allocation import ways_out
from loomwright.allocation.allocated import puzzle_of
from loomwright.allocation.ground import ground_of
from loomwright.allocation.placing import _Asked
from loomwright.tables.kinds import load_kinds
from tests.allocation.pin_jobs import sized_job

ground = ground_of(sized_job(Random(1), 40, 44, short="injector", by=5, room=1.1), load_kinds())
for puzzle, whole in ((puzzle_of(ground), False), (ways_out._Wider.of(ground).puzzle, True)):
    asked = _Asked.of(puzzle, (), whole=whole)
    print(asked.model.proto, [asked.terms(goal) for goal in puzzle.goals])
"""


def _asked(seed: str) -> str:
    told = subprocess.run(
        [sys.executable, "-c", _ASK],
        env={**os.environ, "PYTHONHASHSEED": seed},
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    return told.stdout


def test_what_the_solver_is_asked_is_the_same_in_every_process():
    first, other = _asked("1"), _asked("2")
    assert len(first) > 10_000
    assert first == other
