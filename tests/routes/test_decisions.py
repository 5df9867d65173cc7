"""Blank lengths are decided with their sum told; a kept one is stale when what it rests on has changed."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loomwright.job.decided import decision_at, reasons_at, with_decided
from loomwright.job.edits import drop_row, set_cell
from loomwright.job.job import Job
from loomwright.job.reading import job_from_text
from loomwright.job.rows import Progress
from loomwright.job.writing import text_from_job
from loomwright.routes.decisions import length_decisions, length_says, stale_lengths, with_lengths
from loomwright.tables.kinds import load_kinds
from tests.routes.looms import between, loom, routes

RUNS = ("R08 box bulkhead 780", "R11 bulkhead kick 460", "R2 box nose 900", "R3 nose kick 800")
KINDS = load_kinds()


def decided(job: Job):
    """Decisions and reasons of a job."""
    return length_decisions(job, KINDS, routes(job))


def kept(job: Job) -> Job:
    """The job keeping its lengths."""
    return with_lengths(job, KINDS, routes(job))


def stale(job: Job) -> tuple[str, ...]:
    """Wires whose kept length is stale."""
    return stale_lengths(job, KINDS, routes(job))


@pytest.fixture
def job() -> Job:
    wires = [
        between("W1", "box", "kick"),
        between("W2", "box", "kick", length_mm="1500"),
        {"id": "W3", "from": "L_kick.2", "to": "body", "size_mm2": "1"},
        {"id": "W4", "from": "BAT.+", "to": "L_box.1", "size_mm2": "1"},
        between("W5", "box", "nose"),
    ]
    return loom(RUNS, wires)


def test_blank_lengths_that_have_a_way_are_decided_and_no_others(job):
    decisions, _ = decided(job)
    assert [(one.sheet, one.row, one.column, one.value, one.decided_by) for one in decisions] == [
        ("wires", "W1", "length_mm", "1360", "route"),
        ("wires", "W3", "length_mm", "270", "route"),
        ("wires", "W5", "length_mm", "1020", "route"),
    ]


def test_the_reason_is_the_sum_and_names_what_it_rests_on(job):
    _, reasons = decided(job)
    one = reasons[0]
    assert one.says == "R08 780 mm + R11 460 mm + 2 × 60 mm at the ends (typical) = 1360 mm, up to the next 10 mm"
    assert (one.limit, one.asks, one.method, one.source) == ("route", "1360", "routes.wire_routes", "common-practice")
    assert one.rests_on == ("R08", "R11", "box", "bulkhead", "kick", "L_box", "L_kick")
    assert "end_allowance_mm" in one.table
    assert reasons[1].says == (
        "150 mm to a bolt near kick (typical) + 2 × 60 mm at the ends (typical) = 270 mm, up to the next 10 mm"
    )


def test_figures_of_the_vehicle_are_not_called_typical():
    own = {"end_allowance_mm": "100", "length_step_mm": "25"}
    _, reasons = decided(loom(RUNS, [between("W1", "box", "bulkhead")], vehicle=own))
    assert reasons[0].says == "R08 780 mm + 2 × 100 mm at the ends = 980 mm, up to the next 25 mm"
    assert (reasons[0].table, reasons[0].source) == ("vehicle", "")


def test_a_place_of_two_ends_a_straight_line_and_a_twist_are_told():
    places = [{"id": "a", "x_mm": "0", "y_mm": "0", "z_mm": "0"}, {"id": "b", "x_mm": "600", "y_mm": "0", "z_mm": "0"}]
    wires = [
        between("W1", "a", "a"),
        between("W2", "a", "b", twist="T", cable="C1"),
        between("W3", "a", "b", twist="T", cable="C1"),
    ]
    straight = loom(["R1 a b"], wires, places=places, cables=[{"id": "C1", "lay_mm": "30"}])
    said = [(one.row, one.limit, one.says) for one in decided(straight)[1]]
    # 1 mm2 is 2.1 mm thick: 2.39 % more than 600 mm
    twist = "a core 2.1 mm thick that goes round once in 30 mm takes 2.4 % more than its cable"
    along = (
        "R1 600 mm (straight line) + 14.3 mm for the twist + 2 × 60 mm at the ends (typical) = 734.3 mm, "
        "up to the next 10 mm"
    )
    assert said == [
        (
            "W1",
            "route",
            "120 mm within a (typical) + 2 × 60 mm at the ends (typical) = 240 mm, up to the next 10 mm",
        ),
        ("W2", "route", along),
        ("W2", "twist", twist),
        ("W3", "route", along),
        ("W3", "together", "lies beside W2 all the way: both have C1 in the column cable"),
        ("W3", "twist", twist),
    ]


def test_sums_can_be_had_for_wires_whose_length_is_typed(job):
    assert length_says(job, KINDS, routes(job), ["W2", "W4"]) == {
        "W2": "R08 780 mm + R11 460 mm + 2 × 60 mm at the ends (typical) = 1360 mm, up to the next 10 mm"
    }


def test_kept_lengths_fill_the_blank_cells_and_live_through_the_sheets(job):
    after = kept(job)
    assert {wire.id: wire.length_mm for wire in with_decided(after).wires} == {
        "W1": 1360.0,
        "W2": 1500.0,
        "W3": 270.0,
        "W4": None,
        "W5": 1020.0,
    }
    assert job_from_text(text_from_job(after)) == after
    assert reasons_at(after, "wires", "W1", "length_mm")[0].asks == "1360"


def test_keeping_twice_changes_nothing(job):
    assert kept(kept(job)) == kept(job)


def test_keeping_some_leaves_the_others_as_they_are(job):
    after = with_lengths(job, KINDS, routes(job), ["W1"])
    assert [one.row for one in after.decisions] == ["W1"]
    assert [one.row for one in with_lengths(after, KINDS, routes(after), ["W5"]).decisions] == ["W1", "W5"]


def test_what_is_cut_stays_as_it_was_decided(job):
    before = kept(job)
    cut = replace(before, progress=(Progress(wire="W1", end="both", step="cut"),))
    longer = set_cell(cut, "runs", "R11", "length_mm", "600")
    assert "W1" not in {one.row for one in decided(longer)[0]}
    assert decision_at(kept(longer), "wires", "W1", "length_mm").value == "1360"
    assert "W1" not in stale(longer)


def test_lengths_that_no_longer_stand_for_anything_are_dropped(job):
    before = kept(job)
    typed = set_cell(before, "wires", "W1", "length_mm", "1400")
    assert [one.row for one in kept(typed).decisions] == ["W3", "W5"]
    assert [one.row for one in kept(drop_row(before, "wires", "W5")).decisions] == ["W1", "W3"]
    adrift = set_cell(before, "parts", "L_nose", "place", "")
    assert [one.row for one in kept(adrift).decisions] == ["W1", "W3"]


def test_a_kept_length_stands_as_long_as_nothing_it_rests_on_changes(job):
    before = kept(job)
    assert stale(before) == ()
    edits = [
        ("runs", "R08", "notes", "new clip"),
        ("runs", "R08", "covering", "tape"),
        ("runs", "R3", "length_mm", "850"),
        ("places", "box", "name", "the box"),
        ("places", "box", "x_mm", "40"),
        ("places", "box", "ambient_c", "90"),
        ("wires", "W1", "colour", "RD"),
        ("wires", "W1", "size_mm2", "4"),
        ("wires", "W2", "length_mm", "1600"),
        ("parts", "L_box", "settings", "watt=10"),
    ]
    for edit in edits:
        assert stale(set_cell(before, *edit)) == (), edit


@pytest.mark.parametrize(
    ("edit", "wires"),
    [
        (("runs", "R08", "length_mm", "790"), ("W1",)),
        (("runs", "R3", "length_mm", "100"), ("W1",)),  # a shorter way has come of it: 900 + 100
        (("runs", "R2", "length_mm", "910"), ("W5",)),
        (("parts", "L_kick", "place", "nose"), ("W1", "W3")),
        (("wires", "W1", "via", "R3"), ("W1",)),
        (("wires", "W3", "to", "L_box.1"), ("W3",)),
    ],
)
def test_a_kept_length_is_stale_once_what_it_rests_on_has_changed(job, edit, wires):
    assert stale(set_cell(kept(job), *edit)) == wires


def test_other_figures_make_every_kept_length_stale(job):
    before = kept(job)
    other = replace(before, vehicle=loom(vehicle={"end_allowance_mm": "80"}).vehicle)
    assert stale(other) == ("W1", "W3", "W5")
    # a bolt's distance is in W3 alone
    bolt = replace(before, vehicle=loom(vehicle={"earth_stud_mm": "80"}).vehicle)
    assert stale(bolt) == ("W3",)


def test_a_kept_length_without_a_way_is_stale(job):
    assert stale(set_cell(kept(job), "parts", "L_nose", "place", "")) == ("W5",)


def test_a_typed_cell_is_never_stale(job):
    typed = set_cell(kept(job), "wires", "W1", "length_mm", "1400")
    assert stale(set_cell(typed, "runs", "R08", "length_mm", "790")) == ()


def test_size_counts_for_a_twisted_core():
    wires = [between("W1", "box", "kick", cable="C1")]
    before = kept(loom(RUNS, wires, cables=[{"id": "C1", "lay_mm": "30"}]))
    assert stale(set_cell(before, "wires", "W1", "size_mm2", "2.5")) == ("W1",)
    assert stale(set_cell(before, "cables", "C1", "lay_mm", "25")) == ("W1",)
