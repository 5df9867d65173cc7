"""How hot is the air at each place with the engine warm?

What the sheet `places` says; in the engine bay, where it says nothing, the figure of `constants.csv`: a wire there that
was taken as lying in the day's own air would be given more than it stands. Elsewhere nothing is known, and the air of
the vehicle's hottest day counts.
"""

from __future__ import annotations

from collections.abc import Mapping

from loomwright.job.job import Job
from loomwright.tables.constants import constant

__all__ = ["air_at_places_c"]

_ENGINE_BAY = "engine_bay"


def air_at_places_c(job: Job) -> Mapping[str, float]:
    """Hottest air at each place of which something is known, by id. [C]

    Example:
        >>> from loomwright.job.reading import job_from_text
        >>> rows = [{"id": "bay", "zone": "engine_bay"}, {"id": "dash", "zone": "cabin"}]
        >>> parts = [{"id": "B1", "kind": "battery", "place": "bay"}]
        >>> dict(air_at_places_c(job_from_text({"places": rows, "parts": parts})))
        {'bay': 85.0}
    """
    found: dict[str, float] = {}
    for place in job.places:
        if place.ambient_c is not None:
            found[place.id] = place.ambient_c
        elif place.zone == _ENGINE_BAY:
            found[place.id] = constant("engine_bay_c")
    return found
