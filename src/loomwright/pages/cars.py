"""The cars that pages are asking: the newest few revisions, each solved when asked and kept.

A `Car` may be asked from several threads; building one takes a moment, so the last ones are kept.
"""

from __future__ import annotations

from collections import OrderedDict
from threading import Lock

from loomwright.car import Car
from loomwright.store.snapshot import Snapshot

__all__ = ["Cars"]

_KEPT = 6


class Cars:
    """Cars by job and revision."""

    def __init__(self) -> None:
        self._kept: OrderedDict[tuple[str, int], Car] = OrderedDict()
        self._lock = Lock()

    def of(self, snapshot: Snapshot) -> Car | None:
        """The car of a snapshot; None where its rows do not fit each other yet."""
        job = snapshot.job
        if job is None:
            return None
        place = (snapshot.name, snapshot.revision)
        with self._lock:
            car = self._kept.get(place)
            if car is None:
                car = self._kept[place] = Car(job)
                while len(self._kept) > _KEPT:
                    self._kept.popitem(last=False)
            else:
                self._kept.move_to_end(place)
            return car
