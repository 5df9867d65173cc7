"""What takes longer than a second tells how far it is, can be stopped, and keeps nobody else waiting."""

from __future__ import annotations

from dataclasses import fields, replace

import pytest

from loomwright.pages.answer_bench import AnswerBench, AnswerStanding
from loomwright.pages.checking import Standing
from loomwright.pages.desk import Desk
from loomwright.store.text_rows import AddRow
from tests.pages.doors.addresses import all_routes
from tests.pages.doors.shop import JOB, Shop
from tests.pages.quiet import Quiet
from tests.pages.shelves import Page

PAGES = {
    "decide": "decide",
    "pins": "pins",
    "ways": "ways",
    "fault": "fault",
    "prove": "prove",
    "sizes": "sizes",
    "worst": "worst",
    "wrong": "wrong",
    "survey": "survey",
    "placing?part=LA1&at=bay": "placing",
    "findings": "findings",
}
"""A page whose answer takes seconds, and the word of its stop."""
BESIDE = {"whys": "/why/{job}/{cell}/stop", "mends": "/j/{job}/mends/{mark}/stop", "adds": "/j/{job}/add/{recipe}/stop"}
"""Benches whose page needs a finding, a cell or a recipe: the stop there is."""
PARTS = {"strays": "/j/{job}/worst/strays/stop", "coverages": "/j/{job}/prove/stop"}


class Unending(AnswerBench):
    """A bench whose work is at 3 of 40 for ever; stopped by nobody but a person."""

    def __init__(self) -> None:
        super().__init__()
        self.stopped: list[object] = []

    def look(self, key, work):
        return AnswerStanding(done=3, of=40)

    def stop(self, key) -> None:
        self.stopped.append(key)


class Checking(Quiet):
    """A check that is at 3 of 40."""

    def look(self, snapshot) -> Standing:
        return Standing(revision=snapshot.revision, done=3, of=40)


@pytest.fixture(scope="module")
def at_work(shop: Shop):
    """The owner's browser while everything that can be worked out is being worked out."""
    desk: Desk = shop.app.state.desk
    shop.shelf.edit(JOB, [AddRow(sheet="old_wires", cells={"id": "7"})], who="sam")
    benches = {one.name: Unending() for one in fields(desk) if isinstance(getattr(desk, one.name), AnswerBench)}
    shop.app.state.desk = replace(desk, bench=Checking(), **benches)
    yield shop.owner(), benches
    shop.app.state.desk = desk


@pytest.mark.parametrize(("page", "word"), PAGES.items())
def test_a_long_answer_is_counted_and_offers_to_be_stopped(at_work, page, word):
    client, benches = at_work
    answer = client.get(f"/j/{JOB}/{page}", headers={"accept": "text/html"})
    assert answer.status_code == 200, answer.text[-500:]
    shown = Page(answer.text)
    assert "40" in shown.words
    stops = [one["action"] for one in shown.all("form") if one.get("action", "").partition("?")[0].endswith("/stop")]
    assert any(f"/{word}" in one for one in stops), [one.get("action") for one in shown.all("form")]
    if word != "findings":
        before = sum(len(bench.stopped) for bench in benches.values())
        assert client.post(stops[0], follow_redirects=False).status_code == 303
        assert sum(len(bench.stopped) for bench in benches.values()) > before


def test_every_bench_has_a_page_that_stops_it():
    posts = {route.path for route in all_routes() if "POST" in route.methods}
    assert {*BESIDE.values(), *PARTS.values(), "/j/{job}/pack/stop", "/j/{job}/findings/stop"} <= posts
    assert {f"/j/{{job}}/{word}/stop" for word in PAGES.values()} <= posts


def test_meanwhile_others_are_answered(at_work):
    client, _ = at_work
    assert client.get("/api/jobs").status_code == 200
    assert client.get(f"/j/{JOB}/snags").status_code == 200
