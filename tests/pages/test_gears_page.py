"""The page of gear changes: it answers at once, lines are kept as a revision, the rest is worked out apart."""

from __future__ import annotations

import time

import pytest

from loomwright.pages import gear_work
from loomwright.pages.routes import gears
from tests.pages.quiet import quiet_client
from tests.pages.shelves import SMALL, Page, shelf_in

ROWS = {
    "gear.title": "my three speeds",
    "gear.ratios": "[2.4, 1.47, 1.0]",
    "gear.final_drive": "3.9",
    "gear.tyre": "205/55R16",
    "gear.mass_kg": "1300",
    "gear.engine.limit_rpm": "6200",
    "gear.engine.litres": "2.0",
}
GEARBOX = [{"name": name, "value": value} for name, value in ROWS.items()]
WITH_GEARBOX = {**SMALL, "vehicle": [*SMALL["vehicle"], *GEARBOX]}


@pytest.fixture
def shelf(tmp_path):
    made = shelf_in(tmp_path, small=SMALL, own=WITH_GEARBOX)
    yield made
    made.close()


@pytest.fixture
def client(shelf, monkeypatch):
    """What is worked out apart is worked out in a thread here: starting a process costs seconds."""
    monkeypatch.setattr(gear_work, "worked_apart", lambda what, work, given, tell: work(*given, tell))
    return quiet_client(shelf)


def fields(client):
    page = Page(client.get("/j/own/gears").text)
    named = {
        at["name"]: at["value"] for tag, at in page.elements if tag == "input" and "value" in at and "/" in at["name"]
    }
    kicks = {at["name"]: at["value"] for tag, at in page.elements if at.get("name", "").startswith("kick")}
    return {**named, **kicks, "programme": "normal"}


def settled(client, address):
    """The page once what it waits for is there."""
    end = time.monotonic() + 60.0
    while 'class="waiting"' in (text := client.get(address).text) and time.monotonic() < end:
        time.sleep(0.05)
    return Page(text)


def test_the_page_answers_before_anything_is_driven(client, monkeypatch):
    asked = []
    monkeypatch.setattr(gears, "gears_apart", lambda job, tell: asked.append(job) or time.sleep(60.0))
    page = Page(client.get("/j/small/gears").text)
    assert "Checking and driving" in page.words
    assert "Lines, economy" in page.words
    stopped = Page(client.post("/j/small/gears/stop?programme=economy").text)
    assert "Check and drive after all" in stopped.words


def test_a_job_without_a_gearbox_shows_the_made_up_one_and_keeps_nothing(client):
    page = Page(client.get("/j/small/gears").text)
    assert "This is a made-up gearbox" in page.words
    assert "five seconds at most" in page.words.lower()
    assert page.unclosed == []
    other = Page(client.get("/j/small/gears?programme=towing").text)
    assert "Lines, towing" in other.words
    assert client.get("/j/small/gears?programme=racing").status_code >= 400
    assert client.post("/j/small/gears/keep", data={"programme": "towing"}).status_code >= 400


def test_charts_and_figures_are_had_as_files(client):
    assert "programme sport" in client.get("/j/small/gears/lines.svg?programme=sport").text
    assert client.get("/j/small/gears/lines.csv").text.startswith("line,km/h,0,10")


def test_findings_and_drives_of_the_jobs_own_gearbox_come_when_they_are_worked_out(client):
    page = settled(client, "/j/own/gears")
    assert "my three speeds" in page.words
    assert "made-up" not in page.words
    assert "torque curve estimated" in page.words
    assert "no table says which solenoids" in page.words
    assert "pedal pressed at 60 km/h" in page.words
    assert page.unclosed == []
    assert client.get("/j/own/gears/hunting.svg").headers["content-type"].startswith("image/svg")


def test_lines_that_are_typed_are_kept_as_a_revision_and_can_be_taken_back(client, shelf):
    before = shelf.now("own").revision
    typed = {**fields(client), "up 1-2/0": "31.5"}
    page = Page(client.post("/j/own/gears/keep", data=typed).text)
    assert "Drawn by hand and kept with the job" in page.words
    assert shelf.now("own").revision == before + 1
    assert client.get("/j/own/gears/lines.csv").text.splitlines()[1].startswith("up 1-2,,31.5")
    assert client.post("/j/own/gears/keep", data=typed).status_code == 200
    assert shelf.now("own").revision == before + 1, "the same lines again are no change"
    again = Page(client.post("/j/own/gears/first", data={"programme": "normal"}).text)
    assert "A first set" in again.words
    assert not any(row.name.startswith("gear.lines") for row in shelf.now("own").job.vehicle)


def test_lines_are_checked_as_typed_and_nothing_is_written(client, shelf):
    before = shelf.now("own").revision
    typed = fields(client)
    crossed = {**typed, "down 2-1/3": "90"}
    page = Page(client.post("/j/own/gears/look", data=crossed).text)
    assert "As typed, not kept yet" in page.words
    assert "to and fro without end" in page.words
    assert shelf.now("own").revision == before


def test_a_cell_that_is_no_speed_comes_back_as_typed_with_its_mend(client, shelf):
    before = shelf.now("own").revision
    answer = client.post("/j/own/gears/keep", data={**fields(client), "up 2-3/4": "fast"})
    page = Page(answer.text)
    assert answer.status_code == 422
    assert "up 2-3 at 40 %" in page.words
    assert any(at.get("value") == "fast" for _, at in page.elements)
    assert shelf.now("own").revision == before


def test_any_number_of_programmes_is_added_by_name_and_wish(client, shelf):
    for name, wish in (("wet road", "economy"), ("with trailer", "towing")):
        page = Page(client.post("/j/own/gears/programme", data={"name": name, "wish": wish}).text)
        assert f"Lines, {name}" in page.words
    words = [at.get("href") for tag, at in page.elements if tag == "a" and "?programme=" in at.get("href", "")]
    assert any("normal" in word for word in words), "the one that stood there stays"
    assert client.post("/j/own/gears/programme", data={"name": "wet road", "wish": "sport"}).status_code >= 400
    assert client.post("/j/own/gears/programme", data={"name": "a.b", "wish": "sport"}).status_code >= 400


def test_lines_with_fewer_changes_are_kept_off_the_curve(client, shelf, monkeypatch):
    monkeypatch.setattr(
        gear_work, "fewest_changes", lambda box, one, tell: FEWEST(box, one, cycle="urban", tell=tell, tried=12)
    )
    page = settled(client, "/j/own/gears/fewest?programme=normal")
    assert "12 sets of lines were driven" in page.words
    kept = client.post("/j/own/gears/fewest/keep", data={"programme": "normal", "place": "0"})
    assert "Drawn by hand and kept" in Page(kept.text).words
    assert client.post("/j/own/gears/fewest/keep", data={"programme": "normal", "place": "99"}).status_code >= 400


def test_a_step_of_the_set_up_is_written_down_and_stays_on_record(client, shelf):
    told = {"number": "2", "verdict": "passed", "read": "0110 in P, alone in its detent"}
    page = Page(client.post("/j/own/gears/steps", data=told).text)
    assert "passed" in page.words
    assert "0110 in P, alone in its detent" in page.words
    row = shelf.now("own").job.gates[-1]
    assert (row.stage, row.gate, row.verdict, row.who) == ("gearbox", "set-up: selector adjustment", "passed", "sam")
    assert client.post("/j/own/gears/steps", data={**told, "verdict": "waived"}).status_code >= 400


FEWEST = gear_work.fewest_changes
