"""A job small enough to be done in a test: three wires, a run with a hole, an earth, an old wire."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from loomwright.job.job import Job
from loomwright.job.reading import job_from_text

SMALL_DAY: Mapping[str, Sequence[Mapping[str, str]]] = {
    "vehicle": [{"name": "title", "value": "a small car"}, {"name": "system_voltage", "value": "12"}],
    "places": [
        {"id": "bay", "name": "engine bay", "x_mm": "0", "y_mm": "0", "z_mm": "500"},
        {"id": "cabin", "name": "cabin", "x_mm": "1000", "y_mm": "0", "z_mm": "500"},
    ],
    "runs": [
        {"id": "R1", "from": "bay", "to": "cabin", "length_mm": "700", "hole_mm": "30", "hazards": "sharp"},
        {"id": "R9", "from": "cabin", "to": "bay", "length_mm": "9000"},
    ],
    "circuits": [{"id": "work", "name": "work lamp", "class": "lighting", "feed": "30"}],
    "parts": [
        {"id": "BAT", "kind": "battery", "place": "bay"},
        {"id": "F1", "kind": "fuse", "settings": "rating_a=10", "place": "bay", "circuit": "work"},
        {"id": "LA1", "kind": "lamp", "circuit": "work", "settings": "watt=21", "place": "cabin"},
        {"id": "E1", "kind": "earth_point", "place": "bay"},
    ],
    "wires": [
        {"id": "W1", "from": "BAT.-", "to": "body", "size_mm2": "25", "length_mm": "500", "fitted": "kept"},
        {"id": "W2", "from": "BAT.+", "to": "F1.1", "size_mm2": "2.5", "length_mm": "300", "colour": "RD",
         "terminal_from": "T8", "terminal_to": "T6"},
        {"id": "W3", "from": "F1.2", "to": "LA1.1", "circuit": "work", "size_mm2": "1.5", "length_mm": "1000",
         "colour": "WH/BU", "terminal_from": "T6", "terminal_to": "T6"},
        {"id": "W4", "from": "LA1.2", "to": "E1.1", "circuit": "work", "size_mm2": "1.5", "length_mm": "1200",
         "colour": "BN", "terminal_from": "T6", "terminal_to": "T8"},
    ],
    "crimps": [
        {"terminal": "T6", "size_from_mm2": "1", "size_to_mm2": "2.5", "strip_mm": "5", "die": "B"},
        {"terminal": "T8", "size_from_mm2": "1", "size_to_mm2": "4", "strip_mm": "8", "die": "M8"},
    ],
}  # fmt: skip


def small_day(**more: Sequence[Mapping[str, str]]) -> Job:
    """The small job, with sheets added or replaced."""
    return job_from_text({**SMALL_DAY, **more})
