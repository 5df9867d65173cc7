"""Pins: worked out beside the page, a need looked at, fixed and let go; too few, and a way out taken with a touch."""

from __future__ import annotations

import time
from dataclasses import replace

import pytest

from loomwright.job.rows import Part
from loomwright.store.text_rows import DropRow
from tests.allocation.pin_jobs import small_job
from tests.allocation.test_pins import need, pin
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
    refused = client.post("/j/car/pins/fix", data={"need": "FAN1_relay", "pin": "B32"})
    assert refused.status_code >= 400
    assert "B32 is no switch to earth" in Page(refused.text).words
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
    # what is left out is what is to be dealt with: it stands first among the needs
    told = page.words.partition("why that pin")[2]
    assert told.index("it is left out") < told.index("can do it")
    before = shelf.now("car")
    stale = client.post("/j/car/pins/way", data={"number": "1", "revision": str(before.revision - 1)})
    assert stale.status_code >= 400
    assert client.post("/j/car/pins/way", data={"number": "1", "revision": str(before.revision)}).status_code == 200
    assert shelf.now("car").revision == before.revision + 1
    assert "needs have a pin" in pins(client).words
    assert client.post("/j/car/pins/way", data={"number": "1", "revision": str(before.revision + 1)}).status_code >= 400


def job_of(*needs, pins=()):
    battery = [Part(id="B1", kind="battery", place="bay")]
    return small_job(list(needs), [pin("A1", "low_side"), *pins, pin("A2", "low_side")], parts=battery)


BAD = {
    "twice": (
        job_of(need("a", "low_side", pin="A1"), need("b", "low_side", pin="A1")),
        "row 3, pin: found 'A1', allowed: a pin of its own. a in row 2 has that pin too",
    ),
    "nobody": (job_of(need("a", "knock_input", kind="knock", terminal="+")), "a (row 2 of needs): no pin of ECU is a"),
    "cycle": (
        job_of(need("a", "low_side", together=("b",)), need("b", "low_side", apart=("a",))),
        "They are to be together as well, by b (row 3), a (row 2): take one of the two out",
    ),
    "no-member": (
        replace(
            made := job_of(need("a", "low_side"), need("v", "low_side", option="idle/valve")),
            parts=tuple(replace(one, fitted="removed") if one.id == "P_v" else one for one in made.parts),
        ),
        "Of the option idle nothing is left to build, P_v being removed",
    ),
    "no-terminal": (
        job_of(need("a", "low_side"), pins=(pin("A3", "low_side", terminal=""),)),
        "row 3, terminal: nothing there, allowed: the terminal, as printed on the plug",
    ),
}


@pytest.mark.parametrize("case", BAD)
def test_what_cannot_be_meant_is_told_on_the_page_with_its_row(client, shelf, case):
    job, words = BAD[case]
    shelf.add(case, job, who="A", why="made up")
    until = time.monotonic() + PATIENCE_S
    while True:
        page = Page(client.get(f"/j/{case}/pins", headers={"accept": "text/html"}).text)
        if "Every need is given a pin" not in page.words or time.monotonic() > until:
            break
        time.sleep(0.1)
    assert words in page.words
    assert "infeasible" not in page.words.lower()
