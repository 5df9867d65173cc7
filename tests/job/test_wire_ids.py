"""The next wire is numbered on from the highest there is."""

from __future__ import annotations

from itertools import islice

import pytest

from loomwright.job.job import Job
from loomwright.job.rows import Part, Wire
from loomwright.job.wire_ids import next_wire_ids


@pytest.mark.parametrize(
    ("wires", "following"),
    [
        ([], ["W101", "W102"]),
        (["earth", "W_F"], ["W101", "W102"]),
        (["W9", "W12", "earth"], ["W13", "W15"]),
        (["7", "30"], ["31", "32"]),
    ],
)
def test_wires_are_numbered_on_from_the_highest_and_no_part_is_called_the_same(wires, following):
    job = Job(parts=(Part(id="W14", kind="lamp"),), wires=tuple(Wire(id=name) for name in wires))
    assert list(islice(next_wire_ids(job), 2)) == following
