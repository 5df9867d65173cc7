"""The quote of a snapshot, for the pages that count.

Rows that do not fit each other are mended first; a vehicle that has no battery written down yet is counted too.
"""

from __future__ import annotations

from functools import lru_cache

from loomwright.handover.quote_early import is_only_without_battery, quote_before_battery
from loomwright.handover.quote_records import Quote
from loomwright.pages.desk import Desk
from loomwright.store.snapshot import Snapshot

__all__ = ["quote_for"]

_KEPT = 4


def quote_for(desk: Desk, snapshot: Snapshot) -> Quote | None:
    """The quote of a job as it stands; None where its rows do not fit each other."""
    car = desk.cars.of(snapshot)
    if car is not None:
        return car.quote
    return _before_battery(snapshot) if is_only_without_battery(snapshot.problems) else None


@lru_cache(maxsize=_KEPT)
def _before_battery(snapshot: Snapshot) -> Quote:
    return quote_before_battery(snapshot.as_written)
