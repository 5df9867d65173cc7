"""The worked pages can be followed: every block of `docs/worked` is done in order and does what the page says."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.docs.pages import Follower, blocks_of
from tests.shape.source import ROOT

PAGES = tuple(sorted((ROOT / "docs" / "worked").glob("*.md")))


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_the_page_can_be_followed(page: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    reader = Follower(tmp_path)
    blocks = blocks_of(page.read_text(encoding="utf-8"))
    assert sum(block.sort in ("python", "console") for block in blocks) >= 6
    off = [f"{page.name}, block at line {block.line}\n{one}" for block in blocks for one in reader.follow(block)]
    assert off == [], "\n".join(off)


def test_there_are_pages_for_programs_and_for_the_bench():
    assert {page.stem for page in PAGES} >= {"first_circuit", "own_job"}


def followed(text: str, folder: Path) -> list[str]:
    """What comes out otherwise than a page says."""
    reader = Follower(folder)
    return [off for block in blocks_of(text) for off in reader.follow(block)]


def test_a_wrong_output_of_python_would_be_caught(tmp_path):
    page = "```python\nx = 2\n```\n\n```python\n>>> x + 1\n3\n>>> x\n5\n```\n"
    [off] = followed(page, tmp_path)
    assert "Expected:\n    5\nGot:\n    2" in off


def test_python_that_stops_stops_the_page(tmp_path):
    with pytest.raises(ZeroDivisionError):
        followed("```python\n1 / 0\n```\n", tmp_path)


def test_a_wrong_output_of_a_command_would_be_caught(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    page = "```console\n$ loomwright check nowhere\nall well\n$ echo $?\n2\n```\n"
    [off] = followed(page, tmp_path)
    assert off.startswith("line 1: $ loomwright check nowhere")
    assert "nowhere" in off.split("the page has:")[0].split("said:")[1]


def test_a_wrong_exit_code_would_be_caught(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    [off] = followed("```console\n$ loomwright check nowhere\n...\n$ echo $?\n0\n```\n", tmp_path)
    assert "echo" in off


def test_sheets_are_written_where_the_page_says(tmp_path):
    assert followed("```csv fan/wires.csv\nid,from\nW1,body\n```\n", tmp_path) == []
    assert (tmp_path / "fan" / "wires.csv").read_text(encoding="utf-8") == "id,from\nW1,body\n"


@pytest.mark.parametrize(
    ("page", "why"),
    [
        ("```shell\nls\n```\n", "no known sort"),
        ("```\nplain\n```\n", "no known sort"),
        ("```python\n1\n", "never closed"),
        ("```console\nno command\n```\n", "does not begin with a command"),
        ("```console\n$ ls\n```\n", "no command of ours"),
    ],
)
def test_a_block_that_nobody_would_follow_is_refused(page, why, tmp_path):
    with pytest.raises(ValueError, match=why):
        followed(page, tmp_path)
