"""The page on security names tests that are there, and every item once."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
_NAMED = re.compile(r"`(tests/[\w/]+\.py)::(\w+)`")


_EACH = {
    "1.1": 7, "1.2": 4, "1.4": "1 4 5", "1.5": 4, "1.6": 4, "1.7": 2, "1.8": 2, "1.9": 2, "1.10": 1, "1.11": 2,
    "1.12": "2", "1.14": 6,
    "2.1": 12, "2.2": 3, "2.3": 3, "2.4": 5, "2.5": 7, "2.6": 3, "2.7": 6, "2.8": 7, "2.9": 3, "2.10": 4,
    "3.1": 1, "3.2": 4, "3.3": 4, "3.4": 5, "3.5": 3, "3.7": 1,
    "4.1": "1 2 3 5", "4.2": 2, "4.3": 3,
    "5.1": 5, "5.2": 8, "5.3": 10, "5.4": 3, "5.5": 4,
    "6.1": 3, "6.2": 6, "6.3": 2, "6.4": 2, "7.1": 4, "7.2": 2, "7.3": "1 3 4", "7.4": 3,
    "8.1": 4, "8.2": 3, "8.3": 8, "9.1": 3, "9.2": 4, "10.2": 2, "10.3": 3,
    "11.1": 8, "12.1": 3, "12.2": 1, "12.3": 6, "12.4": 2, "12.5": 2, "12.6": 1,
    "13.1": "1 3 4 5", "13.2": "1 2 3 5 6", "13.3": 2, "13.4": 2,
    "14.1": 4, "14.2": 6, "14.3": "2 3", "14.4": 7, "14.5": 4,
}  # fmt: skip
"""The items of levels 1 and 2 in each section of the standard, 4.0.3: how many, or which. Chapter 1 to 2.2 read, the
rest from memory.
"""


def told(page: str) -> set[str]:
    """The items and whole sections that the page speaks of."""
    found: set[str] = set()
    for line in page.splitlines():
        if re.match(r"\| \d", line):
            for piece in line.split("|")[1].split(","):
                first, _, last = (each.strip() for each in piece.partition(" to "))
                head, _, nth = first.rpartition(".")
                until = int((last or first).rpartition(".")[2])
                found |= {f"{head}.{each}" for each in range(int(nth), until + 1)}
    return found


def missing(named: list[tuple[str, str]], root: Path) -> list[str]:
    """Tests that are named and not there."""
    there: dict[str, set[str]] = {}
    for file, _ in named:
        path = root / file
        text = path.read_text(encoding="utf-8") if path.is_file() else ""
        there[file] = {node.name for node in ast.walk(ast.parse(text)) if isinstance(node, ast.FunctionDef)}
    return [f"{file}::{name}" for file, name in named if name not in there[file]]


def rows(text: str, heading: str) -> list[list[str]]:
    """The rows of the table under a heading."""
    part = text.partition(f"## {heading}\n")[2].partition("\n## ")[0]
    lines = [line.strip("|").split("|") for line in part.splitlines() if line.startswith("|")]
    return [[cell.strip() for cell in line] for line in lines[2:]]


@pytest.fixture(scope="module")
def page() -> str:
    return (ROOT / "docs" / "security.md").read_text(encoding="utf-8")


def test_every_test_that_is_named_is_there(page):
    named = _NAMED.findall(page)
    assert len(named) > 80
    assert missing(named, ROOT) == []


def test_every_item_that_is_held_names_a_test(page):
    held = rows(page, "Held")
    assert len(held) > 60
    assert [row[0] for row in held if not _NAMED.search(row[3])] == []


def test_no_item_of_the_standard_is_passed_over(page):
    there = told(page)
    items = {
        f"{section}.{each}"
        for section, many in _EACH.items()
        for each in (many.split() if isinstance(many, str) else range(1, many + 1))
    }
    assert len(items) > 250
    assert sorted(item for item in items if item not in there and item.rpartition(".")[0] not in there) == []


def test_every_item_that_is_not_held_says_where_we_stand(page):
    assert len(rows(page, "Not held, and why")) > 10
    assert [row for row in rows(page, "Not held, and why") if not all(row)] == []


def test_a_test_that_is_not_there_would_be_caught(tmp_path):
    (tmp_path / "tests").mkdir()
    (tmp_path / "tests" / "test_x.py").write_text("def test_a(): pass\n", encoding="utf-8")
    named = [("tests/test_x.py", "test_a"), ("tests/test_x.py", "test_b"), ("tests/test_y.py", "test_a")]
    assert missing(named, tmp_path) == ["tests/test_x.py::test_b", "tests/test_y.py::test_a"]
