"""The page of a finding's mends: asked for from the finding, followed while it is worked out, made with one touch."""

from __future__ import annotations

import re
import time
from collections.abc import Iterator
from html import unescape
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from loomwright.store.shelf import Shelf
from tests.pages.shelves import app_on, here
from tests.states.small_jobs import car
from tests.store.conftest import clock

PATIENCE_S = 60.0


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[TestClient, Shelf]]:
    """A desk with the small car, a wire end of it free."""
    shelf = Shelf(Path(tmp_path_factory.mktemp("mends")) / "shelf", clock())
    shelf.add("car", car(changed={"W6": {"to": ""}}), who="A")
    with here(app_on(shelf, who="A")) as client:
        yield client, shelf
    shelf.close()


def page_with(client: TestClient, address: str, words: str) -> str:
    """The page once it has certain words."""
    until = time.monotonic() + PATIENCE_S
    while time.monotonic() < until:
        text = client.get(address).text
        if words in text:
            return text
        time.sleep(0.2)
    raise AssertionError(f"{address} never said {words!r}")


def test_a_mend_is_asked_for_at_its_finding_and_made_as_a_revision(desk):
    client, shelf = desk
    findings = page_with(client, "/j/car/findings", "Mends that were tried")
    address = unescape(re.findall(r'href="(/j/car/mends/[0-9a-f]+)"', findings)[0])
    text = page_with(client, address, "Make this mend")
    assert "Join the free end of W6 to LA1.1" in text
    assert "Goes with it" in text
    number, revision = re.findall(r'name="(?:number|revision)" value="(\d+)"', text)[:2]
    stale = client.post(f"{address}/make", data={"number": number, "revision": "99"})
    assert stale.status_code == 409
    made = client.post(f"{address}/make", data={"number": number, "revision": revision}, follow_redirects=False)
    assert made.status_code == 303
    (row,) = [row for row in shelf.now("car").rows["wires"] if row.cells["id"] == "W6"]
    assert row.cells["to"] == "LA1.1"
    assert shelf.revisions("car")[0].why.startswith("Join the free end of W6 to LA1.1")
    until = time.monotonic() + PATIENCE_S
    while not (now := client.get("/api/j/car/findings").json())["known"] and time.monotonic() < until:
        time.sleep(0.2)
    assert [one["rule"] for one in now["findings"] if one["severity"] == "fault"] == []


def test_mends_of_a_finding_that_is_gone_lead_back_to_the_findings(desk):
    client, _ = desk
    gone = client.get("/j/car/mends/0123456789ab", follow_redirects=False)
    assert (gone.status_code, gone.headers["location"]) == (303, "/j/car/findings")
