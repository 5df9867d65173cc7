"""Every fault in the state in which a dead part should work, in a process of its own: what the page waits for."""

from __future__ import annotations

from loomwright.car import Car
from loomwright.handover.symptom import SymptomAsked, SymptomTable
from loomwright.job.job import Job
from loomwright.pages.apart import Tell, worked_apart

__all__ = ["symptom_apart"]


def symptom_apart(job: Job, asked: SymptomAsked, tell: Tell) -> SymptomTable:
    """The table of a symptom.

    Args:
        tell: called with faults done and to do; may raise Stopped.
    Raises:
        NoAnswer: the process was ended from outside, or the job has no answer.
    """
    return worked_apart("where to put a hand first", _table, (job, asked), tell)


def _table(job: Job, asked: SymptomAsked, tell: Tell) -> SymptomTable:
    return Car(job).symptom_table(asked, tell)
