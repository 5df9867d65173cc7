"""The wire list tells what the tool decided, by which limit, and what it did not."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loomwright.handover.wire_list import notes_of, number_of, wire_lines
from loomwright.job.decided import with_decided
from loomwright.job.edits import set_cell
from tests.handover.bench_van import bench_job


@pytest.fixture(scope="module")
def job():
    """The bench van as typed."""
    return bench_job()


@pytest.fixture(scope="module")
def lines(job):
    """Wire -> its line."""
    return {line.mark.id: line for line in wire_lines(with_decided(job), notes_of(job))}


def test_a_decided_figure_carries_the_number_of_the_limit_that_ruled(job, lines):
    numbers = number_of(notes_of(job))
    assert (lines["W17"].size, lines["W17"].size_note) == ("0.75", numbers["W17.size_mm2"])
    assert (lines["W18"].length, lines["W18"].length_note) == ("820", numbers["W18.length_mm"])
    assert numbers["W17.size_mm2"] != numbers["W18.length_mm"]
    assert lines["W14"].size_note == lines["W14"].length_note == 0


def test_notes_tell_the_limit_the_value_and_why(job):
    notes = {note.what: note for note in notes_of(job)}
    assert set(notes) == {"size_mm2", "length_mm", "rating_a"}
    assert [note.number for note in notes_of(job)] == [1, 2, 3]
    size = notes["size_mm2"]
    assert (size.limit, [cell.cell for cell in size.cells]) == ("strength", ["W17.size_mm2"])
    assert (size.cells[0].value, size.cells[0].says) == ("0.75 mm²", "no wire under 0.75 mm² there")
    assert notes["rating_a"].cells[0].cell == "F3.rating_a"
    assert notes["rating_a"].cells[0].value == "5 A"


def test_what_was_typed_or_cut_since_has_no_note(job):
    typed = set_cell(job, "wires", "W17", "size_mm2", "1")
    line = next(one for one in wire_lines(with_decided(typed), notes_of(typed)) if one.mark.id == "W17")
    assert (line.size, line.size_note) == ("1", 0)
    wires = tuple(replace(wire, built_length_mm=815.0) if wire.id == "W18" else wire for wire in job.wires)
    built = replace(job, wires=wires)
    line = next(one for one in wire_lines(with_decided(built), notes_of(built)) if one.mark.id == "W18")
    assert (line.length, line.length_note, line.notes) == ("815", 0, "length as cut")


def test_cable_twist_insulation_and_crimps_stand_in_their_columns(lines):
    assert (lines["W6"].group, lines["W21"].group, lines["W14"].group) == ("cable C1", "twist T1", "")
    assert (lines["W14"].insulation, lines["W14"].crimps) == ("C", "T63 + S63 / T63")
    assert lines["W3"].crimps == ""


def test_two_cells_of_the_same_limit_share_a_note(job):
    more = replace(job.decisions[0], row="W11", column="length_mm", value="400", decided_by="route")
    both = notes_of(replace(job, decisions=(*job.decisions, more)))
    length = next(note for note in both if note.what == "length_mm")
    assert [cell.cell for cell in length.cells] == ["W11.length_mm", "W18.length_mm"]
