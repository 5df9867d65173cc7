"""The survey as pages ask for it: the odds at once and kept, the next reading worked out beside the pages."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

from loomwright.job.job import Job
from loomwright.store.snapshot import Snapshot
from loomwright.survey.identify import survey_of
from loomwright.survey.records import NextReading, Survey

__all__ = ["Aside", "following_in", "surveyed"]

Aside = frozenset[tuple[str, str]]
"""Wires and looks that cannot be had where somebody stands."""


@lru_cache(maxsize=8)
def surveyed(snapshot: Snapshot, aside: Aside = frozenset()) -> Survey:
    """What the readings of a snapshot say; the readings to take next are weighed by their own wire alone."""
    return survey_of(snapshot.as_written, is_full=False, aside=aside)


def following_in(job: Job, aside: Aside, tell: Callable[[int, int], None]) -> tuple[NextReading, ...]:
    """The readings to take next by what they tell of all wires together, best first.

    For the bench's own thread: it takes less than starting a process would, and stops between one reading and the next.

    Args:
        aside: wires and looks that are passed over.
        tell: called with readings tried and to try; may raise Stopped.
    """
    return survey_of(job, aside=aside, tell=tell).following
