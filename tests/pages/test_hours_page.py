"""Hours: written down by stage and by who, against those of the quote, with what is over said in words."""

from __future__ import annotations

import pytest

from tests.handover.small_quote import SHEETS
from tests.pages.quiet import quiet_client
from tests.pages.shelves import Page, shelf_in
from tests.pages.shop_forms import fields, send

HERE = "/j/car/hours"
SPENT = [
    {"stage": "arrival", "minutes": "100", "who": "A", "time": "2026-03-02"},
    {"stage": "survey", "minutes": "20", "who": "B"},
    {"stage": "survey", "minutes": "15", "who": "A"},
]


@pytest.fixture
def shelf(tmp_path):
    made = shelf_in(tmp_path, car={**SHEETS, "hours": SPENT})
    yield made
    made.close()


@pytest.fixture
def client(shelf):
    return quiet_client(shelf)


def words(client, address=HERE) -> str:
    return Page(client.get(address, headers={"accept": "text/html"}).text).words


def told(shelf) -> list[dict[str, str]]:
    return [dict(row.cells) for row in shelf.now("car").rows.get("hours", ())]


def test_what_is_over_is_said_in_words_beside_its_bar(client):
    page = Page(client.get(HERE, headers={"accept": "text/html"}).text)
    assert page.unclosed == []
    assert len(page.ids()) == len(set(page.ids()))
    # arrival is quoted at most 90 minutes: 10 over
    assert "Arrival over by 10 min" in page.words
    # survey is quoted at 29 minutes, as a rule
    assert "6 min beyond the usual B 20 min, A 15 min" in page.words
    assert len([one for one in page.all("path") if one.get("class") == "bar-over"]) == 2  # the stage, and the legend


def test_an_entry_is_written_down_with_a_unit_of_its_own(client, shelf):
    cells = {**fields(client, HERE, "/hours"), "stage": "loom", "minutes": "1.5 h", "note": "crimped"}
    answer = send(client, HERE, cells)
    assert (answer.status_code, answer.headers["location"]) == (303, f"{HERE}#entries")
    assert told(shelf)[-1] | {"time": ""} == {
        "stage": "loom",
        "minutes": "1.5 h",
        "who": "sam",
        "note": "crimped",
        "time": "",
    }
    assert "Loom 1.5 h 2 h" in words(client)


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"stage": "", "minutes": "90"}, "Pick the stage it was spent in."),
        ({"stage": "loom", "minutes": ""}, "Write how long: 90, or 1.5 h."),
        ({"stage": "loom", "minutes": "a while"}, "Write the figure, with its unit where that is another one."),
    ],
)
def test_an_entry_that_says_too_little_comes_back_as_typed(client, shelf, typed, says):
    cells = {**fields(client, HERE, "/hours"), "note": "kept as typed", **typed}
    answer = send(client, HERE, cells)
    assert answer.status_code == 422
    assert says in Page(answer.text).words
    assert 'value="kept as typed"' in answer.text
    assert len(told(shelf)) == 3


def test_an_entry_is_put_right_or_taken_out(client, shelf):
    row = str(shelf.now("car").rows["hours"][0].key)
    cells = {**fields(client, HERE, "/hours", row), "minutes": "50"}
    assert send(client, HERE, cells).status_code == 303
    assert "No stage is beyond the most that was quoted." in words(client)
    assert send(client, HERE, {**fields(client, HERE, "/hours", row), "do": "drop"}).status_code == 303
    assert len(told(shelf)) == 2


def test_a_stage_in_the_address_is_picked_already(client):
    assert fields(client, f"{HERE}?stage=loom", "/hours")["stage"] == "loom"
