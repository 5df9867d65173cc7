"""A way out: what is changed, what it costs, what is lost, and the job after it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from loomwright.allocation.way_edits import Change, with_changes
from loomwright.job.job import Job

__all__ = ["InAll", "WayCost", "WayOut", "in_all_of"]


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


@dataclass(frozen=True, slots=True, kw_only=True)
class InAll:
    """What every one of several ways out does, and what every one loses: told once, each way tells the rest."""

    changes: tuple[str, ...] = ()
    loses: tuple[str, ...] = ()

    def beside(self, way: WayOut) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """The changes and losses that are a way's own."""
        changes = tuple(one.says for one in way.changes if one.says not in self.changes)
        return changes, tuple(one for one in way.loses if one not in self.loses)


def in_all_of(ways: Sequence[WayOut]) -> InAll:
    """What ways out have in common; nothing where there are not several."""
    if len(ways) < 2:
        return InAll()
    first, *others = ways
    return InAll(
        changes=tuple(
            one.says for one in first.changes if all(one.says in {each.says for each in way.changes} for way in others)
        ),
        loses=tuple(one for one in first.loses if all(one in way.loses for way in others)),
    )
