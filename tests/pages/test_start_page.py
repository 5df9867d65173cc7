"""The first start in the browser: what is open in full, the stop on it, a figure judged and kept, a try on record."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page as BrowserPage
from playwright.sync_api import expect

from tests.pages.conftest import RunningDesk
from tests.pages.quiet import quiet_client
from tests.pages.shelves import SMALL, Page, shelf_in


@pytest.fixture(scope="module")
def shelf(tmp_path_factory):
    made = shelf_in(tmp_path_factory.mktemp("start"), small=SMALL)
    yield made
    made.close()


@pytest.fixture(scope="module")
def client(shelf):
    return quiet_client(shelf)


def test_the_first_stage_is_open_with_the_stop_on_it_and_later_ones_closed(client):
    page = Page(client.get("/j/small/start").text)
    assert page.words.count("STOP: key off") == 1
    assert sum("stop-always" in one.get("class", "") for one in page.all("p")) == 1
    assert "closed until the stages before it are through" in page.words
    assert "crank 15 s at most" not in page.words, "a closed stage shows no items"
    assert page.unclosed == []
    assert len(page.ids()) == len(set(page.ids()))


def test_what_is_so_is_kept_and_what_may_not_be_waived_is_told(client, shelf):
    sent = client.post("/j/small/start", data={"item": "fluids", "verdict": "passed"}, follow_redirects=False)
    assert sent.status_code == 303
    assert [(row.gate, row.verdict) for row in shelf.now("small").job.gates] == [("fluids", "passed")]
    for typed in (
        {"item": "fire_ready", "verdict": "waived", "reason": "no time"},
        {"item": "battery_rest", "verdict": "passed", "value": "12.6"},
        {"item": "moon", "verdict": "passed"},
    ):
        answer = client.post("/j/small/start", data=typed, follow_redirects=False)
        assert answer.status_code == 422
        assert "It was not taken down" in Page(answer.text).words
    assert len(shelf.now("small").job.gates) == 1


def test_a_try_is_on_record(client, shelf):
    typed = {"result": "fired and died", "crank_s": "4", "changed": "more fuel"}
    assert client.post("/j/small/start/tried", data=typed, follow_redirects=False).status_code == 303
    assert shelf.now("small").job.attempts[0].crank_s == 4.0
    assert "fired and died" in Page(client.get("/j/small/start").text).words


def test_the_stage_leads_there(client):
    page = Page(client.get("/j/small").text)
    assert any(one.get("href", "").endswith("/j/small/start") for one in page.all("a"))


def test_what_was_passed_is_read_to_its_end_on_a_tablet(page: BrowserPage, desk: RunningDesk) -> None:
    """A sentence of what is through stood on one line, off the side of the page."""
    page.set_viewport_size({"width": 834, "height": 1112})
    page.goto(f"{desk.url}/j/{desk.job}/start")
    page.get_by_role("button", name="It is so").first.click()
    through = page.locator(".weight.passed").first
    expect(through).to_contain_text("Two people, an extinguisher for fuel")
    box = through.bounding_box()
    assert box is not None
    assert box["x"] + box["width"] <= 834
    assert page.evaluate("document.documentElement.scrollWidth") <= 834
