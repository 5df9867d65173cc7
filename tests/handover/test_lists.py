"""The lists of a pack: the same rows as its records, every word over them explained."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from loomwright.handover.lists import lists_of
from loomwright.handover.pack import pack_of
from loomwright.handover.records import FindingEntry
from tests.handover.bench_van import bench_car
from tests.shape.source import ROOT


@pytest.fixture(scope="module")
def pack():
    """The pack of the bench van."""
    car = bench_car()
    return pack_of(car.job, car.scene, (), states_searched=720, date="2024-05-17")


@pytest.fixture(scope="module")
def lists(pack):
    """Its lists by name."""
    return {one.name: one for one in lists_of(pack)}


def test_every_row_has_a_cell_for_each_heading(lists):
    assert len(lists) > 15
    for one in lists.values():
        assert {len(row) for row in one.rows} == {len(one.headings)}, one.name
        assert set(one.figures) <= set(one.headings), one.name
        assert len(set(one.headings)) == len(one.headings), one.name


def test_names_fit_on_a_tab(lists):
    assert [name for name in lists if len(name) > 31 or set(name) & set("[]:*?/\\")] == []


def test_the_words_over_the_lists_are_explained(lists):
    page = (ROOT / "docs" / "terms.md").read_text(encoding="utf-8")
    part = page.split("\n## Papers\n")[1].split("\n## ")[0]
    known = set(re.findall(r"`([^`]+)`", part))
    states = {heading for heading in lists["live tests"].headings if heading.endswith(", V")}
    used = {word for one in lists.values() for word in (one.name, *one.headings)} - states
    used -= {"note"}
    assert sorted(used - known) == []


def test_the_cover_tells_job_revision_date_and_verdict(lists):
    cover = dict(lists["cover"].rows)
    assert (cover["job"], cover["revision"], cover["date"]) == ("small van", "3", "2024-05-17")
    assert cover["the check"] == "Nothing found in 720 states."


def test_a_finding_beneath_another_says_which(pack):
    below = FindingEntry(severity="note", rule="SNK-3", label="A", when="", says="Small.", mend="", path=(), folded=())
    above = replace(below, rule="KEY-2", label="B", severity="fault", folded=(below,))
    paper = replace(pack.paper, findings=(above,))
    (told,) = [one for one in lists_of(replace(pack, paper=paper)) if one.name == "findings"]
    assert [(row[1], row[-1]) for row in told.rows] == [("KEY-2", ""), ("SNK-3", "KEY-2 B")]


def test_wires_tell_the_limit_that_decided(lists):
    sheet = lists["wires"]
    decided = {row[0]: row[-2:] for row in sheet.rows if any(row[-2:])}
    assert decided == {"W17": ("strength", ""), "W18": ("", "route")}


def test_a_list_without_rows_is_left_out(pack):
    assert "connectors" not in {one.name for one in lists_of(replace(pack, connectors=()))}
