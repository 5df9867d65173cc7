"""The page of a sheet without scripts, and what its grid is told: rows, changes, likely words, reasons."""

from __future__ import annotations

import time

import pytest

from loomwright.examples.shelf import example_folder
from loomwright.findings import id_order
from loomwright.job.reading import job_from_text
from loomwright.job.schema import SHEETS
from loomwright.pages.records.grid_page import GROUPS, ROWS_SHOWN, grid_page
from loomwright.pages.records.sheet_news import decided_in, sheet_since
from loomwright.sheets.csv_folder import open_folder
from loomwright.store.text_rows import AddRow, DropRow, MoveRow, SetCell
from tests.pages.shelves import SMALL, client_on, links_in, shelf_in, snapshot_of

DECIDED = {
    "wires": [{**row, "size_mm2": ""} if row["id"] == "W6" else row for row in SMALL["wires"]],
    "parts": [{**row, "settings": "family=blade_c"} if row["id"] == "F1" else row for row in SMALL["parts"]],
    "decisions": [
        {"sheet": "wires", "row": "W6", "column": "size_mm2", "value": "1.5", "decided_by": "heat"},
        {"sheet": "parts", "row": "F1", "column": "settings.rating_a", "value": "10", "decided_by": "wire"},
    ],
    "reasons": [
        {"sheet": "wires", "row": "W6", "column": "size_mm2", "limit": "heat", "asks": "1.5", "says": "78 °C"},
        {"sheet": "wires", "row": "W6", "column": "size_mm2", "limit": "volts", "asks": "0.75"},
    ],
}


@pytest.fixture
def shelf(tmp_path):
    shelf = shelf_in(tmp_path, small={**SMALL, **DECIDED})
    yield shelf
    shelf.close()


@pytest.fixture
def client(shelf):
    return without_check(client_on(shelf), "small")


def without_check(client, job):
    """The same, not working out what the rules find: a process of its own would be started for it."""
    assert client.post(f"/api/j/{job}/stop").status_code == 200
    return client


def key_of(shelf, sheet, name):
    return next(row.key for row in shelf.now("small").rows[sheet] if row.cells.get("id") == name)


def test_every_sheet_of_the_contract_stands_in_one_group():
    listed = [name for names in GROUPS.values() for name in names]
    assert sorted(listed) == sorted(SHEETS)


def test_the_page_can_be_read_without_scripts(client):
    page = client.get("/j/small/sheet/wires").text
    for text in ("W12", "BAT.-", "length_mm", "Other sheets"):
        assert text in page
    assert '<th scope="row">2</th>' in page  # the heading is row 1, as in a spreadsheet


def test_insulation_has_its_paint_beside_its_code(client):
    page = client.get("/j/small/sheet/wires").text
    assert '<use href="#paint-WH-BU"/></svg>WH/BU</td>' in page
    assert 'id="paint-WH-BU"' in page


def test_what_was_decided_stands_in_the_blank_cell(client):
    assert (
        '<td class="f"><i>1.5<span class="unseen"> decided</span></i></td>' in client.get("/j/small/sheet/wires").text
    )


def test_a_decided_setting_stands_behind_those_that_are_typed(client):
    assert "family=blade_c<i>rating_a=10" in client.get("/j/small/sheet/parts").text


def test_a_sheet_with_nothing_on_it_says_how_the_first_row_gets_there(client):
    assert "copy a block from a spreadsheet" in client.get("/j/small/sheet/cables").text


def test_a_sheet_that_is_neither_the_contracts_nor_the_jobs_is_not_there(client):
    assert client.get("/j/small/sheet/nonsense").status_code == 404


def test_a_sheet_of_the_jobs_own_is_shown_with_its_own_columns(tmp_path):
    shelf = shelf_in(tmp_path, small={**SMALL, "bench notes": [{"what": "lay the loom on paper"}]})
    page = client_on(shelf).get("/j/small/sheet/bench%20notes").text
    shelf.close()
    assert "lay the loom on paper" in page
    assert '<th scope="col">what</th>' in page


def test_an_older_revision_is_read_and_not_edited(client, shelf):
    row = key_of(shelf, "wires", "W1")
    shelf.edit("small", [SetCell(sheet="wires", row_key=row, column="notes", old="", new="later")], who="A")
    older = client.get("/j/small/sheet/wires?revision=1").text
    assert "later" not in older
    assert "grid/desk.js" not in older
    assert "later" in client.get("/j/small/sheet/wires").text


def test_a_long_sheet_is_parted_and_a_row_is_found_on_its_page(shelf):
    rows = [AddRow(sheet="stock", cells={"item": f"terminal {number}"}) for number in range(700)]
    assert shelf.edit("small", rows, who="A").is_taken
    snapshot = shelf.now("small")
    last = snapshot.rows["stock"][-1].key
    first = grid_page(snapshot, "stock", links_in(snapshot))
    assert (len(first.rows), first.earlier, first.later) == (ROWS_SHOWN, "", "/j/small/sheet/stock?start=301")
    found = grid_page(snapshot, "stock", links_in(snapshot), row=last)
    assert [row.key for row in found.rows if row.is_picked] == [last]
    assert (found.rows[0].number, found.later) == (602, "")


def test_only_what_is_different_is_told_since_a_revision(shelf):
    before = shelf.now("small")
    row = key_of(shelf, "wires", "W4")
    shelf.edit("small", [SetCell(sheet="wires", row_key=row, column="colour", old="", new="BK")], who="A")
    told = sheet_since(before, shelf.now("small"), "wires")
    assert [one["row"] for one in told["rows"]] == [row]
    assert told["rows"][0]["cells"]["colour"] == "BK"
    assert (told["order"], told["added"]) == (None, [])


def test_a_new_order_is_told_with_the_rows_that_came(shelf):
    before = shelf.now("small")
    w1, w3, w12 = (key_of(shelf, "wires", name) for name in ("W1", "W3", "W12"))
    edits = [
        AddRow(sheet="wires", cells={"id": "W0"}, before=w1),
        DropRow(sheet="wires", row_key=w3),
        MoveRow(sheet="wires", row_key=w12, before=w1),
    ]
    assert shelf.edit("small", edits, who="A").is_taken
    after = shelf.now("small")
    told = sheet_since(before, after, "wires")
    assert told["order"] == [row.key for row in after.rows["wires"]]
    assert told["added"] == [key_of(shelf, "wires", "W0")] == [one["row"] for one in told["rows"]]


def test_a_revision_the_desk_does_not_have_is_answered_with_the_whole_sheet(client):
    told = client.get("/api/j/small/sheet/wires?since=99").json()
    assert (told["revision"], len(told["rows"])) == (1, len(SMALL["wires"]))


@pytest.mark.parametrize(
    ("sheet", "column", "first"),
    [
        ("wires", "circuit", ["work"]),
        ("wires", "to", ["BAT.+", "BAT.-", "F1.1", "F1.2"]),
        ("wires", "colour", ["BK", "BN", "RD"]),
        ("wires", "fitted", ["new", "kept", "donor", "removed"]),
        ("places", "wet", ["yes", "no"]),
        ("wires", "size_mm2", []),
        ("parts", "name", ["lamp over the bench"]),
    ],
)
def test_likely_words_are_those_of_the_column(client, sheet, column, first):
    words = client.get(f"/api/j/small/sheet/{sheet}/words?column={column}").json()
    assert words[: len(first)] == first
    assert first or words == []


def test_kinds_and_the_settings_of_a_kind_are_offered(client, shelf):
    assert "relay" in client.get("/api/j/small/sheet/parts/words?column=kind").json()
    row = key_of(shelf, "parts", "F1")
    settings = client.get(f"/api/j/small/sheet/parts/words?column=settings&row={row}").json()
    assert any(one.startswith("rating_a=") for one in settings)


def test_points_are_offered_as_people_count(client):
    words = client.get("/api/j/small/sheet/wires/words?column=from").json()
    points = [word for word in words if "." in word]
    assert points == sorted(points, key=id_order)


def test_points_are_offered_while_rows_do_not_fit_yet(client, shelf):
    edit = AddRow(sheet="wires", cells={"id": "W99", "from": "NOBODY.1", "to": "BAT.-"})
    assert shelf.edit("small", [edit], who="A").is_taken
    assert shelf.now("small").job is None
    assert "BAT.+" in client.get("/api/j/small/sheet/wires/words?column=from").json()


def test_words_of_a_column_that_is_not_there_are_refused(client):
    assert client.get("/api/j/small/sheet/wires/words?column=nonsense").status_code == 404


def test_a_decision_comes_with_the_rows_that_adopting_drops(client, shelf):
    one = client.get("/api/j/small/sheet/wires").json()["decided"]
    snapshot = shelf.now("small")
    assert [(each["row"], each["column"], each["value"], each["by"]) for each in one] == [
        ("W6", "size_mm2", "1.5", "heat")
    ]
    assert one[0]["key"] == snapshot.rows["decisions"][0].key
    assert one[0]["reasons"] == [row.key for row in snapshot.rows["reasons"]]


def test_why_a_cell_was_decided_is_told_when_asked(client):
    reasons = client.get("/api/j/small/sheet/wires/reasons?row=W6&column=size_mm2").json()
    assert [one["limit"] for one in reasons] == ["heat", "volts"]
    assert reasons[0]["says"] == "78 °C"


def test_what_is_on_record_is_added_to_and_not_changed(client, shelf):
    add = {"do": "add", "sheet": "progress", "cells": {"wire": "W1", "end": "from", "step": "cut"}}
    assert client.post("/api/j/small/edits", json={"edits": [add]}).status_code == 200
    row = shelf.now("small").rows["progress"][0].key
    for edit in (
        {"do": "set", "sheet": "progress", "row": row, "column": "step", "old": "cut", "new": "crimped"},
        {"do": "drop", "sheet": "progress", "row": row},
        {"do": "move", "sheet": "progress", "row": row},
    ):
        answer = client.post("/api/j/small/edits", json={"edits": [edit]})
        assert answer.status_code == 422
        assert "stay as they were recorded" in answer.json()["refused"][0]["allowed"]
    assert shelf.now("small").rows["progress"][0].cells["step"] == "cut"


def test_taking_back_passes_over_what_was_recorded(client, shelf):
    row = key_of(shelf, "wires", "W1")
    typed = {"do": "set", "sheet": "wires", "row": row, "column": "notes", "old": "", "new": "typed"}
    add = {"do": "add", "sheet": "readings", "cells": {"point": "BAT.+", "measure": "volts", "value": "12.6"}}
    for edit in (typed, add):
        assert client.post("/api/j/small/edits", json={"edits": [edit]}).status_code == 200
    assert client.post("/api/j/small/undo").status_code == 200
    snapshot = shelf.now("small")
    assert len(snapshot.rows["readings"]) == 1
    assert snapshot.row("wires", row).cells.get("notes") is None


@pytest.fixture(scope="module")
def van(tmp_path_factory):
    shelf = shelf_in(tmp_path_factory.mktemp("van"))
    shelf.add("van", open_folder(example_folder("van")), who="A")
    rows = shelf.now("van").rows["wires"]
    more = [
        AddRow(sheet="wires", cells={**row.cells, "id": f"X{place}"})
        for place, row in enumerate((rows * 2)[: ROWS_SHOWN - len(rows)])
    ]
    assert shelf.edit("van", more, who="A").is_taken
    yield shelf
    shelf.close()


def test_a_page_of_three_hundred_rows_is_light(van):
    answer = without_check(client_on(van), "van").get("/j/van/sheet/wires")
    assert answer.text.count('<th scope="row">') == ROWS_SHOWN
    assert len(answer.content) <= 300_000


def test_a_page_of_three_hundred_rows_takes_at_most_sixty_milliseconds_of_work(van):
    # time of the processor, and of the quickest quarter: other people's work on the machine is none of the page's
    client = without_check(client_on(van), "van")
    client.get("/j/van/sheet/wires")
    took_s = []
    for _ in range(24):
        before_s = time.process_time()
        client.get("/j/van/sheet/wires")
        took_s.append(time.process_time() - before_s)
    assert sorted(took_s)[6] < 0.060


def test_the_small_job_is_one():
    # the decisions above stand for cells that are really blank, in a job whose rows fit each other
    assert job_from_text({**SMALL, **DECIDED}).wires[4].size_mm2 is None


def controlled(pin: str = "") -> dict[str, list[dict[str, str]]]:
    """The small car with an injector whose wire waits for the pin of its need."""
    need = {"id": "inj", "part": "INJ", "terminal": "2", "ability": "injector"}
    return {
        "parts": [*SMALL["parts"], {"id": "ECU", "kind": "controller"}, {"id": "INJ", "kind": "injector"}],
        "wires": [*SMALL["wires"], {"id": "W20", "to": "INJ.2"}, {"id": "W21", "from": "INJ.1"}],
        "controller_pins": [{"id": "A1", "part": "ECU", "terminal": "7", "abilities": "injector"}],
        "needs": [{**need, "pin": pin} if pin else need],
    }


def test_an_end_that_the_pin_of_a_need_leads_stands_there_as_decided(tmp_path):
    decision = {"sheet": "needs", "row": "inj", "column": "pin", "value": "A1", "decided_by": "order"}
    reason = {"sheet": "needs", "row": "inj", "column": "pin", "limit": "order"}
    snapshot = snapshot_of(tmp_path, {**controlled(), "decisions": [decision], "reasons": [reason]})
    assert [(one.row, one.column, one.value, one.asked) for one in decided_in(snapshot, "wires")] == [
        ("W20", "from", "ECU.7", "inj.pin")
    ]
    led = decided_in(snapshot, "wires")[0]
    pin = decided_in(snapshot, "needs")[0]
    assert (led.key, led.reasons) == (pin.key, pin.reasons), "adopted, the wire fixes the pin and the decision goes"
    assert len(led.reasons) == 1
    wires = {row.cells[0].text: row for row in grid_page(snapshot, "wires", links_in(snapshot)).rows if row.cells[0]}
    assert "ECU.7" in [cell.decided for cell in wires["W20"].cells if cell is not None]


def test_an_end_led_by_a_typed_pin_drops_no_decision_and_one_that_waits_is_blank(tmp_path):
    typed = snapshot_of(tmp_path / "a", controlled("A1"))
    assert [(one.row, one.value, one.key) for one in decided_in(typed, "wires")] == [("W20", "ECU.7", 0)]
    assert decided_in(snapshot_of(tmp_path / "b", controlled()), "wires") == ()
