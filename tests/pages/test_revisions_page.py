"""Revisions: a list that only grows, two of them compared, taking back, and the job as it stood."""

from __future__ import annotations

import pytest

from loomwright.store.text_rows import AddRow, DropRow, SetCell
from tests.pages.quiet import quiet_client
from tests.pages.shelves import SMALL, Page, shelf_in


@pytest.fixture
def shelf(tmp_path):
    made = shelf_in(
        tmp_path,
        small={**SMALL, "changes": [{"revision": "2", "who": "owner", "why": "a brighter lamp", "price": "45"}]},
    )
    yield made
    made.close()


def change(shelf, column, new, who="sam", why=""):
    row = next(row for row in shelf.now("small").rows["wires"] if row.cells["id"] == "W6")
    edit = SetCell(sheet="wires", row_key=row.key, column=column, old=row.cells.get(column, ""), new=new)
    return shelf.edit("small", [edit], who=who, why=why)


def words(client, path="/j/small/revisions"):
    page = Page(client.get(path).text)
    assert page.unclosed == []
    return page.words


def test_every_revision_stands_with_who_when_and_why(shelf):
    change(shelf, "length_mm", "1100", why="lamp moved")
    told = words(quiet_client(shelf))
    assert "lamp moved" in told
    assert "taken in" in told
    assert "2026-01-01 10:00" in told


def test_what_the_owner_asked_for_stands_at_its_revision_with_its_price(shelf):
    change(shelf, "length_mm", "1100")
    assert "owner: a brighter lamp, price 45" in words(quiet_client(shelf))


def test_steps_on_record_stand_together(shelf):
    for wire in ("W3", "W4", "W5"):
        shelf.record("small", "progress", {"wire": wire, "end": "both", "step": "cut"}, who="sam")
    page = Page(quiet_client(shelf).get("/j/small/revisions").text)
    # revision 2 is one the owner asked for, and stands alone
    assert "3–4 2 steps and readings recorded" in page.words
    assert "/j/small/revisions?from=2&to=4" in [one.get("href") for one in page.all("a")]


def test_two_revisions_are_compared_cell_by_cell(shelf):
    change(shelf, "length_mm", "1100")
    change(shelf, "colour", "GN")
    row = next(row for row in shelf.now("small").rows["parts"] if row.cells["id"] == "K1")
    shelf.edit("small", [DropRow(sheet="parts", row_key=row.key)], who="sam")
    shelf.edit("small", [AddRow(sheet="places", cells={"id": "boot"})], who="sam")
    told = words(quiet_client(shelf), "/j/small/revisions?from=1&to=5")
    assert "W6 length_mm 1000 1100" in told
    assert "W6 colour WH/BU GN" in told
    assert "K1 row taken out" in told
    assert "boot row added" in told
    only = words(quiet_client(shelf), "/j/small/revisions?from=3&to=2")
    assert "W6 colour WH/BU GN" in only
    assert "1100" not in only


def test_a_decision_taken_into_its_cell_is_told_as_that(shelf):
    decided = {"sheet": "wires", "row": "W6", "column": "size_mm2", "value": "1.5", "decided_by": "least"}
    shelf.edit("small", [AddRow(sheet="decisions", cells=decided)], who="sam", kind="record")
    key = shelf.now("small").rows["decisions"][0].key
    row = next(row for row in shelf.now("small").rows["wires"] if row.cells["id"] == "W6")
    adopt = [
        SetCell(sheet="wires", row_key=row.key, column="size_mm2", old="", new="1.5"),
        DropRow(sheet="decisions", row_key=key),
    ]
    assert shelf.edit("small", adopt, who="sam").is_taken
    assert "adopted: decided by the tool" in words(quiet_client(shelf), "/j/small/revisions?from=2&to=3")


def test_revisions_that_do_not_differ_say_so(shelf):
    change(shelf, "length_mm", "1100")
    shelf.undo("small", who="sam")
    assert "Nothing differs between the two" in words(quiet_client(shelf), "/j/small/revisions?from=1&to=3")


def test_taking_back_is_a_revision_and_can_be_done_again(shelf):
    change(shelf, "length_mm", "1100")
    client = quiet_client(shelf)
    assert "The last edit of sam is revision 2" in words(client)
    client.post("/j/small/revisions/undo", data={"expects": "2"})
    told = words(client)
    assert shelf.now("small").revision == 3
    assert "taken back in revision 3" in told
    client.post("/j/small/revisions/redo", data={"expects": "3"})
    assert shelf.now("small").revision == 4
    row = next(row for row in shelf.now("small").rows["wires"] if row.cells["id"] == "W6")
    assert row.cells["length_mm"] == "1100"


def test_pressed_twice_only_the_one_that_was_shown_is_taken_back(shelf):
    change(shelf, "length_mm", "1100")
    change(shelf, "length_mm", "1200")
    client = quiet_client(shelf)
    client.post("/j/small/revisions/undo", data={"expects": "3"})
    answer = client.post("/j/small/revisions/undo", data={"expects": "3"})
    assert answer.status_code == 409
    assert "no longer the one to turn round" in Page(answer.text).words
    assert shelf.now("small").revision == 4


def test_what_somebody_typed_over_is_not_taken_back_and_both_are_told(shelf):
    change(shelf, "length_mm", "1100")
    change(shelf, "length_mm", "1300", who="alex")
    answer = quiet_client(shelf).post("/j/small/revisions/undo", data={"expects": "2"})
    assert answer.status_code == 409
    assert "holds '1300' now, and '1100' was expected" in Page(answer.text).words
    assert shelf.now("small").revision == 3


def test_nothing_to_take_back_offers_nothing(shelf):
    page = Page(quiet_client(shelf).get("/j/small/revisions").text)
    assert "sam has no edit to take back" in page.words
    assert [form for form in page.all("form") if form.get("action", "").endswith("undo")] == []


def test_the_job_is_read_as_it_stood(shelf):
    change(shelf, "length_mm", "1100")
    client = quiet_client(shelf)
    told = words(client, "/j/small/revisions/1?sheet=wires")
    assert "older revision 1" in told
    assert "To read only" in told
    assert "1100" not in told
    assert "1100" in words(client, "/j/small/revisions/2?sheet=wires")
    page = Page(client.get("/j/small/revisions/1").text)
    assert [field for field in page.all("input") if field.get("type") not in ("search", "hidden")] == []


@pytest.mark.parametrize(
    "path", ["/j/small/revisions/9", "/j/small/revisions?from=x", "/j/small/revisions?from=9&to=1"]
)
def test_a_revision_that_never_was_is_not_found(shelf, path):
    assert quiet_client(shelf).get(path, headers={"accept": "text/html"}).status_code == 404
