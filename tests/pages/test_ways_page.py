"""Ways: cavities and fuse holes worked out beside the page, a circuit looked at, fixed, refused, let go, all led."""

from __future__ import annotations

import time

import pytest

from loomwright.store.text_rows import SetCell
from tests.allocation.test_fuse_ways import box
from tests.allocation.through_plug import through_plug
from tests.pages.quiet import quiet_client
from tests.pages.shelves import SMALL, Page, shelf_in

PATIENCE_S = 120.0
HOLES = 6


@pytest.fixture(scope="module")
def shelf(tmp_path_factory):
    made = shelf_in(tmp_path_factory.mktemp("ways"), small=SMALL)
    fuses = {"F1": ("BUS.3", "10"), "F2": ("BUS.4", "10"), "F3": ("BUS.5", "10"), "F4": ("KEY.15", "10")}
    loads = {f"M{number}": ("motor", "nose_left", f"F{number}") for number in range(1, 5)}
    made.add("car", through_plug(box(loads, fuses), tuple(loads), holes=HOLES), who="A")
    yield made
    made.close()


@pytest.fixture(scope="module")
def client(shelf):
    return quiet_client(shelf)


def ways(client, pick=""):
    until = time.monotonic() + PATIENCE_S
    while True:
        page = Page(client.get(f"/j/car/ways?pick={pick}").text)
        if "Every circuit is given a way" not in page.words:
            return page
        assert time.monotonic() < until
        time.sleep(0.2)


def revision(shelf):
    return str(shelf.now("car").revision)


def ends(shelf):
    return {wire.id: (wire.from_, wire.to) for wire in shelf.now("car").job.wires}


def test_faces_boxes_spares_and_reasons_stand_on_the_page(client):
    page = ways(client)
    assert "have a way, proved the best" in page.words
    assert "have a fuse, proved the best" in page.words
    assert "Spare, to be plugged: X1." in page.words
    assert f"of {HOLES} holes spare" in page.words
    assert page.unclosed == []
    assert len(page.ids()) == len(set(page.ids()))


def test_a_circuit_is_led_elsewhere_with_a_touch_and_kept_and_let_go(client, shelf):
    page = ways(client, "X1.1")
    offered = [one["value"] for one in page.all("button") if one.get("name") == "way" and one["value"] != "X1.1"]
    assert offered, "another way would do"
    before = ends(shelf)
    form = {"pick": "X1.1", "way": offered[0], "revision": revision(shelf)}
    assert client.post("/j/car/ways/fix", data=form).status_code == 200
    changed = {wire for wire, both in ends(shelf).items() if both != before[wire]}
    assert {end for wire in changed for end in ends(shelf)[wire] if end.startswith("X1.")} >= {f"{offered[0]}p"}
    assert client.post("/j/car/ways/fix", data=form).status_code >= 400, "the job has changed since"
    page = ways(client, offered[0])
    assert "kept there" in page.words
    assert "Let it be given another" in page.words
    assert client.post("/j/car/ways/fix", data={"pick": offered[0], "revision": revision(shelf)}).status_code == 200
    assert "kept there" not in ways(client, offered[0]).words


def test_what_cannot_sit_there_is_refused_with_the_reason(client, shelf):
    ways(client)
    fused = next(wire for wire, both in ends(shelf).items() if "F4.2" in both)
    page = ways(client, fused)
    assert "cannot take it" in page.words
    answer = client.post("/j/car/ways/fix", data={"pick": fused, "way": "F1", "revision": revision(shelf)})
    assert answer.status_code >= 400
    assert "it hangs on 30" in Page(answer.text).words


def test_too_few_holes_are_told_and_all_is_led_there_as_one_revision(client, shelf):
    key = next(row.key for row in shelf.now("car").rows["vehicle"] if row.cells["name"] == "fuse_holes_box")
    fewer = SetCell(sheet="vehicle", row_key=key, column="value", old=str(HOLES), new="3")
    assert shelf.edit("car", [fewer], who="A").is_taken
    page = ways(client)
    assert "What moves, and why" in page.words
    assert "box has 3 holes" in page.words
    before = shelf.now("car").revision
    assert client.post("/j/car/ways/keep", data={"revision": str(before)}).status_code == 200
    assert shelf.now("car").revision == before + 1
    assert "What moves, and why" not in ways(client).words
