"""The mends of a finding, worked out in a process of its own, so that pages answer meanwhile."""

from __future__ import annotations

import hashlib

from loomwright.car import Car
from loomwright.findings import Finding
from loomwright.job.job import Job
from loomwright.pages.apart import Tell, worked_apart
from loomwright.trials.mend import Mends, key_of

__all__ = ["mark_of", "mends_apart"]

_LETTERS = 12


def mark_of(finding: Finding) -> str:
    """A short word for a finding, the same as long as its rule, places and words are."""
    return hashlib.sha256(repr(key_of(finding)).encode()).hexdigest()[:_LETTERS]


def mends_apart(job: Job, among: tuple[Finding, ...], finding: Finding, tell: Tell) -> Mends:
    """The mends of a finding; the process is killed where `tell` raises.

    Args:
        among: what the check of the job found.
        tell: called with ideas tried and to try; may raise Stopped.
    Raises:
        NoAnswer: the process was ended from outside.
    """
    return worked_apart("the mends", _mends, (job, among, finding), tell)


def _mends(job: Job, among: tuple[Finding, ...], finding: Finding, tell: Tell) -> Mends:
    return Car(job).mends(finding, tell, among=among)
