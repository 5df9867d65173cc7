"""Every code of a rule has a section of its own, a test that makes it, one that just does not, and can be waived.

`codes.csv` names them: code, page, makes, just_not. A code that stands in the source and not there fails, as does a
test that is named and is not there, or that is not about the code: the code has to stand in the test, or in the heading
(`# KEY-1`) of the part of the file it stands in.
"""

from __future__ import annotations

import ast
import csv
import re
from functools import cache
from pathlib import Path

import pytest

from loomwright.checked import _without_waived
from loomwright.findings import Finding
from loomwright.job.reading import job_from_text
from loomwright.refusals import BadDocument
from loomwright.states.asking.folding import Told
from tests.shape.source import ROOT, modules
from tests.states.small_jobs import car

TABLE = Path(__file__).with_name("codes.csv")
CODE = re.compile(r"[A-Z]{3}-[0-9]+")
NO_RULES = ("UTF-8",)
HEADING = re.compile(r"# (?:-+ )?([A-Z]{3}-[0-9]+)\b")


def rows() -> list[dict[str, str]]:
    with TABLE.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


ROWS = {row["code"]: row for row in rows()}


OF_OTHERS = ("LOG-", "GEA-")
"""Logs and gear changes."""


def in_source() -> set[str]:
    """Every rule code of the car's electrics that stands in the source as a text of its own.

    Logs and gear changes have rules of their own, which no state of the car is searched for.
    """
    return {
        node.value
        for module in modules()
        for node in ast.walk(module.tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and CODE.fullmatch(node.value)
        if not node.value.startswith(OF_OTHERS)
    } - set(NO_RULES)


@cache
def claims_in(path: str) -> dict[str, tuple[ast.FunctionDef, str, str]]:
    """The tests of a file: the function, its text, and the heading it stands under."""
    text = (ROOT / path).read_text(encoding="utf-8")
    lines = text.splitlines()
    found = {}
    for node in ast.parse(text).body:
        if isinstance(node, ast.FunctionDef) and node.name.startswith("test_"):
            first = min([node.lineno, *(each.lineno for each in node.decorator_list)])
            above = [match.group(1) for line in lines[:first] if (match := HEADING.match(line))]
            found[node.name] = (node, "\n".join(lines[first - 1 : node.end_lineno]), above[-1] if above else "")
    return found


def what_is_missing(code: str, named: str) -> str:
    """Why a test named in the table does not do; nothing where it does."""
    path, _, name = named.partition("::")
    if not (ROOT / path).is_file() or name not in claims_in(path):
        return f"{named} is not there"
    node, text, heading = claims_in(path)[name]
    whole_file = (ROOT / path).read_text(encoding="utf-8").split("\n\n", 1)[0]
    about = code in text or heading == code or (not heading and re.search(rf"\b{code}\b", whole_file))
    if not about:
        return f"{named} says nowhere that it is about {code}"
    if not any(isinstance(each, ast.Assert | ast.With) for each in ast.walk(node)):
        return f"{named} asserts nothing"
    return ""


def test_every_code_has_a_row_and_no_other() -> None:
    assert sorted(ROWS) == sorted(in_source())
    assert len(ROWS) == len(rows())


@pytest.mark.parametrize("code", ROWS)
def test_a_code_has_a_section_and_both_tests(code: str) -> None:
    row = ROWS[code]
    page = (ROOT / row["page"]).read_text(encoding="utf-8")
    section = rf"^(##+ .*\b{code}\b|\| {code} \|)"
    assert re.search(section, page, flags=re.MULTILINE), f"{row['page']} has no section or row on {code}"
    assert [what_is_missing(code, row[column]) for column in ("makes", "just_not")] == ["", ""]


@pytest.mark.parametrize("code", ROWS)
def test_a_code_can_be_waived_in_one_job_with_a_reason(code: str) -> None:
    told = [
        Told(Finding(rule=rule, severity="note", at=("LA1",), label="", wrong=""), None, None)
        for rule in (code, "XXX-1")
    ]
    waived = car(waived=[{"rule": code, "reason": "the owner knows"}])
    assert [one.finding.rule for one in _without_waived(waived, told)] == ["XXX-1"]
    with pytest.raises(BadDocument) as refused:
        job_from_text({"parts": [{"id": "BAT", "kind": "battery"}], "waived": [{"rule": code, "reason": ""}]})
    assert ("waived", "reason") in {(problem.sheet, problem.column) for problem in refused.value.problems}
