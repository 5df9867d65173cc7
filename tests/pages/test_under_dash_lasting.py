"""The tablet loses power at any moment; five hundred records come in at once; nothing keeps a thumb waiting."""

from __future__ import annotations

import os
import random
import signal
import statistics
import subprocess
import time
import urllib.request
from contextlib import suppress
from pathlib import Path

import pytest
from playwright.sync_api import Error, Playwright, expect

from loomwright.examples.shelf import example_folder
from loomwright.pages.checking import CheckBench
from loomwright.pages.routes import under_dash
from loomwright.sheets.csv_folder import open_folder
from tests.pages.conftest import FLAGS
from tests.pages.shelves import shelf_in
from tests.pages.tablet import PLAN, SIZE, Bench, opened, press, tablet_in, waiting
from tests.pages.test_axe import AXE, RUN, TAGS
from tests.worklist.small_day import SMALL_DAY

CUTS = int(os.environ.get("POWER_CUTS", "100"))
"""Power cuts; fewer where somebody only wants to see it work. [-]"""
EACH = 40
RECORDS = 500
SYNCED_S = 5.0
STEP_MS = 100.0
KEPT_PAINT_MS = 300.0
FRESH_PAINT_MS = 1000.0

SMALL = """() => [...document.querySelectorAll("button, a[href], summary")]
  .filter((one) => one.offsetParent !== null)
  .map((one) => [one.textContent, one.getBoundingClientRect()])
  .filter(([, box]) => box.height < 64 || box.width < 64)
  .map(([words, box]) => `${words}: ${Math.round(box.width)} x ${Math.round(box.height)}`)"""
"""What is too small for a thumb in a glove."""

WRITE = """async ({ from, many }) => {
  const { addAct, newId } = await import("/static/js/under/keep.js");
  for (let nth = from; nth < from + many; nth += 1) {
    await addAct({
      id: newId(), job: "car", thing: `t${nth}`, does: "", made: new Date().toISOString(), base: 1, sheet: "progress",
      cells: { wire: "W2", end: "both", step: "cut", length_mm: String(nth) }, asks: {}, said: { value: "" }, back: "",
      choose: "", state: "waiting", settled: false,
    });
    window.keptNow(nth);
    if (nth % 3 === 0) dispatchEvent(new Event("online"));
  }
}"""


@pytest.fixture
def bench(tmp_path, monkeypatch):
    monkeypatch.setattr(under_dash, "plan_apart", lambda _job, _tell: PLAN)
    monkeypatch.setattr(CheckBench, "warm", lambda _: None)
    shelf = shelf_in(tmp_path, car=SMALL_DAY)
    made = Bench(shelf)
    made.start()
    yield made
    made.stop()
    shelf.close()


def lengths(shelf):
    return [int(row.cells["length_mm"]) for row in shelf.now("car").rows.get("progress", ())]


class Cut:
    """A browser of a tablet's own, whose whole family of processes is ended at once, as a power cut ends it."""

    def __init__(self, chromium: str, folder: Path, playwright: Playwright) -> None:
        told = folder / "DevToolsActivePort"
        told.unlink(missing_ok=True)
        folder.mkdir(exist_ok=True)
        given = [chromium, *FLAGS, "--headless=new", f"--user-data-dir={folder}", "--remote-debugging-port=0"]
        self._process = subprocess.Popen(
            [*given, "about:blank"], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True
        )
        until = time.monotonic() + 60.0
        while not (told.is_file() and len(told.read_text(encoding="utf-8").split()) > 1):
            assert time.monotonic() < until, "the browser does not say where it listens"
            time.sleep(0.02)
        port, path = told.read_text(encoding="utf-8").split()[:2]
        self._browser = playwright.chromium.connect_over_cdp(f"ws://127.0.0.1:{port}{path}")
        self.page = self._browser.contexts[0].pages[0]
        self.page.set_default_timeout(60_000)

    def power_lost(self) -> None:
        """End it."""
        os.killpg(self._process.pid, signal.SIGKILL)
        self._process.wait()
        with suppress(Error):  # it is gone
            self._browser.close()


@pytest.mark.long
def test_no_record_is_lost_or_doubled_when_the_tablet_loses_power(bench, chromium, tmp_path, playwright):
    dice = random.Random(20)
    folder = tmp_path / "tablet"
    kept: list[int] = []
    given, is_serving = 1, True
    for nth in range(CUTS):
        cut = Cut(chromium, folder, playwright)
        cut.page.expose_function("keptNow", lambda nth: kept.append(nth))
        cut.page.goto(f"{bench.url}/j/car/next")
        cut.page.wait_for_selector("body[data-ready]")
        if nth == 0:
            cut.page.evaluate("() => navigator.serviceWorker.ready.then(() => null)")
        cut.page.evaluate(f"(given) => {{ ({WRITE})(given).catch(() => null); }}", {"from": given, "many": EACH})
        cut.page.wait_for_timeout(dice.uniform(0.0, 250.0))
        cut.power_lost()
        given += EACH
        if is_serving and dice.random() < 0.5:
            bench.stop()
            is_serving = False
        elif not is_serving and dice.random() < 0.5:
            bench.start()
            is_serving = True
    if not is_serving:
        bench.start()
    last = Cut(chromium, folder, playwright)
    last.page.goto(f"{bench.url}/j/car/next")
    expect(last.page.locator(".u-waits")).to_contain_text("all is sent")
    last.power_lost()
    there = lengths(bench.shelf)
    print(f"{CUTS} cuts: {len(kept)} records were kept before them, {len(there)} came in")
    assert len(kept) > CUTS
    assert set(kept) <= set(there)
    assert len(there) == len(set(there))
    assert there == sorted(there)


@pytest.mark.long
def test_five_hundred_records_are_sent_in_five_seconds(bench, browser):
    with tablet_in(browser) as tablet:
        page = opened(tablet, bench.url, "car")
        bench.stop()
        page.evaluate(
            """async (many) => {
              const { addActs, newId } = await import("/static/js/under/keep.js");
              await addActs(Array.from({ length: many }, (_, nth) => ({
                id: newId(), job: "car", thing: `t${nth}`, does: "", made: new Date().toISOString(), base: 1,
                sheet: "progress", cells: { wire: "W2", end: "both", step: "cut", length_mm: String(nth + 1) },
                asks: {},
                said: { value: "" }, back: "", choose: "", state: "waiting", settled: false,
              })));
            }""",
            RECORDS,
        )
        page.reload()
        waiting(page, f"{RECORDS} wait to be sent")
        bench.start()
        begun = time.monotonic()
        page.evaluate("() => dispatchEvent(new Event('online'))")
        waiting(page, "all is sent")
        took_s = time.monotonic() - begun
    print(f"{RECORDS} records in {took_s:.2f} s")
    assert lengths(bench.shelf) == list(range(1, RECORDS + 1))
    assert took_s < SYNCED_S


SEEN_AT = """new MutationObserver((_, watch) => {
  if (!document.querySelector("#thing")) return;
  watch.disconnect();
  requestAnimationFrame(() => setTimeout(() => { window.seenAt = performance.now(); }));
}).observe(document, { childList: true, subtree: true });"""
"""When the thing to do is drawn, which is what is looked for; the first words come before it."""


@pytest.fixture
def van(tmp_path):
    shelf = shelf_in(tmp_path)
    shelf.add("van", open_folder(example_folder("van")), who="sam")
    made = Bench(shelf)
    made.start()
    until = time.monotonic() + 300.0
    while "whole" not in urllib.request.urlopen(f"{made.url}/api/j/van/day").headers["ETag"]:
        assert time.monotonic() < until
        time.sleep(1.0)
    yield made
    made.stop()
    shelf.close()


@pytest.mark.long
@pytest.mark.parametrize(("server", "job"), [("bench", "car"), ("van", "van")])
def test_a_step_answers_at_once_and_the_page_is_there_before_one_looks(request, browser, server, job):
    bench = request.getfixturevalue(server)

    def seen(page) -> float:
        page.wait_for_selector("body[data-ready] #thing")
        page.wait_for_timeout(300)
        return page.evaluate("window.seenAt")

    fresh: list[float] = []
    for _ in range(3):
        with tablet_in(browser) as new:
            new.add_init_script(SEEN_AT)
            fresh.append(seen(opened(new, bench.url, job, "?work=build")))
    fresh_ms = min(fresh)
    with tablet_in(browser) as tablet:
        tablet.add_init_script(SEEN_AT)
        page = opened(tablet, bench.url, job, "?work=build")
        bench.stop()
        kept_ms = []
        for _ in range(5):
            page.reload()
            kept_ms.append(seen(page))
        steps_ms = []
        for _ in range(12):
            page.wait_for_timeout(400)
            steps_ms.append(
                page.evaluate(
                    """() => new Promise((resolve) => {
                      const was = document.getElementById("thing").textContent;
                      const begun = performance.now();
                      const seen = new MutationObserver(() => {
                        const now = document.getElementById("thing");
                        if (now && now.textContent !== was) { seen.disconnect(); resolve(performance.now() - begun); }
                      });
                      seen.observe(document.querySelector("[data-part=work]"), { childList: true, subtree: true });
                      document.querySelector(".u-large").click();
                    })"""
                )
            )
        bench.start()
    kept, step = statistics.median(kept_ms), statistics.median(steps_ms)
    print(f"{job}: the thing is there after {fresh_ms:.0f} ms, from what is kept {kept:.0f} ms, a step {step:.0f} ms")
    assert fresh_ms < FRESH_PAINT_MS
    assert kept < KEPT_PAINT_MS
    assert step < STEP_MS


@pytest.mark.long
def test_two_people_who_read_the_same_point_differently_choose_on_the_tablet(bench, browser):
    with tablet_in(browser) as tablet:
        page = opened(tablet, bench.url, "car", "?work=prove")
        expect(page.locator(".u-works")).to_contain_text("prove4")
        bench.stop()
        page.locator(".u-key:text-is('9')").click()
        press(page, "Keep it")
        other = {
            "test": "live/battery",
            "point": "LA1.1",
            "value": "12.5",
            "unit": "V",
            "verdict": "passed",
            "who": "A",
        }
        bench.shelf.record("car", "proofs", other, who="A")
        bench.start()
        page.evaluate("() => dispatchEvent(new Event('online'))")
        press(page, "1 to choose")
        expect(page.locator(".u-choices")).to_contain_text("12.5 V")
        page.get_by_role("button", name="of A").click()
        expect(page.locator(".is-settle")).to_have_count(0)
        waiting(page, "all is sent")
    assert [row.cells["value"] for row in bench.shelf.now("car").rows["proofs"]] == ["9", "12.5"]


@pytest.mark.long
def test_every_screen_of_it_can_be_read_and_hit_by_everybody(bench, browser):
    told: list[str] = []
    small: list[str] = []
    with tablet_in(browser, is_looked_into=True) as tablet:
        page = opened(tablet, bench.url, "car", "?work=prove")
        expect(page.locator(".u-works")).to_contain_text("prove4")
        page.evaluate(AXE)
        for look, turned in (("Dark", SIZE), ("Light", {"width": SIZE["height"], "height": SIZE["width"]})):
            page.set_viewport_size(turned)  # type: ignore[arg-type]
            page.locator(".u-foot").get_by_role("button", name="More").click()
            page.get_by_role("button", name=look, exact=True).click()
            told += page.evaluate(RUN, TAGS)
            page.get_by_role("button", name="Back to the work").click()
            for work in ("build", "fit", "prove", "start"):
                page.locator(".u-works button").filter(has_text=work).click()
                told += page.evaluate(RUN, TAGS)
                small += page.evaluate(SMALL)
    assert told == []
    assert small == []
