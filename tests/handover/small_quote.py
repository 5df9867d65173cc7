"""A job small enough to be counted by hand: two lamps, one of them a wish; nothing of it is a real car.

Six new wires: W1 and W2 feed a fuse and the first lamp, W3 is its way back; W4, W5, W6 the same for the second lamp.
Every length is typed, so no route is asked.
"""

from __future__ import annotations

from collections.abc import Mapping

from loomwright.car import Car
from loomwright.handover.quote_records import Quote, QuotePart, WishCost
from loomwright.job.reading import job_from_text

Rows = list[dict[str, str]]

SHEETS: Mapping[str, Rows] = {
    "vehicle": [
        {"name": "title", "value": "a small car"},
        {"name": "currency", "value": "EUR"},
        {"name": "rate_per_hour", "value": "60"},
    ],
    "places": [{"id": "bay"}],
    "circuits": [
        {"id": "work", "class": "lighting", "feed": "30"},
        {"id": "more", "class": "lighting", "feed": "30"},
    ],
    "parts": [
        {"id": "BAT", "kind": "battery", "fitted": "kept"},
        {"id": "F1", "kind": "fuse", "settings": "rating_a=10", "circuit": "work"},
        {"id": "L1", "kind": "lamp", "circuit": "work"},
        {"id": "F2", "kind": "fuse", "settings": "rating_a=10", "circuit": "more"},
        {"id": "L2", "kind": "lamp", "circuit": "more"},
        {"id": "K9", "kind": "relay", "fitted": "removed"},
    ],
    "wires": [
        {"id": "W1", "from": "BAT.+", "to": "F1.1", "size_mm2": "2.5", "length_mm": "960", "circuit": "work"},
        {"id": "W2", "from": "F1.2", "to": "L1.1", "size_mm2": "1.5", "length_mm": "1960", "circuit": "work"},
        {"id": "W3", "from": "L1.2", "to": "body", "size_mm2": "1.5", "length_mm": "460", "circuit": "work"},
        {"id": "W4", "from": "BAT.+", "to": "F2.1", "size_mm2": "2.5", "length_mm": "960", "circuit": "more"},
        {"id": "W5", "from": "F2.2", "to": "L2.1", "size_mm2": "1.5", "length_mm": "2960", "circuit": "more"},
        {"id": "W6", "from": "L2.2", "to": "body", "size_mm2": "1.5", "length_mm": "460", "circuit": "more"},
        {"id": "W7", "from": "BAT.-", "to": "body", "size_mm2": "25", "length_mm": "300", "fitted": "kept"},
        {"id": "W8", "size_mm2": "1.5", "fitted": "removed"},
    ],
    "stock": [
        {"item": "wire", "size_mm2": "2.5", "length_m": "50", "price": "100"},
        {"item": "wire", "size_mm2": "1.5", "length_m": "100", "price": "100"},
        {"item": "lamp", "price": "7"},
    ],
    "wishes": [{"id": "second", "text": "A second lamp", "included": "yes", "circuits": "more"}],
}


def sheets(**changed: Rows) -> dict[str, Rows]:
    """The sheets, some of them others."""
    return {name: [dict(row) for row in rows] for name, rows in {**SHEETS, **changed}.items()}


def told(name: str, value: str) -> Rows:
    """The vehicle with one property more, or another."""
    return [*(row for row in SHEETS["vehicle"] if row["name"] != name), {"name": name, "value": value}]


def quote(**changed: Rows) -> Quote:
    """The quote of the small job, some of its sheets others."""
    return Car(job_from_text(sheets(**changed))).quote


def counts(part: QuotePart) -> dict[str, float]:
    """Operation -> how often it comes."""
    return {line.operation: line.count for stage in part.stages for line in stage.lines}


def wish(found: Quote, name: str) -> WishCost:
    """One wish of a quote."""
    return next(one for one in found.wishes if one.id == name)
