"""A network that differs in figures alone from one that is compiled gets the very arrays it would get by itself."""

from __future__ import annotations

import numpy as np
import pytest

from loomwright.job.edits import drop_row, set_cell, set_setting
from loomwright.job.job import Job
from loomwright.network.arrays import Arrays
from loomwright.network.build import build_network
from loomwright.network.compiled import compile_network, recompiled
from loomwright.tables.kinds import load_kinds
from tests.states.small_jobs import car

EDITS = {
    "a longer wire": lambda job: set_cell(job, "wires", job.wires[-1].id, "length_mm", "3450"),
    "a larger fuse": lambda job: set_setting(job, _fuse(job), "rating_a", "30"),
    "a brighter lamp": lambda job: set_setting(job, "LA1", "watt", "60"),
    "a wire less": lambda job: drop_row(job, "wires", job.wires[-1].id),
}


def _fuse(job: Job) -> str:
    return next(part.id for part in job.parts if part.kind == "fuse")


def _flat(arrays: Arrays) -> list[object]:
    return [item for one in arrays for item in (one if isinstance(one, tuple) else (one,))]


@pytest.mark.parametrize("edit", EDITS)
def test_its_arrays_are_those_of_its_own(edit: str) -> None:
    job = car()
    new = EDITS[edit](job)
    before, after = (build_network(one, load_kinds()) for one in (job, new))
    assert before != after
    had, own = compile_network(before), compile_network(after)
    found = recompiled(had, after)
    assert found.network is after
    assert (found.node_of, found.elements_of, found.device_of) == (own.node_of, own.elements_of, own.device_of)
    for one, other in zip(_flat(found.arrays), _flat(own.arrays), strict=True):
        assert np.array_equal(one, other)
    # what was compiled before is as it was
    for one, other in zip(_flat(had.arrays), _flat(compile_network(before).arrays), strict=True):
        assert np.array_equal(one, other)
