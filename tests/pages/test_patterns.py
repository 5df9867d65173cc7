"""The page of patterns: every piece and every weight of finding, at both sizes."""

from __future__ import annotations

import re
from importlib import resources
from pathlib import Path
from typing import get_args

import pytest

from loomwright.findings import Severity
from loomwright.job.job import Job
from loomwright.job.rows import Connector, Part
from loomwright.job.variables import Variable
from loomwright.pages.records.patterns_page import ICONS, patterns_page
from loomwright.pages.records.state_strip import strip_of
from loomwright.pages.rendering import paint_of
from loomwright.writers.paper_paint import PAINT
from tests.pages.shelves import Page, client_on, shelf_in

PARTS = Path(str(resources.files("loomwright.pages"))) / "templates" / "parts"


@pytest.fixture(scope="module")
def html(tmp_path_factory) -> str:
    shelf = shelf_in(tmp_path_factory.mktemp("patterns"))
    browser = client_on(shelf)
    text = browser.get("/patterns").text
    browser.app.state.desk.bench.close()
    shelf.close()
    return text


def test_every_weight_of_finding_stands_there_at_both_sizes(html):
    assert {one.severity for one in patterns_page("").findings} == set(get_args(Severity))
    for severity in get_args(Severity):
        assert html.count(f'<li class="finding {severity}"') == 2


def test_every_drawing_and_every_colour_stands_there(html):
    for name in ICONS:
        assert html.count(f'href="#i-{name}"') >= 2
    words = Page(html).words
    for code in PAINT:
        assert f" {code} " in words


def test_every_piece_that_has_a_macro_is_shown_or_used_by_one_that_is():
    text = (PARTS.parent / "patterns.html").read_text(encoding="utf-8")
    shown = set(re.findall(r"import ([\w, ]+) %", text))
    named = {name.strip() for line in shown for name in line.split(",")}
    macros = {
        name
        for path in PARTS.glob("*.html")
        if path.stem in ("icon", "weight", "figure", "wire", "state_strip", "waiting", "notes", "refused", "finding")
        for name in re.findall(r"{% macro ([a-z]\w*)\(", path.read_text(encoding="utf-8"))
    }
    assert len(macros) > 12
    assert macros - named <= {"sprite", "bare"}
    assert all(f"{name}(" in text for name in named)


def test_insulation_is_painted_with_base_and_tracer():
    paint = paint_of("RD/YE")
    assert paint is not None
    assert (paint.base, paint.tracer) == ("#c3261f", "#f2d21b")
    both = paint_of("GNYE")
    assert both is not None
    assert (both.base, both.tracer) == ("#2f8a3c", "#f2d21b")
    assert paint_of("XX") is None
    assert paint_of("") is None


def test_a_colour_nobody_wrote_down_is_said_in_words(html):
    assert "colour not written down" in Page(html).words


KEY = Variable(name="key", values=("off", "run", "start"), rest="off", momentary=("start",))
COOLANT = Variable(name="coolant_c", values=("20", "90"), rest="20", numeric=True)
JOB = Job(parts=(Part(id="LSW", kind="switch"),), connectors=(Connector(id="X1", part="LSW"),))


def marked(strip) -> set[tuple[str, str]]:
    return {(each.field, step.value) for each in (*strip.sets, *strip.others) for step in each.steps if step.is_set}


def test_what_is_set_and_what_is_off_is_marked():
    strip = strip_of("/c", (KEY, COOLANT), state={"key": "run", "coolant_c": "90.0"}, job=JOB, unplugged=("X1",))
    assert marked(strip) == {("set.key", "run"), ("set.coolant_c", "90"), ("off", "X1")}
    assert strip.rest_href == "/c"
    assert strip_of("/c", (KEY,), state={}, job=Job()).rest_href == ""


def test_a_figure_that_no_condition_names_is_a_step_of_its_own():
    strip = strip_of("/c", (COOLANT,), state={"coolant_c": "55"}, job=Job())
    assert [(step.value, step.is_set) for step in strip.sets[0].steps] == [("20", False), ("55", True), ("90", False)]


def test_what_does_not_matter_is_folded_away_unless_it_is_set():
    strip = strip_of("/c", (KEY, COOLANT), state={}, job=JOB, matters=())
    assert ([each.field for each in strip.sets], [each.field for each in strip.others]) == (
        ["set.key"],
        ["set.coolant_c", "off"],
    )
    strip = strip_of("/c", (KEY, COOLANT), state={"coolant_c": "90"}, job=JOB, unplugged=("X1",), matters=())
    assert strip.others == ()


def test_a_key_is_turned_a_step_further_in_each_position():
    turned = [step.turn_deg for step in strip_of("/c", (KEY,), state={}, job=Job()).sets[0].steps]
    assert turned == [-60.0, 0.0, 60.0]
