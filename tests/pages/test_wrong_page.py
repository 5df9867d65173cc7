"""One thing wrong: worked out beside the page, told by part, stopped by hand."""

from __future__ import annotations

import time

import pytest

from tests.pages.quiet import quiet_client
from tests.pages.shelves import SMALL, Page, shelf_in

PATIENCE_S = 60.0


@pytest.fixture(scope="module")
def client(tmp_path_factory):
    shelf = shelf_in(tmp_path_factory.mktemp("wrong"), small=SMALL)
    yield quiet_client(shelf)
    shelf.close()


def known(client):
    """The answer, once it is worked out."""
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        told = client.get("/api/j/small/wrong").json()
        if told["answer"] is not None:
            return told["answer"]
        time.sleep(0.1)
    raise TimeoutError


def test_what_is_missing_stands_with_what_goes_dead_and_leads_to_the_car_without_it(client):
    known(client)
    page = Page(client.get("/j/small/wrong").text)
    assert page.unclosed == []
    assert len(page.ids()) == len(set(page.ids()))
    assert "goes dead" in page.words
    hrefs = [one.get("href", "") for one in page.all("a")]
    assert "/j/small/car?unplug=F1" in hrefs
    assert any("state=key=run,SW1=on" in href and "unplug=F1" in href for href in hrefs)


def test_what_sticks_and_what_is_shorted_have_tables_of_their_own(client):
    known(client)
    stuck = Page(client.get("/j/small/wrong?part=stuck").text).words
    shorted = Page(client.get("/j/small/wrong?part=shorted&circuit=work").text).words
    assert "SW1.contact" in stuck
    assert "starts" in stuck
    assert "to earth" in shorted
    assert "fuse blows" in shorted


def test_the_same_as_data(client):
    answer = known(client)
    fuse = next(one for one in answer["failures"] if "F1" in one["at"])
    assert [one["name"] for one in fuse["goes_dead"]] == ["LA1.filament"]


def test_another_part_is_refused_with_what_there_is(client):
    answer = client.get("/j/small/wrong?part=bent")
    assert answer.status_code == 404
    assert "missing stuck shorted" in answer.text


def test_it_can_be_stopped_and_worked_out_after_all(tmp_path):
    shelf = shelf_in(tmp_path, small=SMALL)
    client = quiet_client(shelf)
    client.app.state.desk.wrongs._turn.acquire()
    try:
        assert "/j/small/wrong/stop" in client.get("/j/small/wrong").text
        client.post("/j/small/wrong/stop")
        assert "It was stopped" in client.get("/j/small/wrong").text
    finally:
        client.app.state.desk.wrongs._turn.release()
    client.post("/j/small/wrong/again")
    assert known(client)["tried"] > 0
    shelf.close()
