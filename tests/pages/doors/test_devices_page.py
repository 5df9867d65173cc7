"""The owner's page of devices."""

from __future__ import annotations

import re

from tests.pages.doors.shop import Shop
from tests.pages.shelves import SMALL, Page, client_on, shelf_in


def test_a_shelf_that_answers_its_own_machine_says_how_devices_come_in(tmp_path):
    shelf = shelf_in(tmp_path, small=SMALL)
    client = client_on(shelf)
    assert "loomwright serve --lan" in Page(client.get("/devices").text).words
    assert client.get("/pair", headers={"accept": "text/html"}).status_code == 409
    shelf.close()


def test_the_page_names_every_device_with_what_it_may_and_when(shop: Shop):
    shop.let_in("look", "reading tablet")
    page = Page(shop.owner().get("/devices").text)
    assert "reading tablet" in page.words
    assert "1970-01-12 13:46" in page.words  # the clock of the test: 1 000 000 s
    chosen = [one["value"] for one in page.all("option") if "selected" in one]
    assert "look" in chosen


def test_a_code_is_shown_once_with_its_square(shop: Shop):
    owner = shop.owner()
    page = Page(owner.post("/devices/code", data={"role": "bench"}).text)
    code = re.search(r"[2-9A-HJ-NP-Z]{4}-[2-9A-HJ-NP-Z]{4}", page.words)
    assert code is not None
    assert page.all("svg")
    assert code[0] not in owner.get("/devices").text
    assert shop.stranger().post("/pair", data={"code": code[0], "name": "scanned"}).status_code == 303


def test_a_role_that_is_none_is_told(shop: Shop):
    answer = shop.owner().post("/devices/code", data={"role": "king"}, headers={"accept": "text/html"})
    assert answer.status_code == 422
    assert "Pick one of these" in Page(answer.text).words


def test_a_device_that_is_none_is_told(shop: Shop):
    answer = shop.owner().post("/devices/nobody/revoke", headers={"accept": "text/html"})
    assert answer.status_code == 404


def test_who_was_let_go_is_told_apart(own_shop: Shop):
    own_shop.let_in("bench", "gone")
    own_shop.owner().post(f"/devices/{own_shop.device('gone')}/revoke")
    words = Page(own_shop.owner().get("/devices").text).words
    assert "No device is let in" in words
    assert "gone, bench: let go" in words
    assert "What happened at the door" in words


def test_every_page_leads_the_owner_there_and_nobody_else(shop: Shop):
    def leads(client) -> bool:
        return any(one.get("href") == "/devices" for one in Page(client.get("/").text).all("a"))

    assert leads(shop.owner())
    assert not leads(shop.let_in("bench"))
    assert not leads(shop.let_in("look"))
