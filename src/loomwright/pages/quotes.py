"""The quote of a snapshot, for the pages that count.

A vehicle that has just come in has no battery written down and is no car yet; what is counted can be told all the same.
Rows that do not fit each other otherwise are mended first.
"""

from __future__ import annotations

from functools import lru_cache

from loomwright.handover.quote import quote_of
from loomwright.handover.quote_records import Quote
from loomwright.job.decided import with_decided
from loomwright.job.points import kinds_of
from loomwright.pages.desk import Desk
from loomwright.routes.wire_routes import wire_routes
from loomwright.store.snapshot import Snapshot
from loomwright.tables.kinds import load_kinds

__all__ = ["quote_for"]

_KEPT = 4


def quote_for(desk: Desk, snapshot: Snapshot) -> Quote | None:
    """The quote of a job as it stands; None where its rows do not fit each other."""
    car = desk.cars.of(snapshot)
    if car is not None:
        return car.quote
    return _without_battery(snapshot) if _is_only_without_battery(snapshot) else None


def _is_only_without_battery(snapshot: Snapshot) -> bool:
    return all((one.sheet, one.row, one.column) == ("parts", None, "kind") for one in snapshot.problems)


@lru_cache(maxsize=_KEPT)
def _without_battery(snapshot: Snapshot) -> Quote:
    job = snapshot.as_written
    kinds = kinds_of(job, load_kinds())
    return quote_of(with_decided(job), kinds, wire_routes(job, kinds))
