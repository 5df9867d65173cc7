"""Truth table, worst cases and playing a way: the pages read without scripts, their links set the car."""

from __future__ import annotations

import io
import time

import openpyxl
import pytest

from tests.pages.shelves import SMALL, Page, client_on, shelf_in
from tests.states.small_jobs import CIRCUITS, PARTS, VEHICLE, WIRES
from tests.states.test_truth import HOLDING

PATIENCE_S = 60.0
HOLD = {
    "vehicle": [*VEHICLE],
    "circuits": [*CIRCUITS],
    "parts": [*PARTS, *HOLDING["parts"]],
    "wires": [*WIRES, *HOLDING["wires"]],
}


@pytest.fixture(scope="module")
def client(tmp_path_factory):
    bare = {"vehicle": [*VEHICLE], "parts": [PARTS[0]]}
    shelf = shelf_in(tmp_path_factory.mktemp("states"), small=SMALL, hold=HOLD, bare=bare)
    yield client_on(shelf)
    shelf.close()


def _page(client, path: str, status: int = 200) -> Page:
    answer = client.get(path)
    assert answer.status_code == status, answer.text
    page = Page(answer.text)
    assert page.unclosed == []
    assert len(page.ids()) == len(set(page.ids()))
    return page


def _hrefs(page: Page) -> list[str]:
    return [one["href"] for one in page.all("a")]


def _worst(client, path: str) -> Page:
    """The page once it is worked out."""
    until = time.monotonic() + PATIENCE_S
    while True:
        page = _page(client, path)
        if not any(one.get("class") == "waiting" for one in page.all("div")):
            return page
        assert time.monotonic() < until, "never worked out"
        time.sleep(0.1)


def test_a_table_goes_over_what_decides_its_points_when_nothing_is_named(client):
    page = _page(client, "/j/small/truth?points=LA1")
    assert "8 combinations of key, SW1; everything else at rest." in page.words
    assert page.words.count("works") >= 2
    assert "/j/small/car?state=key=run,SW1=on" in _hrefs(page)
    fields = {one["name"]: one.get("value", "") for one in page.all("input") if "name" in one}
    assert (fields["points"], fields["over"]) == ("LA1", "key,SW1")


def test_a_row_with_a_past_leads_to_the_car_come_to_from_there(client):
    page = _page(client, "/j/hold/truth?points=K1,LA2&over=key,PB")
    assert "from PB on : K1 pulled, LA2 works" in page.words
    assert "/j/hold/car?state=key=run&before=PB=on" in _hrefs(page)


def test_a_page_without_a_question_teaches_and_one_that_makes_no_sense_is_told(client):
    assert "/j/hold/truth?points=K1,LA1" in _hrefs(_page(client, "/j/hold/truth"))
    told = _page(client, "/j/small/truth?points=LA9")
    assert "nearest: LA1" in told.words
    assert "no combination" not in told.words.lower()
    _page(client, "/j/small/truth?points=LA1&at=key=sideways", status=404)


def test_a_table_with_too_many_rows_says_which_variables_make_them(client):
    page = _page(client, "/j/hold/truth?points=LA1&over=key,engine,battery,ambient_c,PB,SW1")
    assert "640 (battery 5, key 4, engine 4" in page.words
    assert "at most 512" in page.words


def test_the_workbook_of_a_table_holds_texts_and_figures_and_no_formula(client):
    answer = client.get("/j/small/truth/table.xlsx?points=LA1.1,F1&over=key=off|run,SW1")
    assert answer.status_code == 200
    sheet = openpyxl.load_workbook(io.BytesIO(answer.content)).worksheets[0]
    rows = list(sheet.iter_rows(values_only=True))
    assert rows[0][:6] == ("key", "SW1", "LA1.1", "LA1.1 in V", "F1", "F1 in A")
    assert rows[4][:3] == ("run", "on", "live")
    assert rows[4][3] == pytest.approx(12.5, abs=0.1)
    assert all(cell.data_type != "f" for row in sheet.iter_rows() for cell in row)


def test_worst_cases_are_sorted_by_the_share_of_the_rating(client):
    page = _worst(client, "/j/small/worst")
    assert "over 48 states that can occur" in page.words
    names = [one["href"].rpartition("/")[2] for one in page.all("a") if one.get("class") == "id"]
    assert names[0] == "F1"
    assert "18 % of 10 A" in page.words
    assert "/j/small/car?state=key=run,SW1=on" in _hrefs(page)
    by_name = _worst(client, "/j/small/worst?sort=name")
    assert next(one["href"].rpartition("/")[2] for one in by_name.all("a") if one.get("class") == "id") == "BAT"
    _page(client, "/j/small/worst?sort=colour", status=404)


def test_each_supply_tells_what_draws_on_it_and_the_workbook_has_both_lists(client):
    page = _worst(client, "/j/small/worst?what=fuse")
    assert "What can draw on each supply" in page.words
    assert "1.75 A" in page.words
    book = openpyxl.load_workbook(io.BytesIO(client.get("/j/small/worst/table.xlsx").content))
    assert book.sheetnames == ["worst cases", "drawn on"]
    fuse = [row for row in book["drawn on"].iter_rows(values_only=True) if row[0] == "F1"]
    assert [(row[3], row[4], row[6]) for row in fuse] == [(10, 1.75, "LA1")]


def test_worst_cases_can_be_stopped_and_begun_again(client):
    # nothing to stop once it is there: both come back to the page
    assert client.post("/j/small/worst/stop").status_code == 200
    assert client.post("/j/small/worst/again").status_code == 200
    assert "It was stopped" not in _worst(client, "/j/small/worst").words


def test_the_state_before_and_the_state_are_steps(client):
    page = _page(client, "/j/hold/car?state=key=run&before=PB=on")
    assert "held by its past K1" in page.words
    back = "/j/hold/car?state=key=run,PB=on&to=key=run"
    assert back in _hrefs(page)
    there = _page(client, back)
    assert "/j/hold/car?state=key=run&before=PB=on" in _hrefs(there)
    assert "held by its past K1" in there.words


def test_a_way_is_played_by_links_one_after_another(client):
    page = _page(client, "/j/hold/car")
    first = next(href for href in _hrefs(page) if href.endswith("play=off"))
    page = _page(client, first)
    seen = []
    while True:
        seen.append(next(i for i, one in enumerate(page.all("li")) if one.get("aria-current") == "step"))
        onward = next((one["href"] for one in page.all("a") if one.get("rel") == "next"), "")
        if not onward:
            break
        page = _page(client, onward)
    assert [number - seen[0] for number in seen] == [0, 1, 2]
    assert any(one.get("rel") == "prev" for one in page.all("a"))
    _page(client, "/j/hold/car?play=sideways", status=404)


def test_moving_a_control_keeps_the_way_that_is_played(client):
    page = _page(client, "/j/hold/car?state=key=run,engine=running,SW1=on&play=off&set.SW1=off&set.key=run")
    hidden = {one["name"]: one["value"] for one in page.all("input") if one.get("type") == "hidden"}
    assert hidden["play"] == "off"


def test_the_car_leads_to_both_pages_and_keeps_its_state(client):
    hrefs = _hrefs(_page(client, "/j/small/car?state=SW1=on"))
    assert "/j/small/truth?at=SW1=on" in hrefs
    assert "/j/small/worst" in hrefs


def test_a_car_that_is_hardly_begun_has_its_pages(client):
    assert "What do you want to know?" in _page(client, "/j/bare/truth").words
    page = _worst(client, "/j/bare/worst")
    assert "batteries 1" in page.words
    assert "never" in page.words
