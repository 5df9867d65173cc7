"""The van as drawn shows every planted mistake; mended it shows none; sound cars stay quiet."""

from __future__ import annotations

import csv
import fnmatch
from collections.abc import Iterator
from functools import cache
from importlib import resources

import pytest

from loomwright.car import Car, Checked
from loomwright.examples.shelf import example_folder
from loomwright.findings import Finding, says
from loomwright.sheets.csv_folder import open_folder

MOST_WARNINGS = 12


@cache
def checked(name: str) -> Checked:
    return Car(open_folder(example_folder(name))).check()


def planted() -> list[dict[str, str]]:
    text = resources.files("loomwright.examples").joinpath("van", "planted.csv").read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


def everything(findings: tuple[Finding, ...]) -> Iterator[Finding]:
    for finding in findings:
        yield finding
        yield from everything(finding.folded)


@pytest.mark.parametrize("row", planted(), ids=lambda row: row["id"])
def test_planted_mistake_is_found_and_not_hidden(row: dict[str, str]) -> None:
    """A fault that stands by itself names the row or part."""
    wanted = {*row["rows"].split(), row["expected_at"]}
    naming = [f for f in checked("van-as-drawn").findings if f.severity == "fault" and wanted & {*f.at, *f.touches}]
    assert naming, f"{row['id']}: {row['what']}"
    rules = {f.rule for f in naming} | {f.rule for one in naming for f in everything(one.folded)}
    assert any(fnmatch.fnmatch(rule, row["rule"]) for rule in rules), (row["id"], row["rule"], sorted(rules))


def test_mended_van_has_no_fault() -> None:
    faults = [says(f) for f in everything(checked("van").findings) if f.severity == "fault"]
    assert faults == []
    assert checked("van").states_searched > 1_000_000


@pytest.mark.parametrize("name", ["van", "tourer", pytest.param("wagon", marks=pytest.mark.long)])
def test_sound_car_stays_quiet(name: str) -> None:
    found = list(everything(checked(name).findings))
    assert [says(f) for f in found if f.severity == "fault"] == []
    warnings = [says(f) for f in found if f.severity == "warning"]
    assert len(warnings) <= MOST_WARNINGS, warnings


def test_there_are_at_least_twelve_planted_mistakes_of_many_families() -> None:
    rows = planted()
    assert len(rows) >= 12
    assert len({row["rule"][:3] for row in rows}) >= 6
