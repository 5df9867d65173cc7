"""The test sheet: the next test is large, a reading gets its verdict at once, what failed goes to the fault finder."""

from __future__ import annotations

import io
import re
import time

import pypdfium2
import pytest

from loomwright.brief.brief import briefed
from loomwright.car import Car
from tests.pages.quiet import quiet_client
from tests.pages.shelves import SMALL, Page, shelf_in

PATIENCE_S = 120.0
KEY_LINE = "live/ECU.A5/key.run"


@pytest.fixture(scope="module")
def shelf(tmp_path_factory):
    made = shelf_in(tmp_path_factory.mktemp("prove"), small=SMALL)
    yield made
    made.close()


@pytest.fixture(scope="module")
def client(shelf):
    car = Car(briefed({"cylinders": "1", "fans": "0", "gearbox": "shifted by hand"}).job).worked_out()
    shelf.add("car", car.job, who="A")
    return quiet_client(shelf)


def sheet(client, query="", waiting="Every test is solved"):
    until = time.monotonic() + PATIENCE_S
    while True:
        page = Page(client.get(f"/j/car/prove{query}").text)
        if waiting not in page.words:
            return page
        assert time.monotonic() < until
        time.sleep(0.3)


def take(client, test, value, **more):
    return client.post("/j/car/prove", data={"test": test, "value": value, **more}, follow_redirects=False)


def test_the_first_test_is_dead_and_its_caution_stands_with_it(client):
    page = sheet(client)
    assert "Dead tests: battery off, controllers unplugged" in page.words
    assert "Rings and watches off" in page.words
    assert page.unclosed == []
    assert len(page.ids()) == len(set(page.ids()))


def test_a_figure_is_typed_on_a_pad_of_figures(client):
    page = sheet(client, f"?test={KEY_LINE}")
    fields = [one for one in page.all("input") if one.get("name") == "value" and one.get("type") == "text"]
    assert [one.get("inputmode") for one in fields] == ["decimal"]


def test_a_reading_is_kept_with_its_verdict_and_one_that_failed_goes_to_the_fault_finder(client, shelf):
    sheet(client)
    assert take(client, KEY_LINE, "12.4", warmth="cold", instrument="pocket meter").status_code == 303
    assert take(client, KEY_LINE, "0.2", warmth="hot").status_code == 303
    proofs = shelf.now("car").job.proofs
    assert [(one.value, one.verdict, one.warmth) for one in proofs] == [
        (12.4, "passed", "cold"),
        (0.2, "failed", "hot"),
    ]
    assert proofs[0].instrument == "pocket meter"
    page = sheet(client, f"?test={KEY_LINE}")
    assert "A re-test stands beside it" in page.words
    assert "Taken last: ECU.A5 key=run 0.2 V, hot : failed ." in page.words
    assert "Side by side: 12.4 V, cold · 0.2 V, hot" in page.words
    assert re.search(r"passes 1[12][0-9.]* to 1[23][0-9.]* V", page.words), "the band stands beside the figure"
    assert "Find the fault" in page.words
    answer = client.post("/j/car/prove/hunt", data={"test": KEY_LINE}, follow_redirects=False)
    assert "/j/car/fault?hunt=" in answer.headers["location"]
    taken_over = [(one.point, one.value, one.off[0]) for one in shelf.now("car").job.readings]
    assert taken_over == [("ECU.A5", 0.2, "ECU")], "with the controller unplugged, as it was read"


def test_ohms_that_failed_go_to_the_fault_finder_with_what_was_unplugged(client, shelf):
    sheet(client)
    name = "dead/body/ECU.A1"
    assert take(client, name, "0,3 ohm").status_code == 303
    page = sheet(client, f"?test={name}")
    assert name in [one.get("value") for one in page.all("input") if one.get("name") == "test"]
    client.post("/j/car/prove/hunt", data={"test": name}, follow_redirects=False)
    last = shelf.now("car").job.readings[-1]
    assert (last.point, last.to, last.off, last.measure, last.value) == ("ECU.A1", "body", ("ECU",), "ohms", 0.3)
    assert last.visit == f"test {name}"
    again = client.post("/j/car/prove/hunt", data={"test": name}, follow_redirects=False)
    assert again.status_code == 303
    assert shelf.now("car").job.readings[-1] == last, "handed over once"


def test_power_is_held_off_where_a_dead_test_failed(client, shelf):
    sheet(client)
    said = "No power yet: dead/body/ECU.A1 failed. Mend that and read it again first."
    assert take(client, "dead/body/ECU.A1", "0.3 ohm").status_code == 303
    assert said in sheet(client, "?test=power/all-out").words
    assert said not in sheet(client, "?test=dead/tug/ECU").words
    assert take(client, "dead/body/ECU.A1", "OL").status_code == 303
    assert "No power yet" not in sheet(client, "?test=power/all-out").words


def test_one_test_after_the_other_is_answered_with_a_press_and_what_it_was_read_with_stays(client, shelf):
    page = sheet(client, "?test=dead/tug/ECU")
    assert [one["value"] for one in page.all("button") if one.get("name") == "value"] == ["yes", "no"]
    onward = take(client, "dead/drag/ECU", "yes", warmth="cold", instrument="bench meter").headers["location"]
    assert "test=" in onward
    assert "dead%2Fdrag%2FECU" not in onward
    page = sheet(client, "?" + onward.partition("?")[2])
    assert "Taken last: ECU answered yes, cold : passed ." in page.words
    assert [one.get("value") for one in page.all("input") if one.get("id") == "t-with"] == ["bench meter"]


def test_nothing_of_a_refused_reading_is_lost_and_a_test_nobody_planned_is_no_record(client, shelf):
    sheet(client)
    before = shelf.now("car").job.proofs
    for typed in ("12 ohm", "much"):
        back = take(client, KEY_LINE, typed, instrument="pocket meter")
        assert back.status_code == 422
        fields = {one.get("id"): one.get("value") for one in Page(back.text).all("input")}
        assert (fields["t-value"], fields["t-with"]) == (typed, "pocket meter")
    assert take(client, "live/NOBODY.1/rest", "12.4").status_code == 303
    assert shelf.now("car").job.proofs == before


def test_what_cannot_be_meant_is_told_and_what_can_hardly_be_is_asked_about_once(client, shelf):
    sheet(client)
    before = len(shelf.now("car").job.proofs)
    assert take(client, KEY_LINE, "12 ohm").status_code == 422
    asked = take(client, KEY_LINE, "124")
    assert asked.status_code == 422
    assert "It really shows that" in Page(asked.text).words
    assert len(shelf.now("car").job.proofs) == before
    assert take(client, KEY_LINE, "124", insist="yes").status_code == 303
    assert shelf.now("car").job.proofs[-1].value == 124.0


def test_a_test_that_is_not_possible_says_why(client, shelf):
    sheet(client)
    assert take(client, "dead/tug/ECU", "-").status_code == 422
    assert take(client, "dead/tug/ECU", "-", notes="plug behind the heater").status_code == 303
    assert (shelf.now("car").job.proofs[-1].verdict, shelf.now("car").job.proofs[-1].notes) == (
        "not done",
        "plug behind the heater",
    )


def test_the_plan_is_a_paper_with_what_was_read_and_the_stage_leads_to_the_sheet(client):
    page = sheet(client)
    links = [one.get("href") for one in page.all("a")]
    assert "/j/car/prove" in links
    assert "/j/car/prove/paper" in links
    answer = client.get("/j/car/prove/paper")
    assert answer.headers["content-type"] == "application/pdf"
    pages = pypdfium2.PdfDocument(io.BytesIO(answer.content))
    said = " ".join(" ".join(one.get_textpage().get_text_range().split()) for one in pages)
    assert "plug behind the heater" in said
    assert "before: 12.4 V, cold passed; 0.2 V, hot failed" in said


@pytest.mark.long
def test_what_the_tests_would_catch_is_a_figure(client):
    sheet(client)
    page = sheet(client, "?coverage=yes", waiting="Every single fault is put into the car")
    assert "single faults put at least one test outside its band" in page.words
    assert "fuse: has blown or is out" in page.words
