"""The page on security names tests that are there, and every item once."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
_NAMED = re.compile(r"`(tests/[\w/]+\.py)::(\w+)`")


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


def test_every_item_that_is_not_held_says_where_we_stand(page):
    assert len(rows(page, "Not held, and why")) > 10
    assert [row for row in rows(page, "Not held, and why") if not all(row)] == []


def test_a_test_that_is_not_there_would_be_caught(tmp_path):
    (tmp_path / "tests").mkdir()
    (tmp_path / "tests" / "test_x.py").write_text("def test_a(): pass\n", encoding="utf-8")
    named = [("tests/test_x.py", "test_a"), ("tests/test_x.py", "test_b"), ("tests/test_y.py", "test_a")]
    assert missing(named, tmp_path) == ["tests/test_x.py::test_b", "tests/test_y.py::test_a"]
