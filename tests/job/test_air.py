"""How hot the air is where a place says nothing."""

from __future__ import annotations

from loomwright.job.air import air_at_places_c
from loomwright.job.reading import job_from_text


def test_an_engine_bay_that_says_nothing_is_hot_and_other_places_are_not_known():
    rows = [
        {"id": "bay", "zone": "engine_bay"},
        {"id": "nose", "zone": "engine_bay", "ambient_c": "60"},
        {"id": "dash", "zone": "cabin"},
        {"id": "sill"},
    ]
    # 85: constants.csv, engine_bay_c, common practice
    parts = [{"id": "BAT", "kind": "battery"}]
    assert dict(air_at_places_c(job_from_text({"places": rows, "parts": parts}))) == {"bay": 85.0, "nose": 60.0}
