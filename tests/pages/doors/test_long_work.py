"""What takes longer than a second tells how far it is, can be stopped, and keeps nobody else waiting."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import get_origin, get_type_hints

import pytest

from loomwright.pages.answer_bench import AnswerBench, AnswerStanding
from loomwright.pages.checking import CheckBench, Standing
from loomwright.pages.desk import Desk
from loomwright.pages.paper_bench import PaperBench
from loomwright.store.text_rows import AddRow
from tests.pages.doors.addresses import all_routes, asked
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
STOPS = {
    "bench": ("/j/{job}/findings/stop", "/api/j/{job}/stop"),
    "papers": ("/j/{job}/pack/stop",),
    "whys": ("/why/{job}/{cell}/stop",),
    "mends": ("/j/{job}/mends/{mark}/stop",),
    "worsts": ("/j/{job}/worst/stop",),
    "wrongs": ("/j/{job}/wrong/stop",),
    "strays": ("/j/{job}/worst/strays/stop",),
    "adds": ("/j/{job}/add/{recipe}/stop",),
    "decides": ("/j/{job}/decide/stop",),
    "pins": ("/j/{job}/pins/stop",),
    "faults": ("/j/{job}/fault/stop",),
    "plans": ("/j/{job}/prove/stop",),
    "coverages": ("/j/{job}/prove/stop",),
    "sizes": ("/j/{job}/sizes/stop",),
    "ways": ("/j/{job}/ways/stop",),
    "placings": ("/j/{job}/placing/stop?part=LA1&at=bay", "/j/{job}/beside/stop?other=1"),
    "surveys": ("/j/{job}/survey/stop",),
    "logs": ("/j/{job}/logs/{key}/stop",),
    "handovers": ("/j/{job}/handover/stop",),
    "gears": ("/j/{job}/gears/stop",),
    "fewests": ("/j/{job}/gears/fewest/stop",),
    "symptoms": ("/j/{job}/symptom/stop",),
}
"""Everything that is worked out for longer than a request may take, and where it is stopped."""
FILLED = (("/add/x/", "/add/tacho/"), ("/logs/x/", f"/logs/{'0' * 12}/"))


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


def test_whatever_is_worked_out_beside_the_pages_has_a_stop():
    kinds = (AnswerBench, CheckBench, PaperBench)
    benches = {name for name, kind in get_type_hints(Desk).items() if (get_origin(kind) or kind) in kinds}
    assert benches == set(STOPS)
    posts = {route.path for route in all_routes() if "POST" in route.methods}
    assert {path.partition("?")[0] for paths in STOPS.values() for path in paths} <= posts


def filled(path: str) -> str:
    there = asked(path)
    for name, word in FILLED:
        there = there.replace(name, word)
    return there


@pytest.mark.parametrize("name", [name for name in STOPS if name not in ("bench", "papers")])
def test_the_stop_of_each_stops_it_and_leads_back(at_work, name):
    client, benches = at_work
    for path in STOPS[name]:
        before = len(benches[name].stopped)
        answer = client.post(filled(path), follow_redirects=False)
        assert answer.status_code == 303, answer.text[-300:]
        assert len(benches[name].stopped) == before + 1


def test_meanwhile_others_are_answered(at_work):
    client, _ = at_work
    assert client.get("/api/jobs").status_code == 200
    assert client.get(f"/j/{JOB}/snags").status_code == 200
