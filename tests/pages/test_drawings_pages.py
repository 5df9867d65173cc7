"""Drawings to look at: listed, looked through, nearer and further, and the board with its sheets."""

from __future__ import annotations

import pytest

from tests.pages.quiet import quiet_client
from tests.pages.shelves import SMALL, Page, shelf_in

LAID = {
    **SMALL,
    "places": [{"id": "bay", "name": "engine bay"}, {"id": "cabin", "name": "under the seat"}],
    "runs": [{"id": "R1", "from": "bay", "to": "cabin", "length_mm": "1200"}],
}


@pytest.fixture(scope="module")
def client(tmp_path_factory):
    made = shelf_in(tmp_path_factory.mktemp("drawings"), small=LAID)
    yield quiet_client(made)
    made.close()


def test_every_circuit_is_listed_with_its_tracks_and_wires(client):
    page = Page(client.get("/j/small/drawings").text)
    assert page.unclosed == []
    hrefs = [one.get("href") for one in page.all("a")]
    assert "/j/small/drawing/work" in hrefs
    assert "/j/small/board" in hrefs


def test_a_wire_is_found_in_the_drawing_it_lies_in_and_framed_there(client):
    text = client.get("/j/small/drawings?find=w6").text
    assert "/j/small/drawing/work?find=w6" in text
    drawn = client.get("/j/small/drawing/work?find=w6").text
    assert drawn.count('data-about="found"') == 1
    assert 'data-about="found"' not in client.get("/j/small/drawing/work").text


@pytest.mark.parametrize(("near", "wide"), [("true", 297 / 25.4 * 96), ("near", 297 * 13.7), ("whole", None)])
def test_nearer_is_larger_and_true_size_is_true(client, near, wide):
    page = Page(client.get(f"/j/small/drawing/work?near={near}").text)
    shown = next(one for one in page.all("svg") if one.get("role") == "img")
    assert shown["viewbox"] == "0 0 297 210"
    if wide is None:
        assert "width" not in shown
    else:
        assert float(shown["width"]) == pytest.approx(wide, abs=1.0)


def test_the_board_shows_the_whole_its_sheets_and_what_is_not_on_it(client):
    text = client.get("/j/small/board").text
    page = Page(text)
    assert page.unclosed == []
    sheets = [one.get("href", "") for one in page.all("a") if "sheet=" in one.get("href", "")]
    assert sheets
    assert client.get(sheets[0]).status_code == 200
    assert "What is not on the board" in page.words
    assert text.count(">cabin</text>") == 1


@pytest.mark.parametrize(
    "address", ["drawing/nothing", "drawing/work?sheet=9", "drawing/work?near=far", "board?paper=a7", "board?sheet=Z9"]
)
def test_what_there_is_not_is_refused_with_what_there_is(client, address):
    assert client.get(f"/j/small/{address}").status_code == 404


def test_a_drawing_larger_than_its_window_opens_where_its_first_feed_stands(page, desk):
    page.set_viewport_size({"width": 600, "height": 700})
    page.goto(f"{desk.url}/j/{desk.job}/drawings")
    page.goto(desk.url + page.locator('a[href*="/drawing/"]').first.get_attribute("href") + "?near=nearest")
    page.wait_for_function("document.querySelector('[data-drawn]').scrollLeft > 0")
    left, right, words = page.evaluate(
        """() => {
            const view = document.querySelector('[data-drawn]');
            const room = view.getBoundingClientRect();
            const boxes = [...view.querySelectorAll('text')].map((one) => one.getBoundingClientRect());
            const top = Math.min(...boxes.map((box) => box.top));
            const first = Math.min(...boxes.filter((box) => box.top < top + 5).map((box) => box.left));
            return [room.left, room.right, first];
        }"""
    )
    assert left < words < right
