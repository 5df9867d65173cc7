"""A person's way through what the search of states says: a finding, its state, its way drawn, its mend; tables."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

import pytest
from openpyxl import load_workbook
from playwright.sync_api import Browser, Page, expect

from loomwright.car import Car
from loomwright.store.shelf import Shelf
from tests.pages.test_axe import AXE, RUN, SIZES, TAGS
from tests.states.small_jobs import car

THIN = {"W6": {"size_mm2": "0.5", "length_mm": "30000"}}
"""A wire of the lamp that is far too thin: it loses volts with the key in run and the switch on."""


@pytest.fixture(scope="module")
def thin(server: tuple[str, Shelf]) -> tuple[str, Shelf]:
    """The address of a job with the thin wire, and its shelf."""
    url, shelf = server
    shelf.add("thin", car(changed=THIN), who="A")
    return f"{url}/j/thin", shelf


def test_from_a_finding_to_its_state_its_way_its_mend_and_back(page: Page, thin: tuple[str, Shelf]) -> None:
    at, shelf = thin
    page.goto(f"{at}/findings")
    finding = page.locator(".finding", has_text="DRP-1")
    expect(finding).to_contain_text("SW1=on")
    address = page.url

    # by keyboard alone: the link of its state is reached and followed
    state = finding.locator("dd a.value")
    state.focus()
    page.keyboard.press("Enter")
    expect(page.locator("h1")).to_have_text("Setting the car")
    assert "key=run" in page.url
    assert "SW1=on" in page.url
    expect(page.locator("input[name='set.SW1'][value='on']")).to_be_checked()

    # a way is played step by step; the address carries each step
    page.get_by_role("link", name="the engine is started").click()
    first = page.url
    assert "play=start" in first
    page.get_by_role("link", name="Next step").click()
    expect(page.locator(".played-steps [aria-current='step'] .played-number")).to_have_text("2")
    assert page.url != first
    page.get_by_role("link", name="Step back").click()
    expect(page.locator(".played-steps [aria-current='step'] .played-number")).to_have_text("1")
    page.get_by_role("link", name="the key goes off while the engine turns").click()
    assert "play=off" in page.url
    page.get_by_role("link", name="the engine stalls with the key in run").click()
    assert "play=stall" in page.url

    # its way on the drawing
    page.goto(address)
    page.locator(".finding", has_text="DRP-1").get_by_role("link", name="Shown on the drawing").click()
    expect(page.locator(".way-steps li")).to_have_count(6)
    page.get_by_role("link", name="work", exact=True).click()
    expect(page.locator(".way-steps .is-elsewhere")).to_have_count(3)
    expect(page.locator(".board .ends circle[r='1.75']")).to_have_count(3)

    # its mend, made with one touch; gone; taken back; there again
    page.goto(address)
    page.locator(".finding", has_text="DRP-1").get_by_role("link", name="Try mends").click()
    page.locator(".mend-tried", has_text="Fit W6 in 1.5").get_by_role("button", name="Make this mend").click()
    expect(page.locator("h1")).to_have_text("Findings")
    expect(page.locator(".summary")).to_contain_text("0 faults")
    expect(page.locator(".finding", has_text="DRP-1")).to_have_count(0)
    assert shelf.revisions("thin")[0].why.startswith("Fit W6 in 1.5")
    page.goto(f"{at}/revisions")
    page.get_by_role("button", name="Take it back").click()
    page.goto(address)
    expect(page.locator(".finding", has_text="DRP-1")).to_have_count(1)


def test_a_truth_table_is_asked_for_and_kept_as_a_workbook(page: Page, thin: tuple[str, Shelf]) -> None:
    at, _ = thin
    page.goto(f"{at}/car")
    page.get_by_role("navigation", name="Pages beside this one").get_by_role("link", name="truth table").click()
    page.get_by_label("Points").fill("LA1,W6")
    page.get_by_label("Over").fill("key,SW1")
    page.keyboard.press("Enter")
    expect(page.locator("table.truth tbody tr")).to_have_count(8)
    assert "points=LA1" in page.url
    with page.expect_download() as waited:
        page.get_by_role("link", name="As a workbook").click()
    book = load_workbook(BytesIO(Path(waited.value.path()).read_bytes()))
    texts = (
        [[str(cell) for cell in row] for row in book["truth"].iter_rows(values_only=True)]
        if ("truth" in book.sheetnames)
        else [[str(cell) for cell in row] for sheet in book for row in sheet.iter_rows(values_only=True)]
    )
    assert any("LA1" in cell for row in texts for cell in row)
    assert sum("on" in row and any("run" in cell for cell in row) for row in texts) >= 1


def test_one_thing_wrong_is_followed_stopped_begun_again_and_picked(
    page: Page, thin: tuple[str, Shelf], monkeypatch: pytest.MonkeyPatch
) -> None:
    at, _ = thin
    on = threading.Event()

    def slow(asked: Car, tell):  # type: ignore[no-untyped-def]
        for done in range(3000):
            if on.is_set():
                break
            tell(done, 3000)
            time.sleep(0.02)
        return asked.wrong(tell)

    monkeypatch.setattr("loomwright.pages.routes.wrong.wrong_of", slow)
    page.goto(f"{at}/wrong")
    expect(page.get_by_role("status")).to_contain_text("of 3\u202f000")
    page.get_by_role("button", name="Stop").click()
    expect(page.get_by_role("heading", name="It was stopped")).to_be_visible()
    on.set()
    page.get_by_role("button", name="Work it out after all").click()
    expect(page.locator(".wrong-line").first).to_be_visible()
    page.get_by_role("link", name="stuck", exact=True).click()
    stuck = page.locator(".wrong-line", has=page.locator("h3", has_text="SW1")).first
    expect(stuck).to_contain_text("starts")
    page.locator("#pick-circuit").select_option("work")
    page.get_by_role("button", name="Show").click()
    assert "circuit=work" in page.url
    expect(page.locator("#pick-circuit")).to_have_value("work")
    stuck.get_by_role("link", name="LA1").first.click()
    expect(page.locator("h1")).to_have_text("Setting the car")


@pytest.fixture(scope="module", params=[("light", "desk"), ("dark", "tablet")], ids="-".join)
def reader(request: pytest.FixtureRequest, browser: Browser) -> Iterator[Page]:
    """A page into which the checker may be put."""
    look, size = request.param
    width, height = SIZES[size]
    context = browser.new_context(
        bypass_csp=True, color_scheme=look, reduced_motion="reduce", viewport={"width": width, "height": height}
    )
    context.set_default_timeout(60_000)
    yield context.new_page()
    context.close()


@pytest.mark.long
def test_these_pages_hold_what_the_guidelines_ask_and_fit_across(reader: Page, thin: tuple[str, Shelf]) -> None:
    at, _ = thin
    reader.goto(f"{at}/findings")
    finding = reader.locator(".finding", has_text="DRP-1")
    mends = finding.get_by_role("link", name="Try mends").get_attribute("href") or ""
    way = finding.get_by_role("link", name="Shown on the drawing").get_attribute("href") or ""
    base = at.removesuffix("/j/thin")
    shown = {
        base + mends: ".mend-tried",
        base + way: ".way-steps li",
        f"{at}/wrong": ".wrong-line",
    }
    told = {}
    for address, full in shown.items():
        reader.goto(address)
        reader.locator(full).first.wait_for()
        reader.evaluate(AXE)
        found = reader.evaluate(RUN, TAGS)
        if reader.evaluate("document.documentElement.scrollWidth > innerWidth"):
            found.append("wider than the window")
        if found:
            told[address] = found
    assert told == {}


@pytest.mark.long
def test_what_is_printed_has_the_way_and_nothing_for_the_hand(reader: Page, thin: tuple[str, Shelf]) -> None:
    at, _ = thin
    reader.goto(f"{at}/findings")
    reader.locator(".finding", has_text="DRP-1").get_by_role("link", name="Shown on the drawing").click()
    reader.emulate_media(media="print")
    expect(reader.locator(".way-steps li").first).to_be_visible()
    expect(reader.locator(".way-drawings")).to_be_hidden()
    expect(reader.locator(".strip-pages")).to_be_hidden()
    reader.emulate_media(media="screen")
