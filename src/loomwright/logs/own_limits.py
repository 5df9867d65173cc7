"""Which limits of a drive does the job itself give?

The sheet `vehicle` says how fast the engine may turn, how much boost it has and how often each injector opens: nobody
should type that twice. A mapping goes before it, the typical figures come after it.

Source: 10 kPa over the boost that is meant are let pass: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from loomwright.job.job import Job
from loomwright.logs.limits import limits_with, typical_limits
from loomwright.logs.mapping import Mapped
from loomwright.refusals import OutOfReach

__all__ = ["mapped_for", "own_limits"]

_SAID: tuple[tuple[str, str], ...] = (
    ("limit_rpm", "limit_rpm"),
    ("gear.engine.limit_rpm", "limit_rpm"),
    ("most_kpa", "manifold_most_kpa"),
    ("shots", "shots"),
)
_OVER_KPA = 10.0


def own_limits(job: Job) -> Mapping[str, float]:
    """Limits by name, as far as the sheet `vehicle` gives them; a figure beyond what is believed gives none. [-]

    Example:
        >>> from loomwright.job.edits import add_row
        >>> own_limits(add_row(Job(), "vehicle", {"name": "limit_rpm", "value": "6200"}))
        {'limit_rpm': 6200.0}
    """
    given = {row.name: row.value for row in job.vehicle if row.value}
    found: dict[str, float] = {}
    for name, limit in _SAID:
        try:
            figure = float(str(given.get(name, "")).replace(",", "."))
            if limit == "manifold_most_kpa":  # without boost the air's own pressure may pass it on a high day
                figure = max(figure + _OVER_KPA, typical_limits()[limit])
            limits_with({limit: figure})
        except (ValueError, OutOfReach):
            continue
        found.setdefault(limit, figure)
    return found


def mapped_for(mapped: Mapped, job: Job) -> Mapped:
    """A mapping with the limits that the job gives where nobody typed one for its controller."""
    return replace(mapped, limits={**own_limits(job), **mapped.limits})
