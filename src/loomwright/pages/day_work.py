"""A day's work for a page that must do without us: made of a car's newest revision, kept as the bytes that are sent.

What takes seconds, the test plan, is worked out beside the pages and comes along once it is there; the list says that
it waits until then.
"""

from __future__ import annotations

import json
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from threading import Lock

from loomwright.car import Car
from loomwright.handover.connector_faces import cavities_of, connector_faces
from loomwright.loom.as_built_records import AsBuilt
from loomwright.pages.survey_work import surveyed
from loomwright.proving.plan import TestPlan
from loomwright.store.snapshot import Snapshot
from loomwright.worklist.day import day_of, day_plain

__all__ = ["DayText", "Days"]

_KEPT = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class DayText:
    """A day's work as it is sent. tag: another one where anything of it is another."""

    tag: str
    text: bytes


class Days:
    """The days' work asked for last."""

    def __init__(self) -> None:
        self._kept: OrderedDict[str, DayText] = OrderedDict()
        self._lock = Lock()

    def of(self, snapshot: Snapshot, car: Car, plan: TestPlan | None, built: Callable[[], AsBuilt | None]) -> DayText:
        """The day's work of a snapshot.

        Args:
            snapshot: of the job.
            car: of the snapshot.
            plan: its tests; None while they are worked out.
            built: gives what its changes ask of what is built.
        """
        tag = f'"{snapshot.name}-{snapshot.revision}-{"whole" if plan is not None else "part"}"'
        with self._lock:
            there = self._kept.get(tag)
            if there is None:
                there = self._kept[tag] = DayText(tag=tag, text=_text(snapshot, car, plan, built()))
                while len(self._kept) > _KEPT:
                    self._kept.popitem(last=False)
            return there


def _text(snapshot: Snapshot, car: Car, plan: TestPlan | None, built: AsBuilt | None) -> bytes:
    survey, start = surveyed(snapshot), car.first_start()
    cavities = cavities_of(connector_faces(car.filled, car.kinds))
    day = day_of(car.filled, car.routes, plan=plan, survey=survey, start=start, built=built, cavities=cavities)
    told = {"job": snapshot.name, "revision": snapshot.revision, **day_plain(day)}
    return json.dumps(told, ensure_ascii=False, separators=(",", ":")).encode()
