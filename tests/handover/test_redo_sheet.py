"""What changes ask of what is built, as it is printed in the pack."""

from __future__ import annotations

from loomwright.car import Car
from loomwright.handover.lists import lists_of
from loomwright.handover.pack import pack_of
from loomwright.handover.redo_sheet import NOTHING_ASKED, redo_sheet
from loomwright.writers.paper import pack_pdf, page_count
from tests.loom.built_jobs import WHOLE, built, done, job


def test_the_gravest_comes_first_with_what_it_was_built_from_and_its_minutes():
    steps = [*done("W1", "cut"), *done("W2", "cut"), *done("W3", "cut", "to:seated", length_mm="440", revision="")]
    told = redo_sheet(built({"W1": {"length_mm": "300"}, "W2": {"colour": "GN"}, "W3": {"length_mm": "900"}}, steps))
    assert [(row.wire, row.does, row.since, row.minutes) for row in told.rows] == [
        ("W2", "scrap", "3", "2"),
        ("W3", "lengthen", "?", "20"),
        ("W1", "shorten", "3", ""),
        ("W3", "look", "?", ""),
    ]
    # 22 minutes
    assert told.hours == "0.37"


def test_nothing_is_printed_where_nothing_is_asked():
    assert redo_sheet(built(progress=done("W1", *WHOLE))) is NOTHING_ASKED


def test_the_pack_has_it_as_a_section_and_as_a_list():
    proofs = [{"test": "lamp lit", "point": "L1.1", "verdict": "passed"}]
    now = job({"W1": {"colour": "GN"}}, done("W1", *WHOLE), proofs=proofs)
    car = Car(now)
    told = built({"W1": {"colour": "GN"}}, done("W1", *WHOLE), proofs=proofs)
    with_it = pack_of(now, car.scene, (), states_searched=1, built=told)
    without = pack_of(now, car.scene, (), states_searched=1)
    lists = {one.name: one.rows for one in lists_of(with_it)}
    assert lists["built already"][0][:2] == ("W1", "scrap")
    assert lists["proofs again"] == (("lamp lit at L1.1: take it again, W1 is worked on.",),)
    assert not {"built already", "proofs again"} & {one.name for one in lists_of(without)}
    assert page_count(pack_pdf(with_it)) == page_count(pack_pdf(without)) + 1
