"""Who may do what: every address of the application, found by walking its routers, asked by each sort of visitor."""

from __future__ import annotations

import pytest

from loomwright.pages.doors.visitor import Visitor, may, need_of
from tests.pages.doors.addresses import asked, changes, looks, ways_in
from tests.pages.doors.shop import JOB, Shop
from tests.pages.shelves import Page

OF_ONESELF = {"/look", "/leave", "/pair"}
"""Changes that anybody who comes may make: of their own light, of their own session."""
HTML = {"accept": "text/html"}


def revisions(shop: Shop) -> list[tuple[str, int]]:
    return [(line.name, line.revision) for line in shop.shelf.jobs()]


def test_the_walk_finds_what_there_is():
    found = changes()
    assert len(found) > 60
    assert {("POST", "/j/{job}/snags"), ("POST", "/api/j/{job}/edits"), ("POST", "/jobs/file")} <= set(found)
    assert {method for method, _ in found} == {"POST"}


def test_every_address_of_the_application_was_walked(shop: Shop):
    there = {(method, path) for method, path in ways_in(shop.app) if method not in ("HEAD", "OPTIONS")}
    walked = {*changes(), *(("GET", path) for path in looks())}
    assert there - walked <= {("GET", "/openapi.json"), ("GET", "/static")}


def test_who_may_only_look_is_refused_at_every_address_that_changes_something(shop: Shop):
    client = shop.let_in("look")
    before = revisions(shop)
    told = {}
    for method, path in changes():
        if path in OF_ONESELF:
            continue
        answer = client.request(method, asked(path), headers={"accept": "application/json"})
        words = answer.json()["refused"][0]["found"] if answer.status_code == 403 else ""
        if answer.status_code != 403 or "look only" not in words:
            told[path] = (answer.status_code, answer.text[:100])
    assert told == {}
    assert revisions(shop) == before


def test_the_refusal_is_a_sentence_on_a_page(shop: Shop):
    client = shop.let_in("look", "apprentice")
    page = Page(client.post(f"/j/{JOB}/snags", data={"text": "x"}, headers=HTML).text)
    assert "apprentice is let in as look only, and this is for the bench" in page.words
    assert "Ask the owner of the shop to make apprentice bench" in page.words


def test_who_may_only_look_sees_every_page_that_the_bench_sees_but_those_of_the_owner(shop: Shop):
    visitor, owner = Visitor(name="A", role="look"), Visitor(name="B", role="owner")
    shut = {path for path in looks() if not may(visitor, need_of("GET", asked(path)))}
    assert shut == {"/devices"}
    assert all(may(owner, need_of("GET", asked(path))) for path in looks())
    client = shop.let_in("look")
    for path in ("/", f"/j/{JOB}", f"/j/{JOB}/snags", f"/j/{JOB}/sheet/wires", f"/api/j/{JOB}/sheet/wires"):
        assert client.get(path, headers=HTML).status_code == 200, path


def test_looking_changes_nothing(shop: Shop):
    client = shop.let_in("look")
    before = revisions(shop)
    for path in ("/j/{job}/snags", "/j/{job}/arrival", "/j/{job}/hours", "/api/j/{job}/revisions", "/j/{job}/photos"):
        client.get(asked(path))
    assert revisions(shop) == before


def test_the_bench_works_and_does_not_let_in(shop: Shop):
    client = shop.let_in("bench", "bench tablet")
    done = client.post(
        f"/api/j/{JOB}/edits", json={"edits": [{"do": "add", "sheet": "snags", "cells": {"id": "S1", "text": "loose"}}]}
    )
    assert done.status_code == 200
    assert shop.shelf.revisions(JOB, newest=1)[0].who == "bench tablet"
    for method, path in (("GET", "/devices"), ("POST", "/devices/code"), ("POST", "/devices/x/revoke")):
        answer = client.request(method, path, headers={"accept": "application/json"})
        assert answer.status_code == 403
        assert "for the owner of the shop" in answer.json()["refused"][0]["found"]


def test_an_owner_away_from_the_machine_lets_in_too(shop: Shop):
    client = shop.let_in("owner", "owner's telephone")
    answer = client.post("/devices/code", data={"role": "look"})
    assert answer.status_code == 200
    assert "A code for one device: look only" in Page(answer.text).words


def test_nobody_sees_anything_before_being_let_in(shop: Shop):
    client = shop.stranger()
    told = {}
    for path in looks():
        answer = client.get(asked(path), headers=HTML)
        is_open = path in ("/pair", "/pair/certificate") or path.startswith("/fonts/")
        is_shut = answer.status_code == 401 if path.startswith("/api/") else answer.status_code == 303
        if not is_open and not is_shut:
            told[path] = answer.status_code
    for method, path in changes():
        if path != "/pair" and client.request(method, asked(path)).status_code != 401:
            told[path] = "written to"
    assert told == {}
    assert client.get("/openapi.json").status_code == 303


def test_a_page_that_was_wanted_is_come_back_to(shop: Shop):
    answer = shop.stranger().get(f"/j/{JOB}/wire/W3?state=key=run", headers=HTML)
    assert answer.headers["location"] == f"/pair?to=%2Fj%2F{JOB}%2Fwire%2FW3%3Fstate%3Dkey%3Drun"


@pytest.mark.parametrize(
    ("method", "path", "need"),
    [
        ("GET", "/pair", "nothing"),
        ("POST", "/pair", "nothing"),
        ("GET", "/static/css/page.css", "nothing"),
        ("POST", "/static/css/page.css", "bench"),
        ("GET", "/", "look"),
        ("POST", "/look", "look"),
        ("POST", "/an/address/nobody/has/thought/of", "bench"),
        ("DELETE", "/j/small", "bench"),
        ("GET", "/devices", "owner"),
        ("GET", "/devices/", "owner"),
        ("POST", "/devices/ab/role", "owner"),
        ("GET", "/devicesx", "look"),
    ],
)
def test_what_an_address_needs(method, path, need):
    assert need_of(method, path) == need
