"""A running server with a job of its own for every test, and a page of a real browser on it."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from itertools import count
from pathlib import Path

import pytest
import uvicorn
from playwright.sync_api import Browser, BrowserContext, Page, Playwright, expect, sync_playwright

from loomwright.job.reading import job_from_text
from loomwright.pages.checking import CheckBench
from loomwright.pages.doors.doorway import Doorway
from loomwright.store.shelf import Shelf
from tests.pages.shelves import app_on
from tests.store.conftest import SHEETS, clock

FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run"]
PATIENCE_MS = 60_000
"""How long a page is waited for: the machine may be busy. [ms]"""

expect.set_options(timeout=PATIENCE_MS)
_numbers = count(1)


@dataclass(frozen=True, slots=True, kw_only=True)
class RunningDesk:
    """A server that answers. url: of it.   job: the one this test has to itself."""

    url: str
    shelf: Shelf
    job: str

    def sheet(self, sheet: str, query: str = "") -> str:
        """The address of a sheet of the job."""
        return f"{self.url}/j/{self.job}/sheet/{sheet}{query}"

    def text(self, sheet: str, name: str, column: str) -> str | None:
        """What stands on the shelf in a cell of a row, by the row's id; None where there is no such row."""
        rows = self.shelf.now(self.job).rows[sheet]
        return next((row.cells.get(column, "") for row in rows if row.cells.get("id") == name), None)

    def names(self, sheet: str) -> list[str]:
        """The ids of a sheet in the order of the job."""
        return [row.cells.get("id", "") for row in self.shelf.now(self.job).rows.get(sheet, ())]

    def key(self, sheet: str, name: str) -> int:
        """The own number of a row. [-]"""
        return next(row.key for row in self.shelf.now(self.job).rows[sheet] if row.cells.get("id") == name)


@contextmanager
def served(
    shelf: Shelf, port: int = 0, *, bench: CheckBench | None = None, doorway: Doorway | None = None
) -> Iterator[str]:
    """A server on a shelf, at the address that is given.

    Args:
        port: any that is free where it is nought. [-]
        bench: that checks.
        doorway: who else comes in.
    """
    with socket.socket() as free:
        free.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        free.bind(("127.0.0.1", port))
        port = free.getsockname()[1]
    app = app_on(shelf, who="A", doorway=doorway)
    if bench is not None:
        app.state.desk = replace(app.state.desk, bench=bench)
    running = uvicorn.Server(uvicorn.Config(app, host="127.0.0.1", port=port, log_level="warning", access_log=False))
    thread = threading.Thread(target=running.run, daemon=True)
    thread.start()
    while not running.started:
        assert thread.is_alive(), "the server ended before it answered"
        time.sleep(0.02)
    yield f"http://127.0.0.1:{port}"
    running.should_exit = True
    # pages that wait for news keep their question open for a while
    running.force_exit = True
    thread.join(10)


@pytest.fixture(scope="session")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, Shelf]]:
    """One server for all tests; each has a job to itself."""
    shelf = Shelf(Path(tmp_path_factory.mktemp("desk")) / "shelf", clock())
    with served(shelf) as url:
        yield url, shelf
    shelf.close()


@pytest.fixture
def desk(server: tuple[str, Shelf]) -> RunningDesk:
    """The server, and a small job of its own on it."""
    url, shelf = server
    job = f"car-{next(_numbers)}"
    shelf.add(job, job_from_text(SHEETS), who="A")
    return RunningDesk(url=url, shelf=shelf, job=job)


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    """What drives browsers."""
    with sync_playwright() as made:
        yield made


@pytest.fixture(scope="session")
def browser(chromium: str, playwright: Playwright) -> Iterator[Browser]:
    """The system's Chromium."""
    made = playwright.chromium.launch(executable_path=chromium, args=FLAGS)
    yield made
    made.close()


@pytest.fixture(scope="session")
def context(browser: Browser) -> Iterator[BrowserContext]:
    """A person at the browser: pages of one context share what the browser keeps; a test has its own job, not its own
    browser, so that scripts are fetched once."""
    made = browser.new_context(viewport={"width": 1440, "height": 900})
    made.set_default_timeout(PATIENCE_MS)
    made.grant_permissions(["clipboard-read", "clipboard-write"])
    yield made
    made.close()


@pytest.fixture(scope="session")
def opener(context: BrowserContext, server: tuple[str, Shelf]) -> Iterator[Page]:
    """A page that stays open and opens the pages of tests, so that they are drawn by its process: with a process of its
    own for each, starting it and reading the scripts into it took three times as long as the test."""
    made = context.new_page()
    made.goto(server[0] + "/static/mark.svg")
    yield made
    made.close()


@pytest.fixture
def page(opener: Page) -> Iterator[Page]:
    """An empty page; a script that stops, or that the page's policy stops, fails the test."""
    with opener.expect_popup() as opened:
        opener.evaluate("() => { window.open('about:blank'); }")
    made = opened.value
    complaints: list[str] = []
    made.on("pageerror", lambda fault: complaints.append(str(fault)))
    made.on("console", lambda told: complaints.append(told.text) if "Content Security Policy" in told.text else None)
    yield made
    made.close()
    assert complaints == []
