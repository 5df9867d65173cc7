"""One job from an empty shelf to its papers, in a real browser, at the desk and on a tablet.

A reversing lamp for a small car, as a person in the trade would do it: sheets pasted from a spreadsheet, a mistake that
is found while typing goes on, the lamp watched as it lights, a question asked, a wire cut and then made longer, the
hours written down, the pack made and taken away.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from loomwright.store.shelf import Shelf
from tests.pages.conftest import served
from tests.pages.grid_hand import Hand
from tests.store.conftest import clock

SIZES = {"desk": {"width": 1440, "height": 900}, "tablet": {"width": 1024, "height": 768}}
LONG_MS = 120_000
"""For what is worked out beside the pages: a check, a pack. [ms]"""

PLACES = [["bay", "engine bay"], ["cabin"], ["tail"]]
PARTS = [
    ["BAT", "battery", "", "bay"],
    ["KEY", "key_switch", "", "cabin"],
    ["F1", "fuse", "", "bay", "", "", "rating_a=10"],
    ["SW1", "switch", "at the lever", "cabin", "reverse"],
    ["LA1", "lamp", "reversing lamp", "tail", "reverse", "", "watt=21"],
]
CIRCUITS = [["reverse", "reversing lamp", "lighting", "15"]]
WIRES = [
    ["W1", "", "BAT.-", "body", "25", "BK", "", "500"],
    ["W2", "", "BAT.+", "F1.1", "2.5", "RD", "", "300"],
    ["W3", "", "F1.2", "KEY.30", "2.5", "RD/WH", "", "1000"],
    ["W4", "reverse", "KEY.15", "SW1.1", "1.5", "BK/GN", "", "1200"],
    ["W5", "reverse", "SW1.2", "LA1.1", "1.5", "BK/YE", "", "3400"],
]
EARTH = ["W6", "reverse", "LA1.2", "body", "1.5", "BN", "", "400"]


@pytest.fixture(scope="module")
def shelf_address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, Shelf]]:
    shelf = Shelf(Path(tmp_path_factory.mktemp("whole")) / "shelf", clock())
    with served(shelf) as url:
        yield url, shelf
    shelf.close()


def block(rows: list[list[str]]) -> str:
    return "\n".join("\t".join(row) for row in rows)


def typed_in(page: Page, base: str, sheet: str, rows: list[list[str]]) -> Hand:
    """Rows put down at the end of a sheet, as from a spreadsheet."""
    hand = Hand(page=page).open(f"{base}/sheet/{sheet}")
    hand.new(hand.headings()[0]).click()
    return hand.paste(block(rows)).settled()


@pytest.mark.parametrize("size", ["desk", pytest.param("tablet", marks=pytest.mark.long)])
def test_a_job_from_an_empty_shelf_to_its_papers(
    browser: Browser, shelf_address: tuple[str, Shelf], size: str, tmp_path: Path
) -> None:
    url, shelf = shelf_address
    name = f"car {size}"
    context = browser.new_context(viewport=SIZES[size], accept_downloads=True)  # type: ignore[arg-type]
    context.set_default_timeout(30_000)
    context.grant_permissions(["clipboard-read", "clipboard-write"])
    page = context.new_page()

    # the shelf, and a job on it
    page.goto(url)
    if not shelf.jobs():
        expect(page.get_by_role("heading", name="No job is on the shelf yet")).to_be_visible()
    page.get_by_label("Name", exact=True).fill(name)
    page.get_by_role("button", name="Begin").click()
    expect(page.locator(".job-name")).to_have_text(name)
    base = page.url.rstrip("/")

    # the sheets, the lamp's earth forgotten
    hand = Hand(page=page).open(f"{base}/sheet/vehicle")
    hand.pick("title", "value").type("a small car").keys("Enter").settled()
    typed_in(page, base, "places", PLACES)
    typed_in(page, base, "circuits", CIRCUITS)
    typed_in(page, base, "parts", PARTS)
    typed_in(page, base, "wires", WIRES)

    # what the rules find, and from the finding to the place
    page.goto(f"{base}/findings")
    fault = page.locator(".findings li", has_text="LA1").first
    expect(fault).to_be_visible(timeout=LONG_MS)
    fault.get_by_role("link", name=re.compile("^LA1")).first.click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("LA1")

    # mended, and found mended
    typed_in(page, base, "wires", [EARTH])
    page.goto(f"{base}/findings")
    expect(page.locator("main")).to_contain_text("0 faults", timeout=LONG_MS)

    # the car set by hand: dark at rest, lit with the key on and the switch closed
    page.goto(f"{base}/circuit/reverse")
    expect(page.locator(".state-says")).to_contain_text("at rest: dead")
    dark = page.locator(".energised").count()
    page.goto(f"{base}/circuit/reverse?state=key=run,SW1=on")
    row = page.locator("tr", has=page.get_by_role("rowheader", name=re.compile("W5"))).first
    expect(row).to_contain_text(re.compile(r"1\.\d+ A"))
    assert page.locator(".energised").count() > dark

    # a question for the owner, and the page that is shown to the owner
    page.goto(f"{base}/questions")
    page.get_by_label("What is asked").first.fill("Shall the lamp sit under the bumper?")
    page.get_by_role("button", name="Ask it").click()
    page.get_by_role("link", name="The page for the owner").click()
    expect(page.locator("body")).to_contain_text("Shall the lamp sit under the bumper?")

    # a wire is cut; then it has to be longer
    page.goto(f"{base}/built")
    cut = page.get_by_label(re.compile("W5: *length cut"))
    cut.fill("3400")
    cut.press("Enter")
    expect(page.locator("main")).to_contain_text("W5")
    hand = Hand(page=page).open(f"{base}/sheet/wires")
    hand.pick("W5", "length_mm").type("3900").keys("Enter").settled()
    page.goto(f"{base}/built")
    asks = page.locator(".asks")
    expect(asks).to_contain_text("W5")
    expect(asks).to_contain_text("500 mm")

    # hours
    page.goto(f"{base}/hours")
    page.get_by_label("Stage", exact=True).first.select_option("plan")
    page.get_by_label("How long").first.fill("45")
    page.get_by_role("button", name="Write it down").click()
    expect(page.locator("main")).to_contain_text("45 min")

    # the papers
    page.goto(f"{base}/pack")
    page.get_by_role("button", name="Make them").click()
    pdf = page.get_by_role("link", name=re.compile(r"\.pdf$")).first
    expect(pdf).to_be_visible(timeout=LONG_MS)
    with page.expect_download() as coming:
        pdf.click()
    taken = tmp_path / "pack.pdf"
    coming.value.save_as(taken)
    assert taken.read_bytes().startswith(b"%PDF-")

    # nothing was lost: all of it is in the revisions
    page.goto(f"{base}/revisions")
    expect(page.locator("main")).to_contain_text(str(shelf.now(name).revision))
    assert [row.cells["id"] for row in shelf.now(name).rows["wires"]] == ["W1", "W2", "W3", "W4", "W5", "W6"]
    context.close()
