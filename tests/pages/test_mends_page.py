"""The page of a finding's mends: asked for from the finding, followed while it is worked out, made with one touch."""

from __future__ import annotations

import re
import time
from collections.abc import Iterator
from html import unescape
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from loomwright.findings import Finding
from loomwright.pages.records.mends_page import mends_page
from loomwright.store.shelf import Shelf
from loomwright.trials.mend import Mend, Mends
from tests.pages.shelves import app_on, here, links_in, snapshot_of
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
    findings = page_with(client, "/j/car/findings", "Try mends")
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
    # what was made stands over the findings, and is taken back there
    told = client.get("/j/car/findings").text
    assert "Changed last" in told
    assert "Join the free end of W6 to LA1.1" in told
    (expects,) = re.findall(r'name="expects" value="(\d+)"', told)
    taken = client.post("/j/car/revisions/undo", data={"expects": expects, "back": "findings"}, follow_redirects=False)
    assert (taken.status_code, taken.headers["location"]) == (303, "/j/car/findings")
    (row,) = [row for row in shelf.now("car").rows["wires"] if row.cells["id"] == "W6"]
    assert "to" not in row.cells
    assert "Changed last" not in client.get("/j/car/findings").text


def test_what_is_found_before_and_after_in_the_same_words_stays_and_neither_goes_nor_comes(tmp_path):
    cured = Finding(rule="NET-1", severity="fault", at=("W6",), wrong="its end is free")
    before, after = (
        Finding(
            rule="SUP-2", severity="warning", at=("K1", place), label="K1", wrong="flattens it", found=found, unit="d"
        )
        for place, found in (("LA1", 4.0), ("LA2", 18.0))
    )
    hidden = Finding(rule="LMP-1", severity="fault", at=("LA1",), label="LA1", wrong="is dark")
    mend = Mend(
        says="join it", edits=(), gone=(cured, before), came=(after, hidden), wire_mm=0.0, copper_g=0.0, price=None,
        bought=(), left=(),
    )  # fmt: skip
    snapshot = snapshot_of(tmp_path)
    mends = Mends(finding=cured, offered=(mend,), turned=())
    record = mends_page(cured, mends, snapshot, links_in(snapshot), "0", stopped=False, refused="", done=1, of=1)
    (line,) = record.mends
    assert ([one.rule for one in line.gone], [one.rule for one in line.came]) == ([], ["LMP-1"])
    assert [(was.found, now.found) for was, now in line.stays] == [("4", "18")]
    assert line.unhides


def test_mends_of_a_finding_that_is_gone_lead_back_to_the_findings(desk):
    client, _ = desk
    gone = client.get("/j/car/mends/0123456789ab", follow_redirects=False)
    assert (gone.status_code, gone.headers["location"]) == (303, "/j/car/findings")
