"""What will a job cost whose vehicle has just come in?

A vehicle that has no battery written down yet is no car that could be solved; what is counted can be told all the same.
Rows that do not fit each other otherwise are mended first.
"""

from __future__ import annotations

from collections.abc import Iterable

from loomwright.handover.quote import quote_of
from loomwright.handover.quote_records import Quote
from loomwright.job.decided import with_decided
from loomwright.job.job import Job
from loomwright.job.points import kinds_of
from loomwright.refusals import Problem
from loomwright.routes.wire_routes import wire_routes
from loomwright.tables.kinds import load_kinds

__all__ = ["is_only_without_battery", "quote_before_battery"]

_NO_BATTERY = ("parts", None, "kind")


def is_only_without_battery(problems: Iterable[Problem]) -> bool:
    """Whether all that is in the way of a job is that it has no battery."""
    told = [(one.sheet, one.row, one.column) for one in problems]
    return bool(told) and all(one == _NO_BATTERY for one in told)


def quote_before_battery(job: Job) -> Quote:
    """The quote of rows that are no car for want of a battery.

    Example:
        >>> quote_before_battery(Job()).part("one").stages[0].stage
        'arrival'
    """
    kinds = kinds_of(job, load_kinds())
    return quote_of(with_decided(job), kinds, wire_routes(job, kinds))
