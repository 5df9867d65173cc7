"""The containers a job can be in, and what a test asks of any of them."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from loomwright.job.job import Job
from loomwright.job.reading import job_from_text
from loomwright.refusals import BadDocument
from loomwright.sheets.archive import ABOUT, archive_bytes
from loomwright.sheets.csv_folder import write_folder
from loomwright.sheets.json_document import json_bytes
from loomwright.sheets.zip_guard import zip_members
from tests.job.small import sheets

ENDINGS = ("", ".xlsx", ".loomjob", ".json")


def small_job() -> Job:
    """The small sound job, with a sheet, a column and a text of its own that want care."""
    named = sheets()
    for count, row in enumerate(named["wires"]):
        row["bin no"] = f"0{count}"
        row["notes"] = ("=1+1", "a, b; c", 'say "on"', "two\nlines", "'=x", "", "ä € 😀", " x ")[count]
    named["my list"] = [{"what": "tape", "=much": "1,5"}, {"what": "ties", "=much": ""}]
    return job_from_text(named)


def members(raw: bytes) -> dict[str, bytes]:
    """What an archive holds."""
    found, problems = zip_members(raw, what="x.loomjob")
    assert problems == []
    return found


def document(job: Job) -> dict[str, Any]:
    """A job's JSON document as the standard library reads it."""
    return json.loads(json_bytes(job))


def csv_files(job: Job, folder: Path) -> dict[str, bytes]:
    """The files of a job's folder of sheets."""
    write_folder(job, folder)
    return {file.name: file.read_bytes() for file in sorted(folder.iterdir())}


def job_or_problems(read: Callable[[], Job], what: str) -> Job | tuple[str, ...]:
    """What reading gives: a job, or the places in words; each names a sheet or the file, and has a mend."""
    try:
        return read()
    except BadDocument as refusal:
        assert refusal.problems
        for problem in refusal.problems:
            assert problem.sheet or what in problem.found, problem
            assert problem.allowed, problem
            assert problem.mend, problem
            str(problem.says).encode()
        return tuple(problem.says for problem in refusal.problems)


def rewritten(job: Job, kept: Mapping[str, bytes] | None = None) -> dict[str, bytes]:
    """The members of a job's archive, to be changed."""
    found = members(archive_bytes(job, kept or {}))
    assert next(iter(found)) == ABOUT
    return found
