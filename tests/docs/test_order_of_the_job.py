"""The table of the README that leads through a job: its pages belong to the stages it names, its commands are there."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from loomwright.cli.main import COMMANDS
from loomwright.pages.records.page_words import PAGE_WORDS, STAGE_PAGES
from loomwright.pages.records.stage_counts import STAGE_WORDS

README = Path(__file__).parents[2] / "README.md"
ROWS = re.findall(r"^\| ([^|]+) \| ([^|]+) \| ([^|]+) \|$", README.read_text(encoding="utf-8"), re.MULTILINE)[1:]


def test_the_table_leads_through_every_stage():
    assert len(ROWS) == 14
    named = [word for _, page, _ in ROWS for word in page.partition(":")[0].split(", ")]
    assert list(dict.fromkeys(word for word in named if word in STAGE_WORDS.values())) == list(STAGE_WORDS.values())


@pytest.mark.parametrize(("step", "page", "command"), ROWS[1:])
def test_each_page_stands_beneath_the_stage_it_is_named_with(step, page, command):
    stages, _, pages = page.partition(": ")
    keys = [key for key, word in STAGE_WORDS.items() if word in stages.split(", ")]
    offered = {PAGE_WORDS[piece] for key in keys for piece in STAGE_PAGES[key]}
    words = re.findall(r"\*([^*]+)\*", pages)
    assert words, step
    assert set(words) <= offered


@pytest.mark.parametrize(("step", "page", "command"), ROWS)
def test_each_command_is_one(step, page, command):
    words = [text.split()[0] for text in re.findall(r"`([^`]+)`", command)]
    assert words, step
    assert set(words) <= set(COMMANDS)
