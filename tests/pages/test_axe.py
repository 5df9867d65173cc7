"""Every page held against WCAG 2.2 AA by axe-core, in a real browser, at the desk and on a tablet.

Source: W3C, Web Content Accessibility Guidelines 2.2, levels A and AA, as axe-core 4.14 checks them.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest
from playwright.sync_api import Browser, BrowserContext

from loomwright.examples.shelf import example_folder
from loomwright.sheets.csv_folder import open_folder
from loomwright.store.shelf import Shelf

AXE = (Path(__file__).parent / "vendor" / "axe-core" / "axe.min.js").read_text(encoding="utf-8")
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
SIZES = {"desk": (1440, 900), "tablet": (768, 1024)}
JOB = "axe van"
PATIENCE_S = 300.0
PATIENCE_LOOKS = 40
PAGES = (
    "/",
    "/patterns",
    "/brief",
    "/j/{job}",
    "/j/{job}/arrival",
    "/j/{job}/questions",
    "/j/{job}/questions/owner",
    "/j/{job}/sheet/wires",
    "/j/{job}/sheet/decisions",
    "/j/{job}/add",
    "/j/{job}/add/fan_on_relay",
    "/j/{job}/pins?need=fan_left",
    "/j/{job}/survey",
    "/j/{job}/survey/O7",
    "/j/{job}/survey/O1?to=BAT.%2B",
    "/j/{job}/findings",
    "/j/{job}/search?q=rear",
    "/j/{job}/car?state=key=run,engine=idle",
    "/j/{job}/truth?points=BAT.%2B&over=key",
    "/j/{job}/worst",
    "/j/{job}/car-plan?run=R11",
    "/j/{job}/shorts",
    "/j/{job}/placing",
    "/j/{job}/car?state=key=run,engine=running&play=off",
    "/j/{job}/circuit/{circuit}?state=key=run,engine=idle",
    "/j/{job}/wire/{wire}",
    "/j/{job}/part/{part}",
    "/j/{job}/connector/{connector}",
    "/j/{job}/built",
    "/j/{job}/photos",
    "/j/{job}/photos/wires/{key}",
    "/why/{job}/{wire}.length_mm",
    "/j/{job}/revisions/1",
    "/j/{job}/snags",
    "/j/{job}/hours",
    "/j/{job}/revisions",
    "/j/{job}/pack",
    "/j/{job}/no such page",
)
OF_THE_LOOK = ["color-contrast", "target-size", "meta-viewport", "scrollable-region-focusable", "link-in-text-block"]
"""What can be otherwise in another look or size; all else is asked once, at the desk."""
RUN = """(values) => axe.run(document, {runOnly: {type: values.includes('wcag2a') ? 'tag' : 'rule', values},
  resultTypes: ['violations']}).then((told) =>
  told.violations.flatMap((one) => one.nodes.map((node) => `${one.id}: ${node.html.slice(0, 160)}`)))"""


@pytest.fixture(scope="module")
def addresses(server: tuple[str, Shelf]) -> list[str]:
    """Every page, of the van."""
    url, shelf = server
    if JOB not in {line.name for line in shelf.jobs()}:
        shelf.add(JOB, open_folder(example_folder("van")), who="A")
    job = shelf.now(JOB).job
    assert job is not None
    circuit = next(part.circuit for part in job.parts if part.circuit)
    names = {"job": JOB, "circuit": circuit, "wire": job.wires[0].id}
    names["key"] = shelf.now(JOB).rows["wires"][0].key
    names |= {"part": job.parts[0].id, "connector": job.connectors[0].id}
    # pages are at their fullest once the findings are known
    until = time.monotonic() + PATIENCE_S
    while not httpx.get(f"{url}/api/j/{JOB}/findings", timeout=60.0).json()["known"]:
        assert time.monotonic() < until, "the check of the van came to no end"
        time.sleep(0.2)
    return [url + page.format(**names) for page in PAGES]


@pytest.fixture(
    scope="module", params=[("light", "desk"), pytest.param(("dark", "tablet"), marks=pytest.mark.long)], ids="-".join
)
def reader(request: pytest.FixtureRequest, browser: Browser) -> Iterator[tuple[BrowserContext, list[str]]]:
    """A browser into which the checker may be put, and what it is to ask."""
    look, size = request.param
    width, height = SIZES[size]
    made = browser.new_context(
        bypass_csp=True, color_scheme=look, reduced_motion="reduce", viewport={"width": width, "height": height}
    )
    made.set_default_timeout(60_000)
    yield made, TAGS if size == "desk" else OF_THE_LOOK
    made.close()


def test_every_page_holds_what_the_guidelines_ask(
    reader: tuple[BrowserContext, list[str]], addresses: list[str]
) -> None:
    context, asked = reader
    page = context.new_page()
    # a page that waits for an answer looks again by itself, which would take the checker away with it
    page.route("**/standing_by.js*", lambda route: route.abort())
    told = {}
    for address in addresses:
        page.goto(address)
        for _ in range(PATIENCE_LOOKS):
            if not page.locator(".waiting").count():
                break
            page.wait_for_timeout(250)
            page.goto(address)
        if address.endswith("/sheet/wires"):
            page.wait_for_selector("[data-ready]")
            page.wait_for_selector(".margin-note")
        page.evaluate(AXE)
        found = page.evaluate(RUN, asked)
        if found:
            told[address.partition("/j/")[2] or address] = found
    page.close()
    assert told == {}


def test_a_page_that_does_not_hold_is_told(reader: tuple[BrowserContext, list[str]]) -> None:
    context, asked = reader
    page = context.new_page()
    page.set_content(
        "<html lang=en><title>x</title><main><h1>x</h1><input><p style='color:#bbb'>faint</p></main></html>"
    )
    page.evaluate(AXE)
    found = {line.partition(":")[0] for line in page.evaluate(RUN, asked)}
    page.close()
    assert ({"label", "color-contrast"} if asked is TAGS else {"color-contrast"}) <= found
