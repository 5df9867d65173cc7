"""The page of a symptom: asked and narrowed by its address; and a later visit typed beside the baseline."""

from __future__ import annotations

import time

import pytest

from loomwright.car import Car
from loomwright.pages import symptom_work
from loomwright.pages.routes import handover
from loomwright.store.text_rows import AddRow
from tests.pages.quiet import quiet_client
from tests.pages.shelves import SMALL, Page, shelf_in

PROOF = {"test": "lamp", "point": "LA1.1", "when": "key=run, SW1=on", "low": "11", "high": "13", "unit": "V"}
THEN = {**PROOF, "value": "12.2", "verdict": "passed", "time": "2025-01-01"}
SECOND = {"id": "LA2", "kind": "lamp", "name": "cabin lamp", "settings": "watt=10"}
TWO = {
    **SMALL,
    "parts": [*SMALL["parts"], SECOND],
    "wires": [
        *SMALL["wires"],
        {"id": "W20", "from": "KEY.15", "to": "LA2.1", "size_mm2": "1", "length_mm": "500"},
        {"id": "W21", "from": "LA2.2", "to": "body", "size_mm2": "1", "length_mm": "500"},
    ],
    "proofs": [THEN],
}


@pytest.fixture
def shelf(tmp_path):
    made = shelf_in(tmp_path, two=TWO)
    yield made
    made.close()


@pytest.fixture
def client(shelf, monkeypatch):
    """What is worked out apart is worked out in a thread here: starting a process costs seconds."""
    monkeypatch.setattr(symptom_work, "worked_apart", lambda what, work, given, tell: work(*given, tell))
    monkeypatch.setattr(handover, "handover_apart", lambda *_: {})
    made = quiet_client(shelf)
    yield made
    made.app.state.desk.close()


def settled(client, address):
    """The page once what it waits for is there."""
    end = time.monotonic() + 60.0
    while 'class="waiting"' in (text := client.get(address).text) and time.monotonic() < end:
        time.sleep(0.05)
    return Page(text)


def test_the_short_list_is_asked_by_its_address_and_a_look_narrows_it(client):
    page = settled(client, "/j/two/symptom?dead=LA1")
    assert page.unclosed == []
    assert "dead, though with key=run, SW1=on the wire W6 should carry" in page.words
    assert page.words.index("LA1 and its plug or terminals") < page.words.index("Fuse F1 and its holder")
    works = next(one["href"] for one in page.all("a") if "works=LA2" in one.get("href", ""))
    narrowed = settled(client, works)
    assert "LA2 works meanwhile" in narrowed.words
    assert "blown, or out" not in narrowed.words
    assert "Look first" not in narrowed.words


def test_what_cannot_be_meant_comes_back_with_its_mend_and_the_empty_page_teaches(client):
    told = client.get("/j/two/symptom?dead=LA7")
    empty = Page(client.get("/j/two/symptom").text)
    assert "Nothing is asked yet" in empty.words
    assert "Name a part that should work and does not: LA1 , say" in empty.words
    end = time.monotonic() + 60.0
    while 'class="waiting"' in told.text and time.monotonic() < end:
        time.sleep(0.05)
        told = client.get("/j/two/symptom?dead=LA7")
    assert "nearest: LA" in Page(told.text).words


def test_a_table_of_one_car_answers_every_look_without_solving_again(client, monkeypatch):
    settled(client, "/j/two/symptom?dead=LA1")
    monkeypatch.setattr(Car, "symptom_table", lambda *_: pytest.fail("solved again"))
    assert "meanwhile" in Page(client.get("/j/two/symptom?dead=LA1&works=LA2").text).words


def test_a_visit_is_told_with_its_sign_and_pace_kept_on_record_and_is_no_new_baseline(client, shelf):
    seen = Page(client.post("/j/two/handover/visit", data={"now/lamp": "11.5"}).text).words
    assert "1 read again, 1 not as then." in seen
    assert "volts are lost on the way" in seen
    assert "out of its band (11 V) in about" in seen
    assert client.post("/j/two/handover/visit/keep", data={"now/lamp": ""}).status_code >= 400
    kept = Page(client.post("/j/two/handover/visit/keep", data={"now/lamp": "11.5"}).text).words
    assert "1 earlier visit on record" in kept
    row = shelf.now("two").job.proofs[-1]
    assert (row.value, row.verdict, row.notes, row.low, row.high) == (11.5, "passed", "later visit", 11.0, 13.0)
    assert "12.2 V" in kept
    blank = client.get("/j/two/handover/visit.csv").text.splitlines()
    assert blank[0] == "test,point,to,when,for it,then,unit,value,band"
    assert blank[1] == 'lamp,LA1.1,,"key=run, SW1=on",as on the test sheet,12.2,V,,11 to 13'


def test_a_car_of_hundreds_of_tests_is_held_in_one_go(client, shelf):
    rows = [AddRow(sheet="proofs", cells={**THEN, "test": f"lamp {n}"}) for n in range(130)]
    shelf.edit("two", rows, who="sam", why="tested")
    typed = {f"now/lamp {n}": "12.2" for n in range(130)}
    assert "130 read again, all as then." in Page(client.post("/j/two/handover/visit", data=typed).text).words
