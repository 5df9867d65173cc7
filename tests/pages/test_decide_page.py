"""Everything that is blank is decided on one page, kept as one revision, and then nothing is left to decide."""

from __future__ import annotations

import time

import pytest

from loomwright.store.text_rows import SetCell
from tests.pages.quiet import quiet_client
from tests.pages.shelves import SMALL, Page, shelf_in

PATIENCE_S = 120.0


@pytest.fixture(scope="module")
def shelf(tmp_path_factory):
    made = shelf_in(tmp_path_factory.mktemp("decide"), small=SMALL)
    yield made
    made.close()


@pytest.fixture(scope="module")
def client(shelf):
    made = quiet_client(shelf)
    made.post("/brief", data={"name": "new", "cylinders": "1", "fans": "0", "gearbox": "shifted by hand"})
    return made


def worked_out(client):
    return until_told(client, "/j/new/decide")


def until_told(client, address):
    until = time.monotonic() + PATIENCE_S
    while True:
        page = Page(client.get(address).text)
        if not any("waiting" in one.get("class", "").split() for one in page.all("div")):
            return page
        assert time.monotonic() < until
        time.sleep(0.3)


def test_what_is_blank_is_decided_kept_and_checked(client, shelf):
    page = worked_out(client)
    assert "Pins: " in page.words
    assert "Sizes: " in page.words
    assert page.unclosed == []
    assert "PUMP_relay relay of PUMP" in page.words, "what each row is stands beside it"
    before = shelf.now("new")
    wire = next(row for row in before.job.wires if row.from_ and row.to)
    assert f"{wire.id} {wire.from_} to {wire.to}" in page.words
    assert "before decided by" not in page.words, "nothing was decided before"
    pins = until_told(client, "/j/new/pins")
    assert "not kept with the job yet" in pins.words
    assert not before.job.decisions
    stale = client.post("/j/new/decide/keep", data={"revision": str(before.revision - 1)})
    assert stale.status_code >= 400
    assert shelf.now("new").revision == before.revision
    kept = client.post("/j/new/decide/keep", data={"revision": str(before.revision)}, follow_redirects=False)
    assert kept.headers["location"] == "/j/new/findings"
    after = shelf.now("new")
    assert after.revision == before.revision + 1, "one revision, however many cells"
    assert {one.column for one in after.job.decisions} == {"pin", "length_mm", "size_mm2", "settings.rating_a"}
    assert after.job.wires == before.job.wires, "what was typed is as it was"
    assert "Nothing to decide anew" in worked_out(client).words
    assert "not kept with the job yet" not in until_told(client, "/j/new/pins").words


def test_it_is_stopped_and_taken_up_again(client, shelf):
    wire = shelf.now("new").rows["wires"][0]
    shelf.edit("new", [SetCell(sheet="wires", row_key=wire.key, column="notes", old="", new="x")], who="A")
    client.get("/j/new/decide")
    client.post("/j/new/decide/stop")
    assert "It was stopped" in Page(client.get("/j/new/decide").text).words
    client.post("/j/new/decide/again")
    assert "It was stopped" not in Page(client.get("/j/new/decide").text).words


def test_a_job_whose_sheets_do_not_hold_together_is_told_so(client, shelf):
    part = next(row for row in shelf.now("small").rows["parts"] if row.cells["kind"] == "battery")
    shelf.edit("small", [SetCell(sheet="parts", row_key=part.key, column="kind", old="battery", new="lamp")], who="A")
    answer = client.get("/j/small/decide")
    assert answer.status_code >= 400
    assert "no battery" in answer.text, "what is in the way, not only that something is"
