"""Every check value and every slip in print of our list has a place where it is held, or a reason why it is not."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from tests.shape.source import ROOT

ROWS = list(csv.DictReader(Path(__file__).with_name("vectors.csv").open(encoding="utf-8", newline="")))


def test_all_are_listed_once() -> None:
    assert [row["id"] for row in ROWS] == [*(f"V{n}" for n in range(1, 71)), *(f"E{n}" for n in range(1, 21))]


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["id"])
def test_each_is_held_where_it_says_or_says_why_not(row: dict[str, str]) -> None:
    path, _, name = row["held_by"].partition("::")
    if not path:
        assert row["note"]
        return
    there = ROOT / path
    assert (there / "expected.csv").is_file() or there.is_file()
    if name:
        assert f"def {name}(" in there.read_text(encoding="utf-8")
