"""What the outside checks report: lines at the end of the run, and the page `docs/checked.md`."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.outside.checked_page import Checked, all_folders, written_page

_LINES = pytest.StashKey[list[str]]()
_CHECKED = pytest.StashKey[list[Checked]]()


@pytest.fixture
def told(request: pytest.FixtureRequest) -> list[str]:
    """Lines that a check wants printed at the end of the run."""
    return request.config.stash.setdefault(_LINES, [])


@pytest.fixture
def checked(request: pytest.FixtureRequest) -> list[Checked]:
    """Rows for the page of checks."""
    return request.config.stash.setdefault(_CHECKED, [])


@pytest.hookimpl(wrapper=True)
def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> Iterator[None]:
    """Prints what the checks told, and writes the page where every folder was run and all went well.

    One of several processes has some of the rows only: it writes nothing.
    """
    yield
    lines = config.stash.get(_LINES, [])
    if lines:
        terminalreporter.section("beside other people's answers")
        for line in lines:
            terminalreporter.write_line(line)
    rows = config.stash.get(_CHECKED, [])
    is_alone = not hasattr(config, "workerinput")
    whole = is_alone and bool(rows) and {row.folder for row in rows if row.folder} == set(all_folders())
    failed = [report for report in terminalreporter.stats.get("failed", []) if "tests/outside/" in report.nodeid]
    if whole and not failed:
        page = Path(__file__).parents[2] / "docs" / "checked.md"
        old = page.read_text(encoding="utf-8") if page.exists() else ""
        new = written_page(rows, old)
        if new != old:
            page.write_text(new, encoding="utf-8")
            terminalreporter.write_line(f"wrote docs/{page.name}")
