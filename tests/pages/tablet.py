"""A tablet under the dash, and the server it comes from, which can be stopped and started at its own address."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager

from playwright.sync_api import Browser, BrowserContext, Page, expect

from loomwright.proving.plan import PlannedTest, TestPlan
from loomwright.store.shelf import Shelf
from tests.pages.conftest import PATIENCE_MS, served

SIZE = {"width": 768, "height": 1024}
STILL_MS = 360
"""After an answer a touch is not taken for so long. [ms]"""
AHEAD_YEARS = """(() => {
  const Real = Date;
  const ahead = 5 * 365 * 864e5;
  window.Date = class extends Real {
    constructor(...given) { given.length ? super(...given) : super(Real.now() + ahead); }
    static now() { return Real.now() + ahead; }
  };
})()"""
"""The clock of the tablet five years ahead."""


def planned(name: str, stage: str = "live", **more: object) -> PlannedTest:
    """A test of volts between 11 and 13."""
    given: dict[str, object] = {"does": "as wired", "point": "LA1.1", "measure": "volts", "unit": "V"}
    given |= {"low": 11.0, "high": 13.0, "says": "12 V", "wires": ("W3",), "place": "cabin"}
    return PlannedTest(id=name, stage=stage, **{**given, **more})  # type: ignore[arg-type]


PLAN = TestPlan(
    tests=(planned("live/battery", wires=()), planned("live/LA1.1"), planned("live/LA1.2"), planned("live/F1.2")),
    walk_mm=0.0,
    turns=0,
    before_walk_mm=0.0,
    before_turns=0,
)
"""Four tests, so that none has to be solved for."""


class Bench:
    """A server that is stopped and started at one address."""

    def __init__(self, shelf: Shelf) -> None:
        self.shelf = shelf
        self._stack = ExitStack()
        self.url = ""

    def start(self) -> None:
        """Serve, at the same address as before."""
        port = int(self.url.rpartition(":")[2]) if self.url else 0
        self.url = self._stack.enter_context(served(self.shelf, port))

    def stop(self) -> None:
        """Answer nobody any more."""
        self._stack.close()


@contextmanager
def tablet_in(browser: Browser, *, is_looked_into: bool = False) -> Iterator[BrowserContext]:
    """A tablet of its own, upright, its clock wrong; one that is looked into runs what is put into it."""
    context = browser.new_context(viewport=SIZE, has_touch=True, bypass_csp=is_looked_into)
    context.add_init_script(AHEAD_YEARS)
    context.set_default_timeout(PATIENCE_MS)
    yield context
    context.close()


def opened(context: BrowserContext, url: str, job: str, query: str = "") -> Page:
    """The page of the next thing, ready for work, and kept for later."""
    page = context.new_page()
    page.goto(f"{url}/j/{job}/next{query}")
    page.wait_for_selector("body[data-ready] #thing")
    page.evaluate("() => navigator.serviceWorker.ready.then(() => null)")
    return page


def press(page: Page, words: str) -> None:
    """Touch a button that says this, after an answer has been taken in."""
    page.wait_for_timeout(STILL_MS)
    page.get_by_role("button", name=words, exact=True).click()


def type_figure(page: Page, figure: str, take: str = "Keep it") -> None:
    """Type on the keypad, and keep it."""
    for key in figure:
        page.locator(f".u-key:text-is('{key}')").click()
    press(page, take)


def waiting(page: Page, words: str) -> None:
    """The line that says how many wait says this."""
    expect(page.locator(".u-waits")).to_contain_text(words)
