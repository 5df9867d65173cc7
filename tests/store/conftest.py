"""A shelf in a folder of its own, with a small job on it."""

from __future__ import annotations

import asyncio
from concurrent.futures import ThreadPoolExecutor
from itertools import count

import pytest

from loomwright.job.reading import job_from_text
from loomwright.store.shelf import Shelf

SHEETS = {
    "vehicle": [{"name": "title", "value": "a small car"}],
    "parts": [
        {"id": "BAT", "kind": "battery"},
        {"id": "F1", "kind": "fuse", "settings": "rating_a=10"},
        {"id": "L1", "kind": "lamp"},
    ],
    "wires": [
        {"id": "W1", "from": "BAT.+", "to": "F1.1", "size_mm2": "2.5", "length_mm": "300"},
        {"id": "W2", "from": "F1.2", "to": "L1.1", "size_mm2": "1.5", "length_mm": "900", "mine": "kept"},
        {"id": "W3", "from": "L1.2", "to": "body", "size_mm2": "1.5", "length_mm": "200"},
    ],
    "bench notes": [{"what": "lay the loom on paper"}],
}


def awaited(asked):
    """What is awaited, on a thread of its own: a browser that is open has a loop on this one."""
    with ThreadPoolExecutor(1) as thread:
        return thread.submit(asyncio.run, asked).result()


def clock():
    ticks = count()
    return lambda: f"2026-01-01T00:00:{next(ticks) % 60:02}"


@pytest.fixture
def job():
    return job_from_text(SHEETS)


@pytest.fixture
def folder(tmp_path):
    return tmp_path / "shelf"


@pytest.fixture
def shelf(folder, job):
    shelf = Shelf(folder, clock())
    shelf.add("car", job, who="A")
    yield shelf
    shelf.close()


def key_of(shelf, sheet, name):
    return next(row.key for row in shelf.now("car").rows[sheet] if row.cells.get("id") == name)
