"""Whatever the container, the same job; whatever is done to one, a job or the places, in bounded time and memory."""

from __future__ import annotations

import itertools
import resource
import time
from collections.abc import Callable
from pathlib import Path
from random import Random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from loomwright.job.job import Job
from loomwright.job.reading import job_from_text
from loomwright.sheets.archive import read_archive
from loomwright.sheets.json_document import job_from_json, json_bytes
from loomwright.sheets.opening import open_job, write_job
from tests.job.test_round_trip import jobs
from tests.sheets.containers import ENDINGS, csv_files, job_or_problems, rewritten, small_job
from tests.sheets.mutations import changed_archive, changed_json

MOST_S = 5.0
MOST_MB = 400


def through(job: Job, chain: tuple[str, ...], folder: Path) -> Job:
    """A job taken through containers, one after the other."""
    for number, ending in enumerate(chain):
        path = folder / f"step{number}{ending}"
        write_job(job, path)
        job = open_job(path)
    return job


@pytest.mark.parametrize("chain", [chain for count in (1, 2) for chain in itertools.product(ENDINGS, repeat=count)])
def test_a_job_with_odd_texts_comes_through_every_container(tmp_path, chain):
    job = small_job()
    found = through(job, chain, tmp_path)
    assert found == job
    assert csv_files(found, tmp_path / "end") == csv_files(job, tmp_path / "start")


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(jobs(), st.lists(st.sampled_from(ENDINGS), min_size=1, max_size=4))
def test_any_job_comes_through_any_chain_with_the_same_csv(tmp_path_factory, named, chain):
    job = job_from_text(named)
    folder = tmp_path_factory.mktemp("chain")
    found = through(job, tuple(chain), folder)
    assert found == job
    assert csv_files(found, folder / "end") == csv_files(job, folder / "start")


def peak_mb() -> float:
    """The most memory this process ever had, in megabytes."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def tried(count: int, seed: int, change: Callable[[Random], bytes], read: Callable[[bytes], Job], what: str) -> int:
    """Reads so many changed documents; gives how many were jobs all the same."""
    sound = 0
    before_mb = peak_mb()
    for number in range(count):
        raw = change(Random(f"{seed} {number}"))
        begun = time.process_time()
        found = job_or_problems(lambda: read(raw), what)  # noqa: B023
        assert time.process_time() - begun < MOST_S, number
        sound += isinstance(found, Job)
    assert peak_mb() - before_mb < MOST_MB
    return sound


def archives_tried(count: int, seed: int, folder: Path) -> int:
    members = rewritten(small_job(), {"photos/a.jpg": b"\xff\xd8" * 300, "history/1/parts.csv": b"id\n"})
    path = folder / "x.loomjob"

    def read(raw: bytes) -> Job:
        path.write_bytes(raw)
        return read_archive(path).job

    return tried(count, seed, lambda rng: changed_archive(members, rng), read, "x.loomjob")


def documents_tried(count: int, seed: int) -> int:
    sound = json_bytes(small_job())
    return tried(
        count, seed, lambda rng: changed_json(sound, rng), lambda raw: job_from_json(raw, what="x.json"), "x.json"
    )


def test_250_changed_archives_are_read_or_told(tmp_path):
    sound = archives_tried(250, 1, tmp_path)
    assert 5 < sound < 125


def test_250_changed_documents_are_read_or_told():
    sound = documents_tried(250, 1)
    assert 5 < sound < 125


@pytest.mark.long
def test_5000_changed_archives_are_read_or_told(tmp_path):
    assert archives_tried(5000, 2, tmp_path) < 2500


@pytest.mark.long
def test_5000_changed_documents_are_read_or_told():
    assert documents_tried(5000, 2) < 2500
