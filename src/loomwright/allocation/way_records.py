"""A way out: what is changed, what it costs, what is lost, and the job after it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loomwright.allocation.way_edits import Change, with_changes
from loomwright.job.job import Job

__all__ = ["WayCost", "WayOut"]


@dataclass(frozen=True, slots=True, kw_only=True)
class WayCost:
    """What a way out takes. pins: pins used beyond those of the answer without it; below nothing where some come free.

    wires, parts: more than before. [-]   minutes: usual, the shop's own where it has timed itself. [min]
    price: work and parts as far as their prices are known, None where nothing is. [-]   unpriced: parts without one.
    """

    pins: int
    wires: int
    parts: tuple[str, ...]
    minutes: float
    price: float | None
    currency: str
    unpriced: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WayOut:
    """One way out, whole: with all its changes everything that is left to build has a pin.

    pins: need -> the pin it then has.   loses: each in a few words; none where nothing is lost.
    """

    changes: tuple[Change, ...]
    says: str
    cost: WayCost
    loses: tuple[str, ...]
    pins: Mapping[str, str]

    def applied(self, job: Job) -> Job:
        """The job after it."""
        return with_changes(job, self.changes)
