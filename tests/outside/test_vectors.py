"""Every check value and every slip in print of our list has a place where it is held, or a reason why it is not."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from tests.shape.source import ROOT


def _rows(name: str) -> list[dict[str, str]]:
    with (Path(__file__).parent / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


ROWS = [*_rows("vectors.csv"), *_rows("engine_vectors.csv")]
"""V: check values of wires and circuits, E: slips in print, N: check values of engine, logs and gearbox."""


def test_all_are_listed_once() -> None:
    assert [row["id"] for row in ROWS] == [
        *(f"V{n}" for n in range(1, 71)),
        *(f"E{n}" for n in range(1, 21)),
        *(f"N{n}" for n in range(1, 75)),
    ]


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["id"])
def test_each_is_held_where_it_says_or_says_why_not(row: dict[str, str]) -> None:
    path, _, name = row["held_by"].partition("::")
    if not path:
        assert row["note"]
        return
    there = ROOT / path
    assert (there / "expected.csv").is_file() or there.is_file()
    if name and there.is_dir():
        assert name in {
            line.split(",")[0] for line in (there / "expected.csv").read_text(encoding="utf-8").splitlines()
        }
    elif name:
        assert f"def {name}(" in there.read_text(encoding="utf-8")
