"""What was worked out from a stored job is written to the shelf as the fewest edits, and says the same afterwards."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loomwright.job.edits import add_row, drop_row, set_cell
from loomwright.job.rows import Decision
from loomwright.store.shelf import Shelf
from loomwright.store.text_rows import AddRow, DropRow, SetCell
from loomwright.store.towards import edits_towards
from tests.job.small import read, sheets


@pytest.fixture
def shelf(tmp_path):
    made = Shelf(tmp_path, clock=lambda: "2026-01-01T00:00:00")
    made.add("car", read(sheets()), who="A")
    yield made
    made.close()


def test_a_job_that_says_the_same_asks_for_no_edit(shelf):
    snapshot = shelf.now("car")
    assert edits_towards(snapshot, snapshot.job) == ()


def test_one_cell_is_one_edit(shelf):
    snapshot = shelf.now("car")
    wire = snapshot.job.wires[0].id
    (edit,) = edits_towards(snapshot, set_cell(snapshot.job, "wires", wire, "notes", "by the door"))
    assert isinstance(edit, SetCell)
    assert (edit.column, edit.new) == ("notes", "by the door")


def test_rows_that_came_and_went(shelf):
    snapshot = shelf.now("car")
    wire = snapshot.job.wires[-1].id
    job = add_row(drop_row(snapshot.job, "wires", wire), "places", {"id": "nowhere"})
    edits = edits_towards(snapshot, job)
    assert [type(edit) for edit in edits] in ([AddRow, DropRow], [DropRow, AddRow])


def test_what_was_decided_stands_on_the_shelf_and_goes_again(shelf):
    wire = shelf.now("car").job.wires[0].id
    shelf.edit(
        "car", edits_towards(shelf.now("car"), set_cell(shelf.now("car").job, "wires", wire, "size_mm2", "")), who="A"
    )
    snapshot = shelf.now("car")
    one = Decision(sheet="wires", row=wire, column="size_mm2", value="1.5", decided_by="heat", digest="0" * 16)
    shelf.edit("car", edits_towards(snapshot, replace(snapshot.job, decisions=(one,))), who="A")
    assert [row.value for row in shelf.now("car").job.decisions] == ["1.5"]
    two = replace(one, value="2.5")
    shelf.edit("car", edits_towards(shelf.now("car"), replace(snapshot.job, decisions=(two,))), who="A")
    assert [row.value for row in shelf.now("car").job.decisions] == ["2.5"]
    shelf.edit("car", edits_towards(shelf.now("car"), replace(snapshot.job, decisions=())), who="A")
    assert shelf.now("car").job == snapshot.job


@settings(max_examples=25)
@given(data=st.data())
def test_whatever_was_changed_the_shelf_says_it_afterwards(tmp_path_factory, data):
    shelf = Shelf(tmp_path_factory.mktemp("towards"), clock=lambda: "2026-01-01T00:00:00")
    try:
        shelf.add("car", read(sheets()), who="A")
        job = shelf.now("car").job
        for _ in range(data.draw(st.integers(1, 4))):
            how = data.draw(st.sampled_from(["note", "drop", "drive"]))
            if how == "note":
                job = set_cell(job, "wires", data.draw(st.sampled_from([w.id for w in job.wires])), "notes", "x")
            elif how == "drop" and len(job.wires) > 1:
                job = drop_row(job, "wires", data.draw(st.sampled_from([w.id for w in job.wires])))
            else:
                job = add_row(job, "places", {"id": f"p{len(job.places)}"})
        shelf.edit("car", edits_towards(shelf.now("car"), job), who="A")
        assert shelf.now("car").as_written == job
    finally:
        shelf.close()
