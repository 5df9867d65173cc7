"""Decisions are kept beside the sheets, stand for blank cells, and are dropped once they are adopted."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loomwright.job.decided import (
    adopted,
    cut_wires,
    decision_at,
    digest_of,
    reasons_at,
    with_decided,
    with_decisions,
    without_decisions,
)
from loomwright.job.edits import set_cell
from loomwright.job.job import Job
from loomwright.job.reading import job_from_text
from loomwright.job.rows import Decision, Reason
from loomwright.job.writing import text_from_job
from loomwright.refusals import BadDocument

SIZE = Decision(sheet="wires", row="W1", column="size_mm2", value="1.5", decided_by="heat", digest="d")
RATING = Decision(sheet="parts", row="F1", column="settings.rating_a", value="10", decided_by="load")
WHY = Reason(sheet="wires", row="W1", column="size_mm2", limit="heat", asks="1.5", says="12 A at 60 °C")


@pytest.fixture
def job() -> Job:
    sheets = {
        "parts": [{"id": "F1", "kind": "fuse"}, {"id": "L1", "kind": "lamp"}, {"id": "B1", "kind": "battery"}],
        "wires": [{"id": "W1", "from": "F1.2", "to": "L1.1", "length_mm": "900"}],
    }
    return with_decisions(job_from_text(sheets), [SIZE, RATING], [WHY])


def test_blank_cells_get_what_was_decided(job):
    filled = with_decided(job)
    assert filled.wires[0].size_mm2 == 1.5
    assert filled.parts[0].settings["rating_a"] == "10"
    assert job.wires[0].size_mm2 is None


def test_a_typed_cell_stands_before_a_decision(job):
    typed = set_cell(job, "wires", "W1", "size_mm2", "4")
    assert with_decided(typed).wires[0].size_mm2 == 4.0


def test_what_was_built_stands_before_what_was_typed(job):
    built = replace(job, wires=(replace(job.wires[0], built_length_mm=870.0),))
    assert with_decided(built).wires[0].length_mm == 870.0


def test_adopting_writes_the_cell_and_drops_decision_and_reasons(job):
    after = adopted(job, [SIZE])
    assert after.wires[0].size_mm2 == 1.5
    assert after.decisions == (RATING,)
    assert after.reasons == ()


def test_a_new_decision_takes_the_place_of_the_old_one(job):
    again = with_decisions(job, [replace(SIZE, value="2.5")], [])
    assert decision_at(again, "wires", "W1", "size_mm2").value == "2.5"
    assert reasons_at(again, "wires", "W1", "size_mm2") == ()
    assert len(again.decisions) == 2


def test_decisions_can_be_dropped(job):
    assert without_decisions(job, [("wires", "W1", "size_mm2")]).decisions == (RATING,)


def test_what_is_filled_in_already_is_given_back_as_it_is(job):
    filled = with_decided(job)
    assert with_decided(filled) is filled is not job


def test_decisions_are_sheets_like_any_other(job):
    assert job_from_text(text_from_job(job)) == job


def test_a_digest_changes_with_what_counts_and_not_with_notes(job):
    first = digest_of(job, ["wires"])
    assert digest_of(set_cell(job, "wires", "W1", "notes", "hot"), ["wires"]) == first
    assert digest_of(set_cell(job, "wires", "W1", "length_mm", "950"), ["wires"]) != first
    assert digest_of(job, [], {"wires": ["W2"]}) != digest_of(job, [], {"wires": ["W1"]})


def test_a_wire_with_progress_is_frozen(job):
    sheets = {**text_from_job(job), "progress": [{"wire": "W1", "end": "both", "step": "cut"}]}
    assert cut_wires(job_from_text(sheets)) == {"W1"}
    assert cut_wires(job) == frozenset()


@pytest.mark.parametrize(
    ("cell", "text", "column"),
    [("value", "thick", "value"), ("column", "colour", "column"), ("sheet", "runs", "sheet"), ("value", "-3", "value")],
)
def test_a_decision_that_could_not_be_typed_is_told(job, cell, text, column):
    sheets = dict(text_from_job(job))
    sheets["decisions"] = [{**sheets["decisions"][0], cell: text}]
    with pytest.raises(BadDocument) as refused:
        job_from_text(sheets)
    assert [(problem.sheet, problem.row, problem.column) for problem in refused.value.problems] == [
        ("decisions", 2, column)
    ]
