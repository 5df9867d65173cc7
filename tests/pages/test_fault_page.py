"""The fault finder: a reading is written down, the fault stands first, the table is kept while the car is the same."""

from __future__ import annotations

import time

import pytest

from loomwright.brief.brief import briefed
from loomwright.car import Car
from tests.pages.quiet import quiet_client
from tests.pages.shelves import SMALL, Page, shelf_in

PATIENCE_S = 120.0
RUNNING = "key=run, engine=running"


@pytest.fixture(scope="module")
def shelf(tmp_path_factory):
    made = shelf_in(tmp_path_factory.mktemp("fault"), small=SMALL)
    yield made
    made.close()


@pytest.fixture(scope="module")
def client(shelf):
    car = Car(briefed({"cylinders": "1", "fans": "0", "gearbox": "shifted by hand"}).job).worked_out()
    shelf.add("car", car.job, who="A")
    return quiet_client(shelf)


def finder(client, hunt="pump"):
    until = time.monotonic() + PATIENCE_S
    while True:
        page = Page(client.get(f"/j/car/fault?hunt={hunt}").text)
        if "Every fault is solved" not in page.words:
            return page
        assert time.monotonic() < until
        time.sleep(0.3)


def take(client, point, value, when=RUNNING):
    typed = {"hunt": "pump", "point": point, "when": when, "value": value}
    return client.post("/j/car/fault", data=typed, follow_redirects=False)


def test_the_first_reading_is_asked_for_before_anything_was_read(client):
    page = finder(client)
    assert "Read next" in page.words
    assert "Nothing yet in this hunt" in page.words
    assert "/j/car/survey" in [link.get("href") for link in page.all("a")]
    assert page.unclosed == []
    assert len(page.ids()) == len(set(page.ids()))


def test_what_is_read_is_on_record_and_the_fault_stands_first(client, shelf):
    finder(client)
    before = shelf.now("car").revision
    wire = next(wire for wire in shelf.now("car").job.wires if {wire.from_, wire.to} == {"KPUMP.87", "PUMP.+"})
    assert take(client, "PUMP.+", "0").status_code == 303
    assert take(client, "KPUMP.87", "13.4").status_code == 303
    assert shelf.now("car").revision == before + 2
    assert [one.point for one in shelf.now("car").job.readings] == ["PUMP.+", "KPUMP.87"]
    page = Page(client.get("/j/car/fault?hunt=pump").text)
    assert "Every fault is solved" not in page.words, "the car is the same: what was worked out is kept"
    assert page.words.index(f"{wire.id} is open") < page.words.index("What was read")


def test_suspects_are_struck_on_the_drawing_and_ringed_on_the_car_plan(client, shelf):
    wire = next(wire for wire in shelf.now("car").job.wires if {wire.from_, wire.to} == {"KPUMP.87", "PUMP.+"})
    links = [one.get("href", "") for one in finder(client).all("a") if "suspects=" in one.get("href", "")]
    drawn = Page(client.get(next(one for one in links if f"/circuit/{wire.circuit}?" in one)).text)
    assert f"{wire.id}: suspect 1" in drawn.words
    assert f"is proved, no other. 1 : {wire.id}" in drawn.words
    plan = client.get(next(one for one in links if "/car-plan?" in one)).text
    assert plan.count('<g class="suspect">') >= 1
    assert '<g class="suspect">' not in client.get("/j/car/car-plan").text


def test_what_cannot_be_meant_is_told_and_not_kept(client, shelf):
    before = shelf.now("car").revision
    for point, value, when in (("MOON.1", "3", RUNNING), ("PUMP.+", "3", "key=sideways"), ("PUMP.+", "much", RUNNING)):
        answer = take(client, point, value, when)
        assert answer.status_code == 422
        assert "The reading was not taken" in Page(answer.text).words
    assert shelf.now("car").revision == before


def test_hunts_are_kept_apart(client):
    page = finder(client, "horn")
    assert "Nothing yet in this hunt" in page.words
    assert any("hunt=pump" in one.get("href", "") for one in page.all("a"))
