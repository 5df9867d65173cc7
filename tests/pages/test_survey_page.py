"""The survey: the next reading is asked for, what is read moves the odds, and a known wire goes into the plan."""

from __future__ import annotations

import re
import time

import pytest
from playwright.sync_api import Page as BrowserPage
from playwright.sync_api import expect

from loomwright.job.reading import job_from_text
from loomwright.pages.records.entry_form import new_token
from tests.pages.conftest import RunningDesk
from tests.pages.quiet import quiet_client
from tests.pages.shelves import SMALL, Page, shelf_in

PATIENCE_S = 60.0
OLD = {
    **SMALL,
    "old_wires": [
        {"id": "O1", "colour": "BN", "where": "bay", "plug": "P3.1", "notes": "thick"},
        {"id": "O2", "colour": "GN", "where": "cabin", "segment": "GN to the plug, GN/BU after it"},
        {"id": "O3", "colour": "YE", "where": "cabin", "notes": "in a yellow sleeve at the airbag"},
        {"id": "O4", "colour": "BK", "where": "bay", "stub": "load"},
        {"id": "O5", "colour": "GN/BK", "where": "bay", "notes": "to the tank sender"},
    ],
}
SURE = [("key=off", "12.4"), ("key=run", "12.3"), ("key=accessory", "12.4"), ("key=start, selector=P", "10.4")]


class Fitter:
    """A person at a car of their own. address: of its survey."""

    def __init__(self, client, shelf, job):
        self.client, self.shelf, self.job = client, shelf, job
        self.address = f"/j/{job}/survey"

    def get(self, more=""):
        return self.client.get(self.address + more)

    def post(self, more="", **typed):
        return self.client.post(self.address + more, data=typed, follow_redirects=False)

    @property
    def now(self):
        return self.shelf.now(self.job)


@pytest.fixture(scope="module")
def shelf(tmp_path_factory):
    made = shelf_in(tmp_path_factory.mktemp("survey"))
    yield made
    made.close()


@pytest.fixture(scope="module")
def client(shelf):
    return quiet_client(shelf)


@pytest.fixture
def fitter(client, shelf):
    job = f"car-{len(shelf.jobs())}"
    shelf.add(job, job_from_text(OLD), who="A")
    return Fitter(client, shelf, job)


def survey(fitter, query=""):
    until = time.monotonic() + PATIENCE_S
    while True:
        page = Page(fitter.get(query).text)
        if "Weighing which" not in page.words:
            return page
        assert time.monotonic() < until
        time.sleep(0.1)


def take(fitter, wire, when, value="", **more):
    return fitter.post(**{"wire": wire, "when": when, "measure": "volts", "value": value, **more})


def board(page):
    """The wires on the board, in order."""
    return [one["aria-label"].partition(":")[0] for one in page.all("progress") if one.get("class") == "odds-bar"]


def wire(fitter, name, query=""):
    answer = fitter.get(f"/{name}{query}")
    assert answer.status_code == 200
    return Page(answer.text)


def test_the_board_stands_at_once_and_the_next_reading_soon_after(fitter):
    first = Page(fitter.get().text)
    assert "Weighing which reading tells most" in first.words
    assert board(first) == ["O1", "O2", "O3", "O4", "O5"]
    page = survey(fitter)
    assert "Set the car" in page.words
    assert "Expect" in page.words
    assert any(field.get("inputmode") == "decimal" for field in page.all("input"))
    assert page.unclosed == []
    assert len(page.ids()) == len(set(page.ids()))


def test_no_reading_is_asked_for_on_an_airbag_wire_and_its_page_says_why(fitter):
    page = wire(fitter, "O3")
    assert "no meter, no test lamp, no probe" in page.words
    assert "What would tell most of it" not in page.words
    assert "O3:" not in " ".join(link.get("href", "") for link in survey(fitter).all("a"))


def test_a_test_lamp_is_not_offered_at_the_tank(fitter):
    page = wire(fitter, "O5")
    assert "a spark there is petrol" in page.words
    assert [button for button in page.all("button") if button.get("name") == "lamp"] == []
    assert any(button.get("name") == "lamp" for button in wire(fitter, "O1").all("button"))


def test_a_reading_is_on_record_and_is_told_with_what_it_made_of_the_wire(fitter):
    before = fitter.now.revision
    assert take(fitter, "O2", "key=run", "12,2 V", battery_v="12,5").headers["location"] == fitter.address
    assert take(fitter, "O2", "key=off", lamp="dark", to="").status_code == 303
    readings = fitter.now.job.readings
    assert fitter.now.revision == before + 2
    assert [(one.measure, one.value, one.unit, one.battery_v) for one in readings] == [
        ("volts", 12.2, "V", 12.5),
        ("lamp", "dark", "", None),
    ]
    assert all(one.visit and one.time.startswith(one.visit) for one in readings)
    page = survey(fitter)
    assert "Taken last: O2 key=off lamp dark . It is" in page.words
    told = wire(fitter, "O2").words
    assert re.search(r"key=run 12.2 V (for|against|neither)", told)


def test_the_same_form_sent_twice_is_one_reading(fitter):
    token = new_token()
    take(fitter, "O2", "key=run", "12.2", token=token)
    take(fitter, "O2", "key=run", "12.2", token=token)
    assert len(fitter.now.job.readings) == 1


def test_what_is_no_reading_is_told_and_not_kept(fitter):
    for value in ("", "much"):
        answer = take(fitter, "O2", "key=run", value)
        assert answer.status_code == 422
        assert "The reading was not taken" in Page(answer.text).words
    assert take(fitter, "O2", "key=run", "much", back="wire").status_code == 422
    assert fitter.now.job.readings == ()


def test_a_reading_that_does_not_sit_is_asked_about_and_stays(fitter):
    take(fitter, "O2", "key=run", "15.1")
    page = survey(fitter)
    assert "more than 13.2 V" in page.words
    assert "row 2: not weighed" in page.words
    assert "not weighed" in wire(fitter, "O2").words
    assert fitter.now.job.readings[0].value == 15.1


def test_a_wrong_unit_is_kept_and_asked_about(fitter):
    assert take(fitter, "O2", "key=run", "12 ohm").status_code == 303
    assert "is the unit right" in survey(fitter).words
    assert [(one.value, one.unit) for one in fitter.now.job.readings] == [(12.0, "ohm")]


def test_two_readings_that_contradict_each_other_are_both_kept_and_asked_about(fitter):
    for value in ("12.3", "0.02"):
        take(fitter, "O2", "key=run", value)
    assert "contradict each other" in survey(fitter).words
    assert len(fitter.now.job.readings) == 2


def test_a_wire_read_before_it_is_written_down_gets_a_row(fitter):
    assert take(fitter, "Z9", "key=run", "12.1").status_code == 303
    assert fitter.now.job.old_wires[-1].id == "Z9"
    assert board(survey(fitter))[-1] == "Z9"
    assert "fill in colour and place" in wire(fitter, "Z9").words


def test_one_name_is_one_wire(fitter):
    token = new_token()
    for _ in range(2):
        assert fitter.post("/new", id="O6", colour="WH", token=token).status_code == 303
    again = fitter.post("/new", id="O6", colour="RD")
    assert again.status_code == 422
    assert "O6 is written down already" in Page(again.text).words
    assert [one.colour for one in fitter.now.job.old_wires if one.id == "O6"] == ["WH"]


def test_a_wire_as_good_as_known_is_asked_for_its_live_proof(fitter):
    for when, value in SURE:
        take(fitter, "O1", when, value)
    take(fitter, "O1", "key=run, fuses=out", "12.4")
    told = wire(fitter, "O1").words
    assert "not proved live" in told
    assert "What would tell most of it" in told
    assert "The lamp shows" in told


def test_what_cannot_be_had_here_gives_way_to_the_next(fitter):
    page = survey(fitter)
    aside = next(link["href"] for link in page.all("a") if link.get("class") == "button")
    wire_and_look = re.search(r"aside=([^&#]+)", aside).group(1)
    other = survey(fitter, "?" + aside.partition("?")[2].partition("#")[0])
    again = next(link["href"] for link in other.all("a") if link.get("class") == "button")
    assert again.count("aside=") == 1
    assert wire_and_look in again
    assert again != aside
    assert "take it up again" in other.words


def test_the_board_is_cut_down_to_a_place_and_to_how_sure(fitter):
    def names(query):
        rows = Page(fitter.get(f"?{query}").text)
        return board(rows)

    assert names("place=cabin") == ["O2", "O3"]
    assert names("sure=sure") == []
    assert names("sure=doubted") == []
    take(fitter, "O1", "key=run", "15.1")
    assert names("sure=doubted") == ["O1"]
    assert names("sure=doubted&place=cabin") == []


def test_a_known_wire_goes_into_the_plan_as_one_revision(fitter):
    refused = wire(fitter, "O1", "?to=F1.1")
    assert "It stays out of the plan for now" in refused.words
    for when, value in SURE:
        take(fitter, "O1", when, value)
    take(fitter, "O1", "key=run, fuses=out", "12.4")
    take(fitter, "O1", "key=run", lamp="full")
    page = wire(fitter, "O1", "?to=F1.1")
    assert "new row in parts" in page.words
    assert "OLD_O1" in page.words
    before = fitter.now.revision
    stale = fitter.post("/O1/plan", to="F1.1", revision=str(before - 1))
    assert stale.status_code >= 400
    assert fitter.now.revision == before
    fitter.post("/O1/plan", to="F1.1", revision=str(before))
    after = fitter.now
    assert after.revision == before + 1
    assert any(part.id == "OLD_O1" for part in after.job.parts)
    assert any(one.id == "OW_O1" and one.to == "F1.1" for one in after.job.wires)
    assert "It is in the plan: joined to F1.1" in wire(fitter, "O1").words


def test_a_fate_is_typed_and_a_wire_is_written_down_by_hand(fitter):
    key = fitter.now.rows["old_wires"][1].key
    typed = {"row": str(key), "fate": "cut back", "was.fate": ""}
    fitter.post("/O2/row", **typed)
    assert fitter.now.job.old_wires[1].fate == "cut back"
    assert "as typed; by the readings: leave" in wire(fitter, "O2").words
    there = fitter.post("/new", colour="WH/RD", where="bay")
    assert there.headers["location"] == f"{fitter.address}/O6"
    page = wire(fitter, "O6")
    assert any(link.get("href", "").startswith(f"/j/{fitter.job}/photos/old_wires/") for link in page.all("a"))
    wrong = fitter.post("/new", id="O7", colour="sky")
    assert wrong.status_code == 422
    assert fitter.get("/O99").status_code == 404


def test_the_page_is_reached_from_the_stages(fitter):
    links = [link.get("href", "") for link in Page(fitter.client.get(f"/j/{fitter.job}").text).all("a")]
    assert links.count(fitter.address) > 1


def test_what_is_being_typed_is_not_drawn_over(desk: RunningDesk, page: BrowserPage) -> None:
    job = f"typing-{desk.job}"
    desk.shelf.add(job, job_from_text(OLD), who="A")
    held = []
    page.route(f"**/j/{job}/survey", lambda route: held.append(route) if _is_asked_again(route) else route.continue_())
    with page.expect_request(lambda request: request.resource_type == "fetch" and request.url.endswith("/survey")):
        page.goto(f"{desk.url}/j/{job}/survey")
    page.get_by_text("Write another old wire down", exact=True).click()
    page.get_by_label("Name", exact=True).fill("O77")
    answer = Page("")
    while "Weighing which" in answer.words or not answer.words:
        answer = Page(page.request.get(f"{desk.url}/j/{job}/survey").text())
    for route in held:
        route.continue_()
    expect(page.get_by_role("link", name="show it", exact=True)).to_be_visible()
    expect(page.get_by_label("Name", exact=True)).to_have_value("O77")


def _is_asked_again(route) -> bool:
    return route.request.resource_type == "fetch"


def test_three_readings_move_the_odds(desk: RunningDesk, page: BrowserPage) -> None:
    job = f"old-{desk.job}"
    desk.shelf.add(job, job_from_text(OLD), who="A")
    seen = []
    page.goto(f"{desk.url}/j/{job}/survey/O2")
    for when, shown in (("key=run", "12.3"), ("key=off", "0.02"), ("key=accessory", "0.01")):
        seen.append(page.locator(".odds-table progress").first.get_attribute("value"))
        own = page.locator(".own-reading")
        own.get_by_label("The car as it stood").fill(when)
        own.get_by_label("It shows").fill(shown)
        own.get_by_role("button").click()
        expect(page.locator("#readings + table tbody tr")).to_have_count(len(seen))
    seen.append(page.locator(".odds-table progress").first.get_attribute("value"))
    assert len(set(seen)) == 4, seen
    assert len(desk.shelf.now(job).job.readings) == 3
