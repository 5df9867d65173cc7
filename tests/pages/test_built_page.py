"""What is built: steps taken down once, taken back, and what changes ask of wires that are built already."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page as BrowserPage
from playwright.sync_api import expect

from loomwright.pages.records.built_rows import counts_of, groups_of
from loomwright.pages.records.built_view import built_view
from loomwright.store.earlier import earlier_of, sheet_revisions
from loomwright.store.text_rows import DropRow, SetCell
from tests.pages.conftest import RunningDesk
from tests.pages.quiet import quiet_client
from tests.pages.shelves import SMALL, Page, links_in, shelf_in

STEP = "/j/small/built/step"


@pytest.fixture
def shelf(tmp_path):
    made = shelf_in(tmp_path, small=SMALL)
    yield made
    made.close()


def step(client, wire="W3", end="both", step="cut", revision="1", **more):
    return client.post(STEP, data={"wire": wire, "end": end, "step": step, "revision": revision, **more})


def progress(shelf):
    return [dict(row.cells) for row in shelf.now("small").rows.get("progress", ())]


def change(shelf, wire, column, new, why="a change"):
    row = next(row for row in shelf.now("small").rows["wires"] if row.cells["id"] == wire)
    old = row.cells.get(column, "")
    shelf.edit("small", [SetCell(sheet="wires", row_key=row.key, column=column, old=old, new=new)], who="sam", why=why)


def plain(client):
    return client.get("/api/j/small/built").json()


def test_a_wire_that_is_not_cut_offers_to_be_cut_with_the_allowance(shelf):
    page = Page(quiet_client(shelf).get("/j/small/built").text)
    assert page.unclosed == []
    lengths = [field["value"] for field in page.all("input") if field.get("name") == "length_mm"]
    # W3 is 300 long, W4 W5 W6 W12 1000: each 40 longer
    assert sorted(lengths) == ["1040", "1040", "1040", "1040", "340"]
    assert "W1 " not in page.words  # it is kept


def test_cutting_writes_down_what_was_used_and_from_which_revision(shelf):
    client = quiet_client(shelf)
    assert step(client, length_mm="345").status_code == 200
    row = progress(shelf)[0]
    assert row.pop("time")
    assert row == {
        "wire": "W3", "end": "both", "step": "cut", "revision": "1", "length_mm": "345", "size_mm2": "2.5",
        "colour": "RD", "who": "sam",
    }  # fmt: skip
    assert shelf.revisions("small")[0].kind == "record"


def test_a_step_that_is_sent_twice_is_taken_down_once(shelf):
    client = quiet_client(shelf)
    for _ in range(2):
        step(client, token="step 1 W3 both cut")
    assert len(progress(shelf)) == 1


def test_the_next_step_of_each_end_is_offered_in_order(shelf):
    client = quiet_client(shelf)
    step(client)
    for word in ("crimped", "seated", "labelled"):
        labels = [one.get("aria-label", "") for one in Page(client.get("/j/small/built").text).all("button")]
        assert f"W3 start: {word}" in labels
        step(client, end="from", step=word)
        step(client, end="to", step=word)
    page = Page(client.get("/j/small/built?left=done").text)
    assert "W3: proved" in [one.get("aria-label", "") for one in page.all("button")]
    assert "1 of 2 done" in page.words


def test_a_length_that_is_no_length_is_told_and_not_taken(shelf):
    answer = step(quiet_client(shelf), length_mm="a metre or so")
    assert answer.status_code == 422
    assert "It was not taken down" in Page(answer.text).words
    assert progress(shelf) == []


@pytest.mark.parametrize(("name", "value"), [("wire", "W99"), ("end", "middle"), ("step", "burnt"), ("revision", "7")])
def test_a_step_of_something_that_is_not_there_is_refused(shelf, name, value):
    data = {"wire": "W3", "end": "both", "step": "cut", "revision": "1"} | {name: value}
    answer = quiet_client(shelf).post(STEP, data=data)
    assert answer.status_code == 404
    assert progress(shelf) == []


def test_the_last_step_is_taken_back_as_a_revision_of_its_own(shelf):
    client = quiet_client(shelf)
    step(client)
    step(client, end="from", step="crimped")
    cut, crimped = shelf.now("small").rows["progress"]
    assert client.post("/j/small/built/back", data={"key": str(cut.key)}).status_code == 404
    for _ in range(2):
        assert client.post("/j/small/built/back", data={"key": str(crimped.key), "token": "b"}).status_code == 200
    assert [row["step"] for row in progress(shelf)] == ["cut"]
    assert shelf.revisions("small")[0].why == "took back W3: crimped"
    assert shelf.now("small").revision == 4


def test_undoing_an_edit_leaves_the_steps(shelf):
    change(shelf, "W6", "length_mm", "1200")
    step(quiet_client(shelf), revision="2")
    shelf.undo("small", who="sam")
    assert [row["step"] for row in progress(shelf)] == ["cut"]


def test_what_a_change_asks_stands_above_with_its_wire_and_its_revision(shelf):
    client = quiet_client(shelf)
    step(client, length_mm="340")
    change(shelf, "W3", "length_mm", "500", "the box moved")
    page = Page(client.get("/j/small/built").text)
    assert "scrap cannot be used: cut a new one" in page.words
    assert "was cut 340 mm, 500 mm are asked: 160 mm too short" in page.words
    assert "changed in revision 3" in page.words
    assert "built from revision 1" in page.words
    assert "/j/small/revisions?from=2&to=3" in [one.get("href") for one in page.all("a")]
    ask = plain(client)["wires"][0]["asks"][0]
    assert (ask["does"], ask["changed"], ask["since"], ask["length_mm"]) == ("scrap", 3, 1, 160.0)


def test_ends_are_held_against_the_revision_they_were_seated_from(shelf):
    client = quiet_client(shelf)
    step(client, wire="W12")
    step(client, wire="W12", end="from", step="seated")
    change(shelf, "W12", "from", "LA1.1")
    assert [ask["does"] for ask in plain(client)["wires"][0]["asks"]] == ["re-pin"]
    step(client, wire="W12", end="from", step="seated", revision="4")
    assert plain(client)["wires"][0]["asks"] == []


def test_a_wire_under_another_id_is_the_same_wire(shelf):
    client = quiet_client(shelf)
    step(client)
    change(shelf, "W3", "id", "W33")
    # its row is not offered to be cut again
    assert "W33 start: crimped" in [
        one.get("aria-label", "") for one in Page(client.get("/j/small/built").text).all("button")
    ]
    told = plain(client)
    assert (told["wires"][0]["name"], told["wires"][0]["asks"]) == ("W33", [])
    assert "W3" not in told["fresh"] + told["uncut"]


def test_a_wire_taken_out_of_its_sheet_is_told_with_its_revision(shelf):
    client = quiet_client(shelf)
    step(client)
    row = next(row for row in shelf.now("small").rows["wires"] if row.cells["id"] == "W3")
    shelf.edit("small", [DropRow(sheet="wires", row_key=row.key)], who="sam")
    ask = plain(client)["wires"][0]["asks"][0]
    assert (ask["does"], ask["changed"]) == ("take out", 3)


def test_steps_are_no_changes_of_the_sheets(shelf):
    client = quiet_client(shelf)
    for end in ("from", "to"):
        step(client, end=end, step="crimped")
    change(shelf, "W6", "length_mm", "1100")
    step(client, wire="W6", revision="4")
    assert sheet_revisions(shelf, "small") == [1, 4]
    past = earlier_of(shelf, shelf.now("small"))
    assert sorted(past.jobs) == [1, 4]
    assert [wire.length_mm for wire in past.jobs[1].wires if wire.id == "W6"] == [1000.0]
    assert past.changed == {("wires", "W6", "length_mm"): 4}


def test_steps_from_a_paper_of_an_older_revision_keep_that_revision(shelf):
    change(shelf, "W3", "length_mm", "900")
    client = quiet_client(shelf)
    page = Page(client.get("/j/small/built?of=1").text)
    assert "built from revision 1" in page.words
    assert "340" in [field["value"] for field in page.all("input") if field.get("name") == "length_mm"]
    assert {field["value"] for field in page.all("input") if field.get("name") == "revision"} == {"1"}


def test_wires_are_picked_by_circuit_and_by_place(shelf):
    view = built_view(shelf.now("small"), shelf.now("small"))
    links = links_in(shelf.now("small"))
    circuits = groups_of(view, "left", "circuit", "work", "", {}, links)
    assert [(group.title, [row.wire for row in group.rows]) for group in circuits] == [("work", ["W5", "W6", "W12"])]
    places = groups_of(view, "left", "place", "", "cabin", {}, links)
    # only the ends that are there
    assert [(row.wire, [cell.point for cell in row.ends]) for row in places[0].rows] == [
        ("W4", ["KEY.30"]),
        ("W5", ["KEY.15", "SW1.1"]),
        ("W6", ["SW1.2"]),
    ]
    assert counts_of(view.wires_to_build, view.steps) == {"left": 5, "done": 0, "all": 5}


def test_a_job_whose_rows_do_not_fit_still_takes_steps(shelf):
    change(shelf, "W6", "to", "NOWHERE.1")
    client = quiet_client(shelf)
    assert step(client, revision="2").status_code == 200
    assert "do not fit each other yet" in Page(client.get("/j/small/built").text).words
    assert client.get("/api/j/small/built").status_code == 409


def test_a_button_takes_a_step_down_and_the_hand_stays(desk: RunningDesk, page: BrowserPage):
    page.goto(f"{desk.url}/j/{desk.job}/built")
    page.get_by_role("button", name="W1: cut", exact=True).click()
    crimped = page.get_by_role("button", name="W1 start: crimped")
    expect(crimped).to_be_visible()
    crimped.click()
    expect(page.get_by_role("button", name="W1 start: seated")).to_be_focused()
    assert [row.cells["step"] for row in desk.shelf.now(desk.job).rows["progress"]] == ["cut", "crimped"]
    page.locator("#wire-W1 summary").click()
    page.get_by_role("button", name="W1: take back start: crimped").click()
    expect(page.get_by_role("button", name="W1: take back start: crimped")).to_have_count(0)
    assert len(desk.shelf.now(desk.job).rows["progress"]) == 1


def test_what_a_change_asks_at_an_end_is_its_button(shelf):
    client = quiet_client(shelf)
    step(client, wire="W12")
    step(client, wire="W12", end="from", step="crimped")
    step(client, wire="W12", end="from", step="seated")
    change(shelf, "W12", "from", "LA1.1")
    buttons = [one.get("aria-label", "") for one in Page(client.get("/j/small/built").text).all("button")]
    assert "W12 start: seated again" in buttons


def test_a_wire_that_is_scrapped_is_cut_anew(shelf):
    client = quiet_client(shelf)
    step(client)
    change(shelf, "W3", "colour", "GN")
    buttons = [one.get("aria-label", "") for one in Page(client.get("/j/small/built").text).all("button")]
    assert "W3: cut anew" in buttons
    step(client, revision="3")
    assert plain(client)["wires"][0]["asks"] == []


def test_a_length_written_down_after_a_piece_was_let_in_counts(shelf):
    client = quiet_client(shelf)
    step(client, length_mm="340")
    change(shelf, "W3", "length_mm", "500")
    assert step(client, end="", step="", length_mm="520", revision="3").status_code == 200
    assert plain(client)["wires"][0]["asks"] == []
    assert step(client, end="", step="").status_code == 404
