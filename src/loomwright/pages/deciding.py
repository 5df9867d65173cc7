"""Everything that is blank decided, worked out in a process of its own."""

from __future__ import annotations

from dataclasses import dataclass

from loomwright.car import Car
from loomwright.job.blanks import BlankCell, blank_cells
from loomwright.job.job import Job
from loomwright.pages.apart import Tell, worked_apart

__all__ = ["Decided", "decided_apart"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Decided:
    """The job with its decisions, and the cells for which none could be found."""

    job: Job
    blank: tuple[BlankCell, ...]


def decided_apart(job: Job, tell: Tell) -> Decided:
    """Pins, lengths, sizes and ratings for whatever is blank.

    Args:
        tell: called with steps done and to do; may raise Stopped.
    Raises:
        NoAnswer: the process was ended from outside, or the job has no answer.
    """
    return worked_apart("what is decided", _decided, (job,), tell)


def _decided(job: Job, tell: Tell) -> Decided:
    worked = Car(job).worked_out(tell)
    return Decided(job=worked.job, blank=blank_cells(worked.filled))
