"""Pins: worked out beside the page, a need looked at, fixed and let go; too few, and a way out taken with a touch."""

from __future__ import annotations

import time

import pytest

from loomwright.store.text_rows import DropRow
from tests.pages.quiet import quiet_client
from tests.pages.shelves import SMALL, Page, shelf_in

PATIENCE_S = 120.0


@pytest.fixture(scope="module")
def shelf(tmp_path_factory):
    made = shelf_in(tmp_path_factory.mktemp("pins"), small=SMALL)
    yield made
    made.close()


@pytest.fixture(scope="module")
def client(shelf):
    made = quiet_client(shelf)
    made.post("/brief", data={"name": "car", "cylinders": "2", "fans": "2"})
    return made


def pins(client, need=""):
    until = time.monotonic() + PATIENCE_S
    while True:
        page = Page(client.get(f"/j/car/pins?need={need}").text)
        if "Every need is given a pin" not in page.words:
            return page
        assert time.monotonic() < until
        time.sleep(0.2)


def test_every_need_has_a_pin_and_a_reason(client, shelf):
    page = pins(client)
    built = {row.option.partition("/")[0] or row.id for row in shelf.now("car").job.needs}
    assert f"All {len(built)} needs have a pin, proved the best." in page.words
    assert page.unclosed == []
    assert len(page.ids()) == len(set(page.ids()))


def test_a_need_is_looked_at_fixed_elsewhere_and_let_go(client, shelf):
    page = pins(client, "FAN1_relay")
    assert "Other pins" in page.words
    offered = [one["value"] for one in page.all("button") if one.get("name") == "pin"]
    assert offered, "somewhere else is possible"
    assert client.post("/j/car/pins/fix", data={"need": "FAN1_relay", "pin": offered[0]}).status_code == 200
    need = next(row for row in shelf.now("car").job.needs if row.id == "FAN1_relay")
    assert need.pin == offered[0]
    assert "typed in the row" in pins(client, "FAN1_relay").words
    client.post("/j/car/pins/fix", data={"need": "FAN1_relay"})
    assert next(row for row in shelf.now("car").job.needs if row.id == "FAN1_relay").pin == ""


def test_too_few_pins_are_explained_and_a_way_out_is_taken(client, shelf):
    # nine switching outputs are left, for two injectors, three relays, three solenoids and two pulsed valves
    rows = shelf.now("car").rows["controller_pins"]
    words = {row.key: set(row.cells["abilities"].split()) for row in rows}
    pulsed = [key for key, can in words.items() if "pwm" in can][:4]
    fires = [key for key, can in words.items() if "injector" in can and key not in pulsed][:5]
    switching = [key for key, can in words.items() if can & {"low_side", "high_side", "half_bridge", "pwm", "injector"}]
    drop = [key for key in switching if key not in (*pulsed, *fires)]
    shelf.edit("car", [DropRow(sheet="controller_pins", row_key=key) for key in drop], who="A")
    page = pins(client)
    assert "It does not fit" in page.words
    assert "Why it does not fit" in page.words
    assert "Ways out The one that gives up least comes first" in page.words
    before = shelf.now("car")
    stale = client.post("/j/car/pins/way", data={"number": "1", "revision": str(before.revision - 1)})
    assert stale.status_code >= 400
    assert client.post("/j/car/pins/way", data={"number": "1", "revision": str(before.revision)}).status_code == 200
    assert shelf.now("car").revision == before.revision + 1
    assert "needs have a pin" in pins(client).words
    assert client.post("/j/car/pins/way", data={"number": "1", "revision": str(before.revision + 1)}).status_code >= 400
