"""Changes that no page of ours sent, and addresses under which we are not asked."""

from __future__ import annotations

import pytest

from tests.pages.doors.addresses import asked, changes, looks
from tests.pages.doors.shop import ADDRESS, JOB, URL, Shop
from tests.pages.shelves import SMALL, Page, client_on, here, shelf_in

JSON = {"accept": "application/json"}
FOREIGN = (
    {"origin": "http://elsewhere.example"},
    {"origin": "null"},
    {"origin": f"https://{ADDRESS}:8140"},
    {"origin": f"http://{ADDRESS}:81400"},
    {"origin": URL, "sec-fetch-site": "cross-site"},
    {"origin": URL, "sec-fetch-site": "same-site"},
)


@pytest.mark.parametrize("headers", FOREIGN)
def test_a_change_sent_by_another_site_is_refused(shop: Shop, headers):
    client = shop.let_in("bench")
    answer = client.post(f"/j/{JOB}/snags", data={"text": "x"}, headers=JSON | headers)
    assert answer.status_code == 403
    assert "no page of this shelf sent" in answer.json()["refused"][0]["found"]


def test_another_site_is_refused_at_every_address_that_changes_something(shop: Shop):
    client, owner = shop.let_in("owner"), shop.owner()
    told = {}
    for method, path in changes():
        for who in (client, owner):
            answer = who.request(method, asked(path), headers=JSON | {"origin": "http://elsewhere.example"})
            if answer.status_code != 403:
                told[path] = answer.status_code
    assert told == {}


def test_a_device_has_to_say_where_a_change_comes_from(shop: Shop):
    client = shop.let_in("bench")
    del client.headers["origin"]
    assert client.post("/api/j/small/stop", headers=JSON).status_code == 403
    assert client.post("/api/j/small/stop", headers={"sec-fetch-site": "same-origin"}).status_code == 200
    assert client.get("/api/jobs").status_code == 200


def test_a_program_at_the_machine_itself_needs_not(shop: Shop):
    assert shop.owner().post("/api/j/small/stop").status_code == 200


def test_forms_of_our_pages_say_where_they_come_from():
    # under `no-referrer` a browser sends `Origin: null` with a form (Fetch, append a request `Origin` header)
    from loomwright.pages.safe_headers import SAFE_HEADERS

    assert SAFE_HEADERS["Referrer-Policy"] == "same-origin"


@pytest.mark.parametrize(
    "host", ["elsewhere.example", "elsewhere.example:8140", "", "127.0.0.1.elsewhere.example", "a b"]
)
def test_a_name_that_is_none_of_ours_is_refused(shop: Shop, host):
    for client in (shop.owner(), shop.let_in("owner")):
        assert client.get("/", headers={"host": host}).status_code == 400
        assert client.post("/api/j/small/stop", headers={"host": host}).status_code == 400


@pytest.mark.parametrize("host", ["127.0.0.1:8140", "localhost:8140", "[::1]:8140", ADDRESS])
def test_a_name_of_ours_is_answered(shop: Shop, host):
    assert shop.owner().get("/", headers={"host": host}).status_code == 200


def test_a_shelf_for_its_own_machine_answers_nobody_else(tmp_path):
    shelf = shelf_in(tmp_path, small=SMALL)
    browser = client_on(shelf)
    assert browser.get("/").status_code == 200
    from fastapi.testclient import TestClient

    elsewhere = TestClient(browser.app, base_url="http://127.0.0.1", client=("192.168.1.50", 50000))
    for path in looks():
        if not path.startswith(("/fonts", "/pair")):
            answer = elsewhere.get(asked(path), headers=JSON)
            assert answer.status_code == 403, path
    assert "this machine alone" in answer.json()["refused"][0]["allowed"]
    shelf.close()


@pytest.mark.parametrize("header", ["forwarded", "x-forwarded-for", "via", "x-real-ip"])
def test_a_go_between_at_the_machine_is_not_its_owner(shop: Shop, header):
    client = here(shop.app)
    assert client.get("/api/jobs", headers={header: "192.168.1.50"}).status_code == 401


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "TRACE", "CONNECT", "OPTIONS"])
def test_other_methods_are_not_taken(shop: Shop, method):
    assert shop.owner().request(method, "/api/jobs").status_code == 405


def test_no_other_site_is_allowed_to_read(shop: Shop):
    answer = shop.owner().get("/api/jobs", headers={"origin": "http://elsewhere.example"})
    assert "access-control-allow-origin" not in answer.headers


def test_the_refusal_is_a_sentence_on_a_page(shop: Shop):
    client = shop.let_in("bench")
    answer = client.post(f"/j/{JOB}/snags", headers={"accept": "text/html", "origin": "http://elsewhere.example"})
    assert "a change that no page of this shelf sent" in Page(answer.text).words
