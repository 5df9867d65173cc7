"""Every page held against WCAG 2.2 AA by axe-core, in a real browser, at the desk and on a tablet.

The pages are those of the application's own routes, each with something to show; of a small job on every run, of the
whole example in the long one.

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
from loomwright.pages.routes import ROUTERS
from loomwright.sheets.csv_folder import open_folder
from loomwright.store.shelf import Shelf
from tests.pages.full_shelf import FullShelf, full_shelf

AXE = (Path(__file__).parent / "vendor" / "axe-core" / "axe.min.js").read_text(encoding="utf-8")
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
SIZES = {"desk": (1440, 900), "tablet": (768, 1024)}
JOB = "axe van"
PATIENCE_S = 300.0
STATE = "state=key=run,engine=running"

PAGES = {
    "/": ("/", ".table"),
    "/patterns": ("/patterns", ".finding"),
    "/brief": ("/brief", ".brief"),
    "/devices": ("/devices", ".devices tbody tr"),
    "/pair": ("/pair", "#code"),
    "/j/{job}": ("/j/{job}", ".stage-block"),
    "/j/{job}/arrival": ("/j/{job}/arrival", ".entry-line"),
    "/j/{job}/questions": ("/j/{job}/questions", ".opens"),
    "/j/{job}/questions/owner": ("/j/{job}/questions/owner", ".owner-asked"),
    "/j/{job}/sheet/{sheet}": ("/j/{job}/sheet/wires", "[data-ready] .skin"),
    "/j/{job}/add": ("/j/{job}/add", ".recipe-list"),
    "/j/{job}/add/{recipe}": ("/j/{job}/add/fan_on_relay", ".recipe-asks"),
    "/j/{job}/decide": ("/j/{job}/decide", ".decide-act"),
    "/j/{job}/pins": ("/j/{job}/pins?need={need}", ".pin-face"),
    "/j/{job}/ways": ("/j/{job}/ways", ".face .cavity"),
    "/j/{job}/symptom": ("/j/{job}/symptom", ".symptom-asks"),
    "/j/{job}/survey": ("/j/{job}/survey", ".swatch"),
    "/j/{job}/survey/{wire}": ("/j/{job}/survey/O1?to=BAT.%2B", "main table, main .rows"),
    "/j/{job}/findings": ("/j/{job}/findings", ".finding"),
    "/j/{job}/mends/{mark}": ("/j/{job}/mends/{mends}", ".mend-tried"),
    "/j/{job}/search": ("/j/{job}/search?q=battery", ".found, .rows li"),
    "/j/{job}/car": (f"/j/{{job}}/car?{STATE}", ".state-face"),
    "/j/{job}/truth": ("/j/{job}/truth?points=BAT.%2B&over=key", "table.truth tbody tr"),
    "/j/{job}/worst": ("/j/{job}/worst", ".worst-what"),
    "/j/{job}/wrong": ("/j/{job}/wrong", ".wrong-line"),
    "/j/{job}/gears": ("/j/{job}/gears", ".gears-chart"),
    "/j/{job}/gears/fewest": ("/j/{job}/gears/fewest", "main .number"),
    "/j/{job}/drawings": ("/j/{job}/drawings?find=W101", ".found-list"),
    "/j/{job}/drawing/{circuit}": ("/j/{job}/drawing/{circuit}", "main svg"),
    "/j/{job}/board": ("/j/{job}/board", ".board-sheets"),
    "/j/{job}/logs": ("/j/{job}/logs", ".log-lines tr"),
    "/j/{job}/logs/{key}": ("/j/{job}/logs/{log}", ".log-chart"),
    "/j/{job}/dyno": ("/j/{job}/dyno", ".dyno-list"),
    "/j/{job}/car-plan": ("/j/{job}/car-plan?run={run}", ".plan-run"),
    "/j/{job}/sizes": ("/j/{job}/sizes", ".decided"),
    "/j/{job}/shorts": ("/j/{job}/shorts", ".loom-bar"),
    "/j/{job}/placing": ("/j/{job}/placing", ".splice-lines"),
    "/j/{job}/beside": ("/j/{job}/beside", ".placing-at"),
    "/j/{job}/circuit/{circuit}": (f"/j/{{job}}/circuit/{{circuit}}?{STATE}", ".energised"),
    "/j/{job}/way/{mark}": ("/j/{job}/way/{way}", ".way-steps li"),
    "/j/{job}/wire/{wire}": ("/j/{job}/wire/W101", ".swatch"),
    "/j/{job}/part/{part}": ("/j/{job}/part/ECU", ".thing-head"),
    "/j/{job}/connector/{connector}": ("/j/{job}/connector/{connector}", ".cavity"),
    "/j/{job}/fault": ("/j/{job}/fault?hunt=pump", ".next-card"),
    "/j/{job}/start": ("/j/{job}/start", ".gate-does"),
    "/j/{job}/timing": ("/j/{job}/timing?rpm1=800&commanded1=10&seen1=12", ".timing-drawn, figure, img"),
    "/j/{job}/numbers": ("/j/{job}/numbers", ".start-chart"),
    "/j/{job}/sensors": ("/j/{job}/sensors?thermistor=-10%3D9000+20%3D2500+80%3D330", ".start-known"),
    "/j/{job}/prove": ("/j/{job}/prove", ".test-card"),
    "/j/{job}/next": ("/j/{job}/next", "body[data-ready] #thing"),
    "/next/shell": ("/next/shell", "body[data-ready]"),
    "/j/{job}/codes": ("/j/{job}/codes", "main svg[role=img]"),
    "/j/{job}/built": ("/j/{job}/built", ".build-row"),
    "/j/{job}/photos": ("/j/{job}/photos", ".photo-row"),
    "/j/{job}/photos/{sheet}/{row}": ("/j/{job}/photos/wires/{key}", ".photo-row"),
    "/why/{job}/{cell}": ("/why/{job}/W101.length_mm", "main .rows, main dl"),
    "/j/{job}/revisions": ("/j/{job}/revisions?from=1&to=2", ".revision"),
    "/j/{job}/revisions/{number}": ("/j/{job}/revisions/1", ".old-rows"),
    "/j/{job}/snags": ("/j/{job}/snags", ".opens"),
    "/j/{job}/hours": ("/j/{job}/hours", ".hours-drawn"),
    "/j/{job}/pack": ("/j/{job}/pack", ".files li"),
    "/j/{job}/handover": ("/j/{job}/handover", ".handover-files"),
    "/j/{job}/handover/copy/{name:path}": ("/j/{job}/handover/copy/job.html", "main, body"),
}
"""Route -> an address of it, and what stands on the page only where it has something to show."""

FILES = (
    *("/fonts/{name}", "/pair/certificate", "/j/{job}/photo/{number}", "/j/{job}/pack/file/{name}"),
    *("/j/{job}/pack/job/{ending}", "/j/{job}/prove/paper", "/j/{job}/dyno/paper", "/j/{job}/dyno/certificate"),
)
"""What is no page: a file, though its address does not end like one."""

FIRST = (
    *("/", "/patterns", "/brief", "/pair", "/devices", "/j/{job}", "/j/{job}/sheet/{sheet}", "/j/{job}/decide"),
    *("/j/{job}/findings", "/j/{job}/car", "/j/{job}/circuit/{circuit}", "/j/{job}/ways", "/j/{job}/next"),
    *("/j/{job}/prove", "/j/{job}/start", "/j/{job}/hours", "/j/{job}/pack"),
)
"""Pages of every sort, asked in every run; all the others are asked in the long one, four seconds each."""

MORE = ("/j/{job}/sheet/decisions", f"/j/{{job}}/car?{STATE}&play=off", "/j/{job}/no such page")
"""Further addresses worth asking."""

OF_THE_LOOK = ["color-contrast", "target-size", "meta-viewport", "scrollable-region-focusable", "link-in-text-block"]
"""What can be otherwise in another look or size; all else is asked once, at the desk."""
RUN = """(values) => axe.run(document, {runOnly: {type: values.includes('wcag2a') ? 'tag' : 'rule', values},
  resultTypes: ['violations']}).then((told) =>
  told.violations.flatMap((one) => one.nodes.map((node) => `${one.id}: ${node.html.slice(0, 160)}`)))"""
READY = "[data-ready] .margin-note"


def routes() -> set[str]:
    """Every address that is looked at and is no data for a program, as the routers have them."""
    paths = {
        route.path for router in ROUTERS for route in router.routes if "GET" in (getattr(route, "methods", None) or ())
    }
    return {path for path in paths if not path.startswith("/api/") and "." not in path.rpartition("/")[2]}


@pytest.fixture(scope="module")
def full() -> Iterator[FullShelf]:
    with full_shelf() as made:
        yield made


@pytest.fixture(scope="module")
def van(server: tuple[str, Shelf]) -> list[str]:
    """Every page of a job, of the van."""
    url, shelf = server
    if JOB not in {line.name for line in shelf.jobs()}:
        shelf.add(JOB, open_folder(example_folder("van")), who="A")
    job = shelf.now(JOB).job
    assert job is not None
    names = {"job": JOB, "need": job.needs[0].id, "run": job.runs[0].id, "connector": job.connectors[0].id}
    names |= {"circuit": next(part.circuit for part in job.parts if part.circuit)}
    names["key"] = str(shelf.now(JOB).rows["wires"][0].key)
    # pages are at their fullest once the findings are known
    until = time.monotonic() + PATIENCE_S
    while not httpx.get(f"{url}/api/j/{JOB}/findings", timeout=60.0).json()["known"]:
        assert time.monotonic() < until, "the check of the van came to no end"
        time.sleep(0.2)
    own = {"W101": job.wires[0].id, "part/ECU": f"part/{job.parts[0].id}"}
    found = []
    for address in [*(address for address, _ in PAGES.values()), *MORE]:
        for word, instead in own.items():
            address = address.replace(word, instead)
        try:
            found.append(url + address.format(**names))
        except KeyError:
            continue  # of a thing this shelf's job has not: a recorded drive, a finding's mark
    return found


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


def worked_out(address: str) -> None:
    """Wait until a page waits for nothing any more; asked without a browser, which would draw it each time."""
    until = time.monotonic() + PATIENCE_S
    while 'class="waiting"' in httpx.get(address, timeout=PATIENCE_S, follow_redirects=True).text:
        assert time.monotonic() < until, address
        time.sleep(0.2)


def read(context: BrowserContext, asked: list[str], pages: dict[str, str]) -> dict[str, list[str]]:
    """What axe has to say of each address; of one whose mark does not come, that it shows nothing."""
    page = context.new_page()
    told = {}
    for address, full in pages.items():
        if not address.endswith("/patterns"):
            worked_out(address)
        page.goto(address)
        if "data-ready" in full:
            page.wait_for_selector(full, state="attached")
        page.evaluate(AXE)
        found = page.evaluate(RUN, asked)
        if full and not page.locator(full).count():
            found.append(f"nothing is shown: {full}")
        if found:
            told[address.partition("/j/")[2] or address] = found
    page.close()
    return told


def test_every_page_of_the_application_is_asked() -> None:
    assert routes() == {*PAGES, *FILES}


def test_what_is_called_a_file_is_none_that_a_person_reads_as_a_page(full: FullShelf) -> None:
    for route in ("/pair/certificate", "/j/{job}/prove/paper", "/j/{job}/dyno/paper", "/j/{job}/photo/{number}"):
        names = {**full.names, "number": "1"}
        worked_out(full.url + route.format(**names))
        answer = httpx.get(full.url + route.format(**names), timeout=60.0)
        assert answer.status_code == 200, route
        assert "html" not in answer.headers["content-type"], route


def test_pages_of_every_sort_hold_what_the_guidelines_ask(
    reader: tuple[BrowserContext, list[str]], full: FullShelf
) -> None:
    context, asked = reader
    assert read(context, asked, {full.address(PAGES[route][0]): PAGES[route][1] for route in FIRST}) == {}


@pytest.mark.long
def test_every_page_holds_what_the_guidelines_ask(reader: tuple[BrowserContext, list[str]], full: FullShelf) -> None:
    context, asked = reader
    pages = {full.address(address): mark for route, (address, mark) in PAGES.items() if route not in FIRST}
    pages |= {full.address(address): "" for address in MORE}
    assert read(context, asked, pages) == {}


@pytest.mark.long
def test_every_page_of_the_van_holds_what_the_guidelines_ask(
    reader: tuple[BrowserContext, list[str]], van: list[str]
) -> None:
    context, asked = reader
    assert read(context, asked, {address: READY if "/sheet/" in address else "" for address in van}) == {}


def test_a_page_that_does_not_hold_is_told(browser: Browser) -> None:
    context = browser.new_context(bypass_csp=True)
    page = context.new_page()
    page.set_content(
        "<html lang=en><title>x</title><main><h1>x</h1><input><p style='color:#bbb'>faint</p></main></html>"
    )
    page.evaluate(AXE)
    for asked, least in ((TAGS, {"label", "color-contrast"}), (OF_THE_LOOK, {"color-contrast"})):
        assert least <= {line.partition(":")[0] for line in page.evaluate(RUN, asked)}
    context.close()
