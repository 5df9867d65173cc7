"""Arrival in the browser: the vehicle, wishes with their cost, the quote, changes; without scripts, by two people."""

from __future__ import annotations

import pytest

from loomwright.job.reading import job_from_text
from loomwright.sheets.empty_job import empty_job
from tests.handover.small_quote import SHEETS
from tests.pages.quiet import quiet_client
from tests.pages.shelves import Page, shelf_in
from tests.pages.shop_forms import fields, forms_in, send

HERE = "/j/car/arrival"


@pytest.fixture
def shelf(tmp_path):
    made = shelf_in(tmp_path, car=SHEETS)
    made.add("bare", empty_job(), who="sam")
    yield made
    made.close()


@pytest.fixture
def client(shelf):
    return quiet_client(shelf)


def words(client, address=HERE) -> str:
    return Page(client.get(address, headers={"accept": "text/html"}).text).words


def told(shelf, sheet: str) -> list[dict[str, str]]:
    return [dict(row.cells) for row in shelf.now("car").rows.get(sheet, ())]


def key(shelf, sheet: str, name: str) -> str:
    return str(next(row.key for row in shelf.now("car").rows[sheet] if name in row.cells.values()))


def test_the_page_is_whole_and_its_ids_stand_once(client):
    page = Page(client.get(HERE, headers={"accept": "text/html"}).text)
    assert page.unclosed == []
    assert len(page.ids()) == len(set(page.ids()))
    labelled = {one.get("for") for one in page.all("label")}
    shown = [one for tag in ("input", "select", "textarea") for one in page.all(tag) if one.get("type") != "hidden"]
    assert [one["id"] for one in shown if one["id"] not in labelled] == []


def test_the_quote_stands_there_in_two_parts_with_its_ranges(client):
    said = words(client)
    assert "Part one: Strip and survey" in said
    assert "89 EUR (70 to 130)" in said  # by hand in tests/handover/test_quote.py
    assert "308 EUR" in said
    assert "2 of 5 without a price" in said


def test_cautions_of_taking_a_vehicle_in_stand_beside_it(client):
    said = words(client)
    for piece in ("asbestos", "airbag", "earth lead off first", "Relieve the fuel pressure"):
        assert piece in said


def test_a_wish_taken_out_of_the_job_lowers_the_sum_at_once(client, shelf):
    row = key(shelf, "wishes", "second")
    before = fields(client, HERE, "/included", row)
    answer = send(client, f"{HERE}/included", {**before, "included": "no"})
    assert (answer.status_code, answer.headers["location"]) == (303, f"{HERE}#w{row}")
    assert told(shelf, "wishes")[0]["included"] == "no"
    said = words(client)
    # 284.26 + 24 less 81.88 + 12.5
    assert "214 EUR" in said
    assert "308 EUR" not in said
    assert "would add 94 EUR" in said
    assert "A second lamp. Not in the job." in said


def test_a_form_sent_twice_is_done_once(client, shelf):
    cells = {**fields(client, HERE, "/wish"), "text": "Air horns"}
    assert [send(client, f"{HERE}/wish", cells).status_code for _ in range(2)] == [303, 303]
    assert [row["id"] for row in told(shelf, "wishes")] == ["second", "air_horns"]


def test_a_wish_of_a_circuit_that_is_not_there_comes_back_as_typed(client, shelf):
    cells = {**fields(client, HERE, "/wish"), "text": "A radio", "circuits": "raido", "parts": "L9"}
    answer = send(client, f"{HERE}/wish", cells)
    assert answer.status_code == 422
    said = Page(answer.text).words
    assert "The sheet circuits has no raido. It has: more work." in said
    assert "The sheet parts has no L9." in said
    assert 'value="raido"' in answer.text
    assert len(told(shelf, "wishes")) == 1


def test_two_people_at_one_wish_are_told_both_values(client, shelf):
    row = key(shelf, "wishes", "second")
    mine = {**fields(client, HERE, "/wish", row), "text": "Two lamps more"}
    theirs = {**fields(client, HERE, "/wish", row), "text": "A lamp at the back"}
    assert send(client, f"{HERE}/wish", theirs).status_code == 303
    answer = send(client, f"{HERE}/wish", mine)
    assert answer.status_code == 409
    said = Page(answer.text).words
    assert "Somebody else was quicker" in said
    assert "Theirs, meanwhile: A lamp at the back" in said
    assert "Two lamps more</textarea>" in answer.text
    assert told(shelf, "wishes")[0]["text"] == "A lamp at the back"


def test_what_came_back_can_be_put_in_place_of_theirs(client, shelf):
    row = key(shelf, "wishes", "second")
    mine = {**fields(client, HERE, "/wish", row), "text": "Two lamps more"}
    send(client, f"{HERE}/wish", {**fields(client, HERE, "/wish", row), "text": "A lamp at the back"})
    back = send(client, f"{HERE}/wish", mine)
    again = next(cells for cells in _forms(back.text) if cells.get("row") == row and "text" in cells)
    assert again["was.text"] == "A lamp at the back"
    assert send(client, f"{HERE}/wish", again).status_code == 303
    assert told(shelf, "wishes")[0]["text"] == "Two lamps more"


def test_two_people_in_different_cells_of_one_wish_do_not_meet(client, shelf):
    row = key(shelf, "wishes", "second")
    one = {**fields(client, HERE, "/wish", row), "notes": "blue"}
    other = {**fields(client, HERE, "/wish", row), "minutes": "30"}
    assert [send(client, f"{HERE}/wish", each).status_code for each in (one, other)] == [303, 303]
    assert (told(shelf, "wishes")[0]["notes"], told(shelf, "wishes")[0]["minutes"]) == ("blue", "30")


def test_a_wish_somebody_changed_meanwhile_is_not_taken_out(client, shelf):
    row = key(shelf, "wishes", "second")
    mine = {**fields(client, HERE, "/wish", row), "do": "drop"}
    send(client, f"{HERE}/wish", {**fields(client, HERE, "/wish", row), "notes": "paid for"})
    assert send(client, f"{HERE}/wish", mine).status_code == 409
    assert len(told(shelf, "wishes")) == 1
    mine = {**fields(client, HERE, "/wish", row), "do": "drop"}
    assert send(client, f"{HERE}/wish", mine).status_code == 303
    assert told(shelf, "wishes") == []


def test_the_vehicle_is_written_row_by_row_and_only_what_was_touched(client, shelf):
    cells = fields(client, HERE, "/vehicle")
    answer = send(client, f"{HERE}/vehicle", {**cells, "owner": "the owner", "rate_per_hour": "120"})
    assert answer.status_code == 303
    named = {row["name"]: row["value"] for row in told(shelf, "vehicle")}
    assert named == {"title": "a small car", "currency": "EUR", "rate_per_hour": "120", "owner": "the owner"}
    assert "178 EUR" in words(client)


def test_a_term_that_cannot_be_comes_back_with_all_that_was_typed(client, shelf):
    cells = {**fields(client, HERE, "/vehicle"), "tax_percent": "a fifth", "owner": "the owner"}
    answer = send(client, f"{HERE}/vehicle", cells)
    assert answer.status_code == 422
    assert "It may be: 0 to 100 % on the sum." in Page(answer.text).words
    assert 'value="a fifth"' in answer.text
    assert 'value="the owner"' in answer.text
    assert len(told(shelf, "vehicle")) == 3


def test_two_people_at_one_property_are_told_both_values(client, shelf):
    mine = {**fields(client, HERE, "/vehicle"), "title": "mine", "plate": "A 1"}
    assert send(client, f"{HERE}/vehicle", {**mine, "title": "theirs", "token": "t2", "plate": ""}).status_code == 303
    answer = send(client, f"{HERE}/vehicle", mine)
    assert answer.status_code == 409
    assert "Theirs, meanwhile: theirs" in Page(answer.text).words
    assert 'value="mine"' in answer.text
    assert {row["name"] for row in told(shelf, "vehicle")} == {"title", "currency", "rate_per_hour"}


def test_a_change_is_put_on_record_with_its_revision_and_summed(client, shelf):
    cells = {**fields(client, HERE, "/change"), "why": "a relay more", "price": "140", "who": "owner"}
    assert send(client, f"{HERE}/change", cells).status_code == 303
    assert told(shelf, "changes")[0]["revision"] == "1"
    assert "Agreed so far 140 EUR" in words(client)


def test_a_price_given_for_a_thing_goes_into_stock_and_into_the_sum(client, shelf):
    answer = send(client, f"{HERE}/price", {"item": "fuse blade c, 10 A, red", "price": "0.5", "token": "p1"})
    assert answer.status_code == 303
    assert told(shelf, "stock")[-1] == {"item": "fuse blade c, 10 A, red", "price": "0.5"}
    assert "309 EUR" in words(client)


def test_the_quote_is_a_paper_of_both_parts_or_of_one(client):
    for query, name in (("", "quote.pdf"), ("?part=one", "quote-part-one.pdf")):
        answer = client.get(f"{HERE}/quote.pdf{query}")
        assert answer.headers["content-type"] == "application/pdf"
        assert name in answer.headers["content-disposition"]
        assert answer.content.startswith(b"%PDF")
    assert client.get(f"{HERE}/quote.pdf?part=three").status_code == 404


def test_a_vehicle_that_has_just_come_in_has_its_part_one(client):
    said = words(client, "/j/bare/arrival")
    assert "Part one: Strip and survey" in said
    assert "There are hours and no sum" in said


def test_sheets_that_do_not_fit_each_other_are_said_instead_of_a_quote(client, shelf):
    row = key(shelf, "wires", "W2")
    cells = {"do": "set", "sheet": "wires", "row": int(row), "column": "to", "old": "L1.1", "new": "L99.1"}
    assert client.post("/api/j/car/edits", json={"edits": [cells]}).status_code == 200
    said = words(client)
    assert "The quote is counted from the sheets as soon as they fit each other: 1 cell does not." in said
    assert "A second lamp" in said


def test_a_form_longer_than_any_of_ours_is_refused(client):
    answer = client.post(f"{HERE}/wish", data={"text": "x" * 300_000})
    assert answer.status_code == 413


def _forms(html: str) -> list[dict[str, str]]:
    return [cells for _, cells in forms_in(html)]


def test_a_choice_counts_anew_in_a_browser_without_a_script(desk, browser):
    desk.shelf.add(f"{desk.job}-q", job_from_text(SHEETS), who="A")
    context = browser.new_context(java_script_enabled=False, viewport={"width": 1024, "height": 768})
    page = context.new_page()
    page.goto(f"{desk.url}/j/{desk.job}-q/arrival")
    assert page.locator(".sums.both .total dd").inner_text().startswith("397 EUR")
    page.locator(".wish .choice").get_by_text("not in it").click()
    assert page.locator(".sums.both .total dd").inner_text().startswith("303 EUR")
    assert page.locator(".wish [aria-pressed=true]").inner_text() == "not in it"
    context.close()
