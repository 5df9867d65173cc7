"""What can hardly be meant is asked about, what cannot be is told at its place, and neither loses what was typed."""

from __future__ import annotations

import pytest

from loomwright.pages.routes import fault
from tests.pages.quiet import quiet_client
from tests.pages.shelves import SMALL, Page, shelf_in

OLD = [
    {"id": "O1", "colour": "BN", "where": "bay", "plug": "P3.1", "notes": "thick"},
    {"id": "O2", "colour": "GN", "where": "cabin"},
]


@pytest.fixture(scope="module")
def shelf(tmp_path_factory):
    made = shelf_in(tmp_path_factory.mktemp("bad"), small={**SMALL, "old_wires": OLD})
    yield made
    made.close()


@pytest.fixture
def client(shelf, monkeypatch):
    monkeypatch.setattr(fault, "faults_apart", lambda _job, _tell: None)
    return quiet_client(shelf)


def test_volts_that_a_standing_engine_cannot_give_are_asked_about_in_the_fault_finder(client, shelf):
    reading = {"hunt": "lamp", "point": "LA1.1", "when": "key=run", "value": "15", "to": "body"}
    told = client.post("/j/small/fault", data=reading)
    assert told.status_code == 422
    page = Page(told.text)
    assert "15 V with the engine stopped is more than 13.2 V" in page.words
    fields = {one.get("id"): one.get("value") for one in page.all("input")}
    assert (fields["f-point"], fields["f-when"], fields["f-value"], fields["f-to"]) == (
        "LA1.1",
        "key=run",
        "15",
        "body",
    )
    assert shelf.now("small").job.readings == ()
    assert "or 124 mV?" in Page(client.post("/j/small/fault", data={**reading, "value": "124"}).text).words
    assert client.post("/j/small/fault", data={**reading, "insist": "yes"}, follow_redirects=False).status_code == 303
    running = {**reading, "when": "key=run, engine=running", "value": "14.2", "instrument": "bench meter"}
    assert client.post("/j/small/fault", data=running, follow_redirects=False).status_code == 303
    assert [(one.value, one.instrument) for one in shelf.now("small").job.readings] == [
        (15.0, ""),
        (14.2, "bench meter"),
    ]


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ({"value": "3 ohm"}, "found '3 ohm', allowed: a figure in V, bare or with its unit. Set the meter to it"),
        ({"value": "3 V", "measure": "clamp", "point": "W6"}, "found '3 V', allowed: a figure in A"),
        ({"point": "W99.1"}, "found 'W99.1', allowed: a point of the job"),
        ({"when": "key=on"}, "found 'on', allowed: off, accessory, run, start"),
    ],
)
def test_what_cannot_be_meant_is_told_with_what_would_be_and_stays_in_the_form(client, shelf, typed, told):
    before = shelf.now("small").revision
    sent = {"hunt": "lamp", "point": "LA1.1", "when": "key=run", "value": "3", **typed}
    back = client.post("/j/small/fault", data=sent)
    assert back.status_code == 422
    page = Page(back.text)
    assert told in page.words
    assert "row 2" not in page.words, "the row that was tried is nobody's"
    fields = {one.get("id"): one.get("value") for one in page.all("input")}
    assert (fields["f-point"], fields["f-when"], fields["f-value"]) == (sent["point"], sent["when"], sent["value"])
    assert shelf.now("small").revision == before


def test_a_reading_that_is_refused_comes_back_on_the_card_of_its_own_wire(client):
    def wire_of(page):
        return next(one["value"] for one in page.all("input") if one.get("name") == "wire")

    sent = {"when": "key=run", "measure": "lamp", "value": "twelve"}
    best = wire_of(Page(client.post("/j/small/survey", data={**sent, "wire": "nobody's"}).text))
    other = next(one["id"] for one in OLD if one["id"] != best)
    back = client.post("/j/small/survey", data={**sent, "wire": other})
    assert (back.status_code, wire_of(Page(back.text))) == (422, other)


def test_ohms_are_kept_with_their_unit_open_as_a_word_and_none_of_a_running_engine(client, shelf):
    before = len(shelf.now("small").job.readings)
    reading = {"hunt": "ohms", "point": "LA1.1", "measure": "ohms", "value": "1.2 kohm"}
    assert client.post("/j/small/fault", data=reading, follow_redirects=False).status_code == 303
    opened = {**reading, "to": "SW1.2", "value": "open"}
    assert client.post("/j/small/fault", data=opened, follow_redirects=False).status_code == 303
    taken = shelf.now("small").job.readings[before:]
    assert [(one.value, one.unit) for one in taken] == [(1200.0, "ohm"), ("open", "ohm")]
    words = Page(client.get("/j/small/fault?hunt=ohms").text).words
    assert "1200 Ω" in words
    told = client.post("/j/small/fault", data={**reading, "when": "key=run, engine=running"})
    assert told.status_code == 422
    assert "the engine standing: ohms are read with the battery off" in Page(told.text).words
