"""What every point reads with every fault, worked out in a process of its own and kept while the car is the same."""

from __future__ import annotations

from loomwright.car import Car
from loomwright.job.decided import digest_of
from loomwright.job.job import Job
from loomwright.pages.apart import Tell, worked_apart
from loomwright.proving.fault_table import FaultTable

__all__ = ["car_digest", "faults_apart"]

_SHEETS = (
    *("vehicle", "parts", "circuits", "wires", "connectors", "controller_pins", "needs", "drives", "contacts"),
    *("metals", "bonds", "cables", "kinds", "variables", "requirements", "decisions", "places"),
)


def car_digest(job: Job) -> str:
    """A short text that changes when the car changes, and not when something is read on it."""
    return digest_of(job, _SHEETS)


def faults_apart(job: Job, tell: Tell) -> FaultTable:
    """The table of a car.

    Args:
        tell: called with faults done and to do; may raise Stopped.
    Raises:
        NoAnswer: the process was ended from outside, or the job has no answer.
    """
    return worked_apart("what every fault would read", _table, (job,), tell)


def _table(job: Job, tell: Tell) -> FaultTable:
    return Car(job).faults_read(tell)
