"""Snags: written down, tied to a thing, mended and opened again, by stage."""

from __future__ import annotations

import pytest

from tests.pages.quiet import quiet_client
from tests.pages.shelves import SMALL, Page, shelf_in
from tests.pages.shop_forms import fields, send

HERE = "/j/car/snags"
FOUND = [
    {"id": "S1", "stage": "prove", "text": "The holder is green inside.", "about": "LA1"},
    {"id": "S2", "stage": "prove", "text": "A clip is missing.", "status": "done"},
    {"id": "S3", "text": "It squeaks."},
    {"id": "S4", "stage": "loom", "text": "The grommet is split.", "about": "nothing_there"},
]


@pytest.fixture
def shelf(tmp_path):
    made = shelf_in(tmp_path, car={**SMALL, "snags": FOUND}, new=SMALL)
    yield made
    made.close()


@pytest.fixture
def client(shelf):
    return quiet_client(shelf)


def words(client, address=HERE) -> str:
    return Page(client.get(address, headers={"accept": "text/html"}).text).words


def told(shelf, name: str) -> dict[str, str]:
    return next(dict(row.cells) for row in shelf.now("car").rows["snags"] if row.cells.get("id") == name)


def key(shelf, name: str) -> str:
    return str(next(row.key for row in shelf.now("car").rows["snags"] if row.cells.get("id") == name))


def test_snags_stand_by_stage_those_that_are_open_first(client):
    page = Page(client.get(HERE, headers={"accept": "text/html"}).text)
    assert page.unclosed == []
    assert len(page.ids()) == len(set(page.ids()))
    said = page.words
    assert "3 open of 4" in said
    places = [said.index(text) for text in ("grommet", "green inside", "clip is missing", "squeaks")]
    assert places == sorted(places)


def test_a_snag_is_one_touch_from_the_thing_it_is_about(client):
    page = Page(client.get(HERE, headers={"accept": "text/html"}).text)
    assert any(one.get("href", "").endswith("/part/LA1") for one in page.all("a"))
    # a thing that is not there is named and leads nowhere
    assert "nothing_there" in page.words


def test_a_snag_is_written_down_and_mended_and_opened_again(client, shelf):
    cells = {**fields(client, HERE, "/snags"), "text": "Horn is silent", "stage": "prove", "about": "W5 W6"}
    answer = send(client, HERE, cells)
    assert answer.headers["location"] == f"{HERE}#S5"
    assert told(shelf, "S5")["about"] == "W5 W6"
    for status, said in (("done", "mended"), ("open", "open")):
        row = key(shelf, "S5")
        before = fields(client, HERE, "/status", row)
        assert send(client, f"{HERE}/status", {**before, "status": status}).status_code == 303
        assert told(shelf, "S5")["status"] == status
        assert f"S5 {said} Horn is silent" in words(client)


def test_a_snag_somebody_else_has_mended_meanwhile_is_told(client, shelf):
    row = key(shelf, "S1")
    mine = {**fields(client, HERE, "/snags", row), "status": "with the owner"}
    assert send(client, f"{HERE}/status", {"row": row, "was.status": "", "status": "done"}).status_code == 303
    answer = send(client, HERE, mine)
    assert answer.status_code == 409
    assert "Theirs, meanwhile: done" in Page(answer.text).words
    assert told(shelf, "S1")["status"] == "done"


def test_a_list_with_commas_comes_back_with_the_mend_beside_its_field(client, shelf):
    cells = {**fields(client, HERE, "/snags"), "text": "Two loose ends", "about": "W5, W6"}
    answer = send(client, HERE, cells)
    assert answer.status_code == 422
    assert "It may be: words apart by spaces. Write W5 W6." in Page(answer.text).words
    assert 'value="W5, W6"' in answer.text
    assert len(shelf.now("car").rows["snags"]) == 4


def test_a_job_without_snags_teaches(client):
    assert "None is written down yet." in words(client, "/j/new/snags")
