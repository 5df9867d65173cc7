"""The revisions of a job in an archive, and brought back onto a shelf."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from loomwright.examples.shelf import example_folder
from loomwright.sheets.archive import archive_bytes
from loomwright.sheets.csv_folder import open_folder
from loomwright.sheets.opening import open_with_kept
from loomwright.store.past import past_members, past_of
from loomwright.store.shelf import Shelf
from loomwright.store.text_rows import AddRow, DropRow, MoveRow, SetCell
from tests.states.small_jobs import car as small_car


def clock():
    return "2026-01-01T00:00:00+00:00"


@pytest.fixture
def shelf(tmp_path):
    made = Shelf(tmp_path / "shelf", clock)
    yield made
    made.close()


def worked_on(shelf: Shelf, name: str = "one") -> None:
    """A job with seven revisions: typed, added, moved, dropped, taken back, done again, recorded."""
    shelf.add(name, small_car(), who="sam", why="begun")
    rows = shelf.now(name).rows["wires"]
    first, second = rows[0], rows[1]
    colour = first.cells.get("colour", "")
    shelf.edit(
        name,
        [SetCell(sheet="wires", row_key=first.key, column="colour", old=colour, new="GN/YE")],
        who="sam",
        why="green it is",
    )
    shelf.edit(name, [AddRow(sheet="snags", cells={"id": "S1", "text": "horn weak"})], who="kim")
    shelf.edit(name, [MoveRow(sheet="wires", row_key=second.key, before=first.key)], who="sam")
    shelf.edit(name, [DropRow(sheet="wires", row_key=rows[-1].key)], who="kim")
    shelf.undo(name, who="kim")
    shelf.redo(name, who="kim")
    shelf.undo(name, who="kim")


def test_revisions_come_back_with_who_when_why_and_rows(shelf):
    worked_on(shelf)
    before = shelf.revisions("one", newest=100)
    past, why = past_of(past_members(shelf, "one"), shelf.now("one").job)
    assert why == ""
    assert past is not None
    assert shelf.add("two", shelf.now("one").job, who="lee", why="taken in", past=past) == 9
    after = shelf.revisions("two", newest=100)
    assert after[1:] == before
    assert (after[0].number, after[0].who, after[0].kind) == (9, "lee", "record")
    for number in range(1, 9):
        assert shelf.now("two", number).rows == shelf.now("one", number).rows
    assert shelf.differences("two", 1, 5) == shelf.differences("one", 1, 5)


def test_what_was_taken_back_can_be_done_again_after_coming_back_and_after_opening_anew(shelf, tmp_path):
    worked_on(shelf)
    past, _ = past_of(past_members(shelf, "one"), shelf.now("one").job)
    shelf.add("two", shelf.now("one").job, who="lee", past=past)
    shelf.redo("two", who="kim")
    assert shelf.now("two").rows["wires"] == shelf.now("one", 7).rows["wires"]
    other = Shelf(tmp_path / "shelf", clock)
    try:
        other.undo("two", who="sam")
        assert other.revisions("two", newest=1)[0].why == "took back revision 4"
    finally:
        other.close()


def test_an_archive_of_the_van_brings_its_revisions_through_the_file(shelf, tmp_path):
    shelf.add("van", open_folder(example_folder("van")), who="sam")
    key = next(row.key for row in shelf.now("van").rows["vehicle"] if row.cells["name"] == "title")
    title = next(row.cells["value"] for row in shelf.now("van").rows["vehicle"] if row.key == key)
    shelf.edit("van", [SetCell(sheet="vehicle", row_key=key, column="value", old=title, new="Other")], who="kim")
    path = tmp_path / "van.loomjob"
    path.write_bytes(archive_bytes(shelf.now("van").job, past_members(shelf, "van")))
    opened = open_with_kept(path)
    past, why = past_of(opened.kept, opened.job)
    assert (why, [one.who for one in past.revisions]) == ("", ["sam", "kim"])


def changed(members, **cells):
    told = json.loads(members["history/edits.json"])
    told.update(cells)
    return {**members, "history/edits.json": json.dumps(told).encode()}


def test_revisions_that_do_not_hold_together_stay_behind_and_why_is_said(shelf):
    worked_on(shelf)
    job, members = shelf.now("one").job, past_members(shelf, "one")
    listed = json.loads(members["history/revisions.json"])
    told = json.loads(members["history/edits.json"])
    cases = {
        "without what each of them did": {"history/revisions.json": members["history/revisions.json"]},
        "cannot be read": {**members, "history/edits.json": b"{"},
        "do not follow one another": {**members, "history/revisions.json": json.dumps(listed[1:]).encode()},
        "does not lead to": changed(members, done=[{**told["done"][0], "new": "RD"}, *told["done"][1:]]),
    }
    for words, kept in cases.items():
        past, why = past_of(kept, job)
        assert past is None
        assert words in why
    other = replace(job, parts=job.parts[:-1])
    assert "changed after its last revision" in past_of(members, other)[1]
    assert past_of({}, job) == (None, "")


def test_an_undo_of_what_nobody_did_is_no_revision(shelf):
    worked_on(shelf)
    members = past_members(shelf, "one")
    listed = json.loads(members["history/revisions.json"])
    listed[5]["turns"] = 2
    past, why = past_of({**members, "history/revisions.json": json.dumps(listed).encode()}, shelf.now("one").job)
    assert past is None
    assert "do not follow" in why


def test_two_people_adding_the_same_property_conflict_and_the_same_value_is_one_row(shelf):
    shelf.add("one", small_car(), who="sam")
    before = len(shelf.now("one").rows.get("vehicle", ()))
    row = {"name": "plate", "value": "AB 1"}
    assert shelf.edit("one", [AddRow(sheet="vehicle", cells=row)], who="sam").is_taken
    second = shelf.edit("one", [AddRow(sheet="vehicle", cells={**row, "value": "CD 2"})], who="kim")
    assert [(one.column, one.yours, one.theirs) for one in second.conflicts] == [("value", "CD 2", "AB 1")]
    assert shelf.edit("one", [AddRow(sheet="vehicle", cells=row)], who="kim").is_taken
    assert len(shelf.now("one").rows["vehicle"]) == before + 1
