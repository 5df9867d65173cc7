"""The brief makes a job on the shelf; a recipe shows what it makes, is tried, and is taken in as one revision."""

from __future__ import annotations

import time

import pytest

from loomwright.brief.brief import briefed as briefed_job
from loomwright.handover.quote import quote_of
from loomwright.routes.wire_routes import wire_routes
from loomwright.tables.kinds import load_kinds
from tests.pages.quiet import quiet_client
from tests.pages.shelves import SMALL, Page, shelf_in

PATIENCE_S = 120.0
ASKED = {"place": "dash", "feed": "F15", "box": "dash", "live": "15", "earth": "EC", "average_a": "1"}


@pytest.fixture(scope="module")
def shelf(tmp_path_factory):
    made = shelf_in(tmp_path_factory.mktemp("recipes"), small=SMALL)
    yield made
    made.close()


@pytest.fixture(scope="module")
def client(shelf):
    return quiet_client(shelf)


@pytest.fixture(scope="module")
def briefed(client):
    """A job made from a brief on the page."""
    answer = client.post("/brief", data={"name": "three", "cylinders": "3", "fans": "0"}, follow_redirects=False)
    assert answer.status_code == 303
    return answer.headers["location"]


def test_the_brief_says_what_its_answers_and_each_wish_come_to(client):
    four, six = (Page(client.get(f"/brief?cylinders={n}").text) for n in (4, 6))
    assert "30 pins" in four.words
    assert "34 pins" in six.words, "two more injectors and two more coils"
    assert "no pin, 6 wires" in four.words, "the horn asks for no pin"
    made = briefed_job({}).job
    quote = quote_of(made, load_kinds(), wire_routes(made, load_kinds()))
    assert f"about {sum(part.all.usual_minutes for part in quote.parts) / 60:.1f} h" in four.words, "the quote's hours"
    assert four.unclosed == []
    assert len(four.ids()) == len(set(four.ids()))


def test_a_job_made_of_it_stands_on_the_shelf(client, shelf, briefed):
    assert briefed == "/j/three"
    kinds = [part.kind for part in shelf.now("three").job.parts]
    assert kinds.count("injector") == 3
    assert "fan" not in kinds
    assert client.get(briefed).status_code == 200


def test_what_stands_in_the_way_is_told_on_the_page_with_the_answers_kept(client):
    answer = client.post("/brief", data={"name": "small", "cylinders": "6"})
    assert answer.status_code == 422
    page = Page(answer.text)
    assert "small" in page.words
    assert [one for one in page.all("option") if "selected" in one and one.get("value", "") == ""]
    assert client.post("/brief", data={"name": "x", "cylinders": "7"}).status_code == 422


def test_an_answer_that_cannot_be_read_is_told_where_one_looks_and_the_page_stays_what_it_was(client):
    page = Page(client.get("/brief?alternator_a=lots&cylinders=6&firing_order=1-2").text)
    assert "Not made yet. To be mended: firing order, as 1-3-4-2 , what the alternator can give ." in page.words
    assert {"#q-alternator_a", "#q-firing_order"} <= {one.get("href", "") for one in page.all("a")}
    assert "lots: allowed is" in page.words
    assert "no pin, 6 wires" in page.words, "what the horn adds is told all the same"
    assert "Before anybody begins" in page.words
    assert "It comes to" not in page.words


def test_a_figure_is_read_with_its_unit_and_too_few_pins_are_told_before_the_job_is_made(client):
    page = Page(client.get("/brief?alternator_a=90A&controller=small&cylinders=6&coils=one coil a pair").text)
    assert "It comes to" in page.words
    assert "The small controller has no pin for 2 of them: which ." in page.words
    assert "No pin on the small controller injector INJ5 injector INJ6 What is wanted least" in page.words
    assert "has no pin" not in Page(client.get("/brief").text).words


def test_what_stands_for_a_blank_answer_is_told_in_words(client, briefed):
    words = Page(client.get(f"{briefed}/add/hall_sensor").text).words
    assert "blank: made of the answers before it" in words
    assert "{" not in words
    assert "the nearest to it" in Page(client.get(f"{briefed}/add/fused_load").text).words


def test_what_follows_from_an_answer_that_is_told_is_not_told_beside_it(client, briefed):
    page = Page(client.get(f"{briefed}/add/fused_load?place=dash&feed=nowhere&average_a=2 A").text)
    assert page.words.count("allowed is") == 1
    assert "nowhere: allowed is a busbar, a splice, a fuse, or any point such as KEY.15" in page.words


def test_every_recipe_stands_in_the_list_and_opens(client, briefed):
    hrefs = [one["href"] for one in Page(client.get(f"{briefed}/add").text).all("a") if "/add/" in one.get("href", "")]
    assert len(hrefs) >= 20
    for href in hrefs:
        assert client.get(href).status_code == 200


def test_what_is_missing_is_told_beside_its_field(client, briefed):
    words = Page(client.get(f"{briefed}/add/fused_load?place=moon&average_a=2").text).words
    assert "moon" in words
    assert "What it makes" not in words


@pytest.mark.long
def test_the_rows_are_shown_tried_and_taken_in_as_one_revision(client, shelf, briefed):
    until = time.monotonic() + PATIENCE_S
    while True:
        words = Page(client.get(f"{briefed}/add/fused_load", params=ASKED).text).words
        if "The car holds" in words or "brings a fault" in words:
            break
        assert time.monotonic() < until
        time.sleep(0.3)
    assert "The car holds" in words
    before = shelf.now("three").revision
    taken = {**ASKED, "revision": str(before)}
    answer = client.post(f"{briefed}/add/fused_load/take", data=taken, follow_redirects=False)
    assert answer.headers["location"] == "/j/three/circuit/accessory"
    now = shelf.now("three")
    assert now.revision == before + 1
    assert {part.id for part in now.job.parts} >= {"RAD", "FRAD"}
    stale = client.post(f"{briefed}/add/fused_load/take", data=taken)
    assert stale.status_code >= 400, "the job has changed since"
    assert shelf.now("three").revision == before + 1


def test_answers_that_change_quickly_are_asked_for_one_question_at_a_time(page, desk):
    page.clock.install()
    page.goto(f"{desk.url}/brief")
    asked = []

    def hold_the_first(route):
        asked.append(route)
        if len(asked) > 1:
            route.continue_()

    page.route("**/brief?*", hold_the_first)
    with page.expect_request("**/brief?*"):
        for name in ("radio", "horn"):
            page.locator(f"[name={name}]").select_option("yes")
        page.clock.run_for(300)
    page.locator("[name=tacho]").select_option("yes")
    page.clock.run_for(300)
    assert page.locator("form.brief").get_attribute("aria-busy") == "true"
    assert len(asked) == 1, "the two that rested together are one question, and the third waits for its answer"
    asked[0].continue_()
    page.wait_for_selector("form.brief:not([aria-busy])")
    first, second = (one.request.url for one in asked)
    assert "horn=yes" in first
    assert "radio=yes" in first
    assert "tacho=yes" in second
