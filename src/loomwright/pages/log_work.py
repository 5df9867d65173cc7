"""A recorded drive read and judged in a process of its own, so that pages answer meanwhile and it can be stopped."""

from __future__ import annotations

import hashlib
from pathlib import Path

from loomwright.car import Car
from loomwright.exchange.log_file import open_log
from loomwright.exchange.plot_file import keep_drive
from loomwright.job.job import Job
from loomwright.job.writing import text_from_job
from loomwright.logs.judged import Judged, judged_drive, read_drive
from loomwright.logs.mapping import Mapped
from loomwright.logs.own_limits import mapped_for
from loomwright.pages.apart import Tell, worked_apart

__all__ = ["judged_apart", "judged_here", "log_digest"]

_SHEETS_LEFT_OUT = (
    *("gates", "proofs", "progress", "hours", "readings", "snags", "questions", "attempts"),
    *("light_readings", "sensor_points"),
)
_STEPS = 4


def judged_apart(job: Job, path: Path, drawn: Path, mapped: Mapped, tell: Tell) -> Judged:
    """What a recorded drive says; what is drawn of it is kept beside it.

    Args:
        path: of the log.
        drawn: where what is drawn of it is kept.
        tell: called with steps done and to do; may raise Stopped.
    Raises:
        NoAnswer: nothing in it can be read, or the process was ended from outside.
    """
    return worked_apart("what the log says", judged_here, (job, path, drawn, mapped), tell)


def log_digest(job: Job, mapping: str) -> str:
    """A word that stays the same while nothing changes that a log is judged by.

    Args:
        mapping: the text that is kept of the controller's columns.
    """
    sheets = {name: rows for name, rows in text_from_job(job).items() if name not in _SHEETS_LEFT_OUT}
    return hashlib.sha256(f"{sheets!r}\n{mapping}".encode()).hexdigest()[:16]


def judged_here(job: Job, path: Path, drawn: Path, mapped: Mapped, tell: Tell) -> Judged:
    """The same in this process; as `judged_apart`."""
    tell(0, _STEPS)
    recording = open_log(path)
    drive, channels = read_drive(recording, mapped)
    tell(1, _STEPS)
    keep_drive(drive, drawn)
    tell(2, _STEPS)
    car = Car(job)
    supply = car.supply_volts
    tell(3, _STEPS)
    return judged_drive(drive, channels, recording, mapped_for(mapped, job), car.fuel_table, supply)
