"""The list of words: each row whole, each word a user meets in it, none explained twice in one table."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterable
from typing import get_args

import pytest

from loomwright.findings import Severity
from loomwright.job.schema import SHEETS, columns, headings
from loomwright.job.vocabulary import allowed_words
from loomwright.tables.kinds import load_kinds
from tests.shape.source import ROOT, Module, called, module_of, modules
from tests.shape.test_docs import command_names

ORIGIN = re.compile(r"trade|ours|standard \([^()]+\)")
_CODE = re.compile(r"([A-Z]{3})-[0-9]+[a-z]?")

Row = tuple[str, str, str]


def rows(text: str) -> list[Row]:
    """The rows of all tables of the page, headings and rules left out."""
    found = []
    for line in text.splitlines():
        cells = [cell.strip() for cell in re.split(r"(?<!\\)\|", line)[1:-1]] if line.startswith("|") else []
        if len(cells) == 3 and cells[0] != "word" and not set(cells[0]) <= {"-"}:
            found.append((cells[0], cells[1], cells[2]))
    return found


def half_rows(found: Iterable[Row]) -> list[str]:
    """Rows without a sentence, or whose origin is none of the three."""
    return [word for word, sentence, origin in found if not sentence.endswith(".") or not ORIGIN.fullmatch(origin)]


def words(found: Iterable[Row]) -> set[str]:
    """Every word in back-ticks that has a row."""
    return {word for cell, _, _ in found for word in re.findall(r"`([^`]+)`", cell)}


def doubled(text: str) -> list[str]:
    """Words with two rows in the same table."""
    twice = []
    for section in re.split(r"^## ", text, flags=re.MULTILINE):
        cells = [cell for cell, _, _ in rows(section)]
        each = [word for cell in cells for word in (re.findall(r"`([^`]+)`", cell) or [cell])]
        twice.extend(sorted({word for word in each if each.count(word) > 1}))
    return twice


def families(source: Iterable[Module]) -> set[str]:
    """The families of all rule codes that stand in the code as text."""
    return {
        match.group(1)
        for module in source
        for node in ast.walk(module.tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
        if (match := _CODE.fullmatch(node.value))
    }


def options(source: Iterable[Module]) -> set[str]:
    """The options of all commands."""
    return {
        word.value
        for module in source
        if module.room == "cli"
        for node in ast.walk(module.tree)
        if isinstance(node, ast.Call) and called(node).endswith("add_argument")
        for word in node.args
        if isinstance(word, ast.Constant) and str(word.value).startswith("--")
    }


def section(text: str, title: str) -> str:
    """One part of the page, by its heading."""
    return next(part for part in re.split(r"^## ", text, flags=re.MULTILINE) if part.startswith(f"{title}\n"))


@pytest.fixture(scope="module")
def page() -> str:
    """The list of words."""
    return (ROOT / "docs" / "terms.md").read_text(encoding="utf-8")


def test_every_row_has_a_sentence_and_an_origin(page):
    assert len(rows(page)) > 100
    assert half_rows(rows(page)) == []


def test_no_word_has_two_rows_in_one_table(page):
    assert doubled(page) == []


def test_every_sheet_and_column_has_a_row(page):
    known = words(rows(page))
    assert sorted(set(SHEETS) - known) == []
    assert sorted({heading for sheet in SHEETS for heading in headings(sheet)} - known) == []


def test_every_word_that_a_cell_may_hold_stands_in_the_page(page):
    named = set(re.findall(r"`([^`]+)`", page))
    allowed = {word for sheet in SHEETS for column in columns(sheet) for word in allowed_words(column)}
    assert len(allowed) > 50
    assert sorted(allowed - named) == []


def test_every_part_kind_has_a_row(page):
    assert sorted(set(load_kinds()) - words(rows(page))) == []


def test_the_tables_of_sheets_and_columns_hold_nothing_else(page):
    there = {heading for sheet in SHEETS for heading in headings(sheet)}
    assert sorted(words(rows(section(page, "Columns"))) - there) == []
    assert sorted(words(rows(section(page, "Sheets"))) - set(SHEETS)) == []


def test_every_command_and_option_has_a_row_and_no_other(page):
    told = words(rows(section(page, "Commands")))
    assert sorted(told - {"JOB"}) == sorted(command_names(modules()) | options(modules()))


def test_every_family_of_rules_and_every_severity_has_a_row(page):
    known = words(rows(page))
    assert families(modules()) - known == set()
    assert set(get_args(Severity)) <= known


def test_a_row_that_is_not_whole_would_be_caught():
    text = "| word | sentence | origin |\n|---|---|---|\n"
    text += "| `a` | Yes. | trade |\n| `b` | No. | somebody |\n| c | | ours |\n"
    assert half_rows(rows(text)) == ["`b`", "c"]
    assert half_rows(rows("| d | Yes. | standard (DIN 72552) |")) == []


def test_a_word_with_two_rows_would_be_caught():
    assert doubled("## A\n| `a` | X. | ours |\n| `b` `a` | Y. | ours |\n## B\n| `a` | Z. | ours |\n") == ["a"]


def test_an_option_is_seen_where_it_is_made():
    source = [
        module_of("loomwright.cli.burn", "def f(p):\n    p.add_argument('job')\n    p.add_argument('--all', help='x')")
    ]
    assert options(source) == {"--all"}


def test_a_family_without_a_row_would_be_caught():
    source = [module_of("m", "rule = 'XYZ-1'\nother = 'not XYZ-2 alone'\nno = 'AB-1'")]
    assert families(source) == {"XYZ"}
