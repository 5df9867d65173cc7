"""Workbooks with anything done to them: a job, or a refusal that says where; nothing else, and never slowly."""

from __future__ import annotations

import time
import warnings
from pathlib import Path

import pytest

from loomwright.job.job import Job
from loomwright.refusals import BadDocument
from loomwright.sheets.workbook import open_workbook
from loomwright.sheets.workbook_writing import workbook_bytes
from tests.sheets.mutated_workbooks import mutated, sound_workbooks

LONGEST_S = 5.0
BLOCK = 50


def tried(seed: int, path: Path) -> str:
    """What came of one workbook: `job` or `refused`. Every third job goes out and comes in again, too."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the other program's, about what was done to the workbook
        path.write_bytes(mutated(seed))
    begun = time.process_time()
    try:
        job = open_workbook(path)
    except BadDocument as refusal:
        assert refusal.problems
        for problem in refusal.problems:
            assert problem.allowed
            assert problem.mend
            assert problem.sheet or path.name in problem.found or problem.column
            assert str(problem.says)
        return "refused"
    finally:
        assert time.process_time() - begun < LONGEST_S
    assert isinstance(job, Job)
    if seed % 3 == 0:
        path.write_bytes(workbook_bytes(job))
        assert open_workbook(path) == job
    return "job"


@pytest.mark.parametrize("block", range(5))
def test_a_job_or_a_refusal_with_places(block, tmp_path):
    path = tmp_path / "van.xlsx"
    came = [tried(seed, path) for seed in range(block * BLOCK, (block + 1) * BLOCK)]
    assert "refused" in came
    assert "job" in came


@pytest.mark.long
@pytest.mark.parametrize("block", range(100))
def test_a_job_or_a_refusal_with_places_many_times(block, tmp_path):
    path = tmp_path / "van.xlsx"
    came = [tried(seed, path) for seed in range(1000 + block * BLOCK, 1000 + (block + 1) * BLOCK)]
    assert len(came) == BLOCK


def test_the_workbooks_that_are_changed_are_sound(tmp_path):
    path = tmp_path / "van.xlsx"
    jobs = []
    for data in sound_workbooks():
        path.write_bytes(data)
        jobs.append(open_workbook(path))
    assert jobs[0] == jobs[1] == jobs[2]


def test_a_seed_gives_the_same_workbook_every_time():
    assert [mutated(seed) for seed in range(3, 7)] == [mutated(seed) for seed in range(3, 7)]
