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


def test_the_card_says_what_comes_off_first_and_its_reading_is_kept_with_it(client, shelf):
    finder(client)
    live = {"hunt": "dead car", "point": "BAT.+", "when": "", "value": "11.0"}
    assert client.post("/j/car/fault", data=live, follow_redirects=False).status_code == 303
    html = client.get("/j/car/fault?hunt=dead car").text
    assert "First: the battery&#39;s earth lead through a lamp of 21 W" in html
    first = html[html.index('class="next-card is-first"') :].split("</form>")[0]
    asked = {
        one["name"]: one.get("value", "")
        for name, one in Page(first).elements
        if name == "input" and one.get("type") == "hidden"
    }
    assert "lamp" in asked["off"].split()
    assert client.post("/j/car/fault", data={**asked, "value": "0.02"}, follow_redirects=False).status_code == 303
    kept = shelf.now("car").job.readings[-1]
    assert (kept.point, kept.to, kept.measure) == (asked["point"], asked["to"], asked["measure"])
    assert "lamp" in kept.off
    assert (
        "; the battery's earth lead through a lamp of 21 W" in Page(client.get("/j/car/fault?hunt=dead car").text).words
    )


def test_a_drop_a_clamp_at_either_end_and_round_a_whole_bolt_read_as_they_were_taken(client, shelf):
    wire = next(wire for wire in shelf.now("car").job.wires if {wire.from_, wire.to} == {"KPUMP.87", "PUMP.+"})
    for typed in (
        {"point": "KPUMP.87", "to": "PUMP.+", "value": "0.2 V"},
        {"point": wire.id, "measure": "clamp", "value": "3.4 A"},
        {"point": wire.id, "to": wire.to, "measure": "clamp", "value": "3.4"},
        {"point": "ER.1", "measure": "clamp", "value": "3.4"},
        {"point": "PUMP.+", "off": f"FINJ {wire.id}:{wire.to}", "value": "0"},
    ):
        answer = client.post("/j/car/fault", data={"hunt": "forms", "when": RUNNING, **typed}, follow_redirects=False)
        assert answer.status_code == 303, Page(answer.text).words[:900]
    words = Page(client.get("/j/car/fault?hunt=forms").text).words
    for told in (
        "KPUMP.87 to PUMP.+",
        f"clamp round {wire.id}",
        f"clamp round {wire.id} at {wire.to}",
        "clamp round all wires at ER.1",
        f"; FINJ pulled, {wire.id} at {wire.to} off",
    ):
        assert told in words, told


def test_a_clamp_or_a_wire_that_is_off_has_to_be_at_an_end_there_is(client, shelf):
    wire = next(wire for wire in shelf.now("car").job.wires if {wire.from_, wire.to} == {"KPUMP.87", "PUMP.+"})
    for typed in (
        {"point": wire.id, "to": "BUS1.1", "measure": "clamp", "value": "1"},
        {"point": "PUMP.+", "off": f"{wire.id}:BUS1.1", "value": "1"},
    ):
        answer = client.post("/j/car/fault", data={"hunt": "forms", "when": RUNNING, **typed}, follow_redirects=False)
        assert answer.status_code == 422
        assert wire.to in Page(answer.text).words
