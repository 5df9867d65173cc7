"""What is done away from the desk comes in once, whole, and never over what somebody else wrote."""

from __future__ import annotations

import pytest
from sqlalchemy import select

from loomwright.store.acts import Act, take_acts
from loomwright.store.shelf import Shelf
from loomwright.store.shelf_tables import acts
from tests.store.conftest import clock


def cut(number, wire="W1", base=1, **more):
    cells = {"wire": wire, "end": "both", "step": "cut", "length_mm": "300"}
    return Act(id=f"act-{number}", made="2026-01-02T08:00:00", base=base, sheet="progress", cells=cells, **more)


def read(number, value, base=1, **more):
    cells = {"test": "live/battery", "value": value, "unit": "V", "verdict": "passed"}
    return Act(id=f"read-{number}", made="2026-01-02T08:00:00", base=base, sheet="proofs", cells=cells, **more)


def send(shelf, *told, device="tablet"):
    done = take_acts(shelf, "car", told, device=device, who="sam", time="2026-01-02T18:00:00")
    return [one.outcome for one in done]


def rows(shelf, sheet):
    return [dict(row.cells) for row in shelf.now("car").rows.get(sheet, ())]


def test_acts_are_rows_in_the_order_they_were_done(shelf):
    assert send(shelf, cut(1), cut(2, "W2"), read(1, "12.4")) == ["taken"] * 3
    assert [row["wire"] for row in rows(shelf, "progress")] == ["W1", "W2"]
    assert rows(shelf, "proofs")[0]["value"] == "12.4"
    assert shelf.now("car").revision == 2


def test_sent_again_it_counts_once_after_the_shelf_was_opened_anew_too(shelf, folder):
    send(shelf, cut(1), read(1, "12.4"))
    assert send(shelf, cut(1), read(1, "12.4"), read(2, "12.5")) == ["taken"] * 3
    shelf.close()
    again = Shelf(folder, clock())
    assert send(again, cut(1), read(1, "12.4"), read(2, "12.5")) == ["taken"] * 3
    assert [row["value"] for row in rows(again, "proofs")] == ["12.4", "12.5"]
    assert len(rows(again, "progress")) == 1
    again.close()


def test_twice_in_one_sending_it_counts_once(shelf):
    send(shelf, cut(1), cut(1))
    assert len(rows(shelf, "progress")) == 1


@pytest.mark.parametrize("together", [True, False])
def test_what_is_taken_back_is_gone_and_stays_gone(shelf, together):
    back = Act(id="back-1", made="2026-01-02T08:01:00", base=1, back="act-1")
    if together:
        assert send(shelf, cut(1), back) == ["back", "back"]
    else:
        send(shelf, cut(1))
        assert send(shelf, back) == ["back"]
    assert rows(shelf, "progress") == []
    assert send(shelf, cut(1), back) == ["back", "back"]
    assert rows(shelf, "progress") == []


def test_another_reading_of_somebody_else_waits_until_one_is_chosen(shelf):
    shelf.record("car", "proofs", read(9, "11.8").cells, who="A")
    told = take_acts(shelf, "car", [read(1, "12.4")], device="tablet", who="sam", time="t")
    assert (told[0].outcome, told[0].theirs["value"]) == ("waits", "11.8")
    assert [row["value"] for row in rows(shelf, "proofs")] == ["11.8"]
    assert send(shelf, read(1, "12.4", choose="mine")) == ["taken"]
    assert [row["value"] for row in rows(shelf, "proofs")] == ["11.8", "12.4"]
    assert send(shelf, read(1, "12.4", choose="theirs")) == ["taken"]
    assert len(rows(shelf, "proofs")) == 2


def test_where_theirs_is_chosen_ones_own_reading_is_kept_before_it(shelf):
    shelf.record("car", "proofs", read(9, "11.8").cells, who="A")
    assert send(shelf, read(1, "12.4")) == ["waits"]
    assert send(shelf, read(1, "12.4", choose="theirs")) == ["theirs"]
    assert [row["value"] for row in rows(shelf, "proofs")] == ["12.4", "11.8"]


def test_ones_own_second_reading_waits_for_nobody(shelf):
    assert send(shelf, read(1, "12.4")) == ["taken"]
    assert send(shelf, read(2, "11.9")) == ["taken"]


def test_a_step_that_somebody_else_has_written_down_is_not_doubled(shelf):
    shelf.record("car", "progress", cut(9).cells, who="A")
    assert send(shelf, cut(1)) == ["same"]
    assert len(rows(shelf, "progress")) == 1


def test_a_gate_that_somebody_else_has_passed_is_not_passed_twice(shelf):
    cells = {"gate": "earths", "stage": "first start", "verdict": "passed"}
    shelf.record("car", "gates", cells, who="A")
    again = Act(id="gate-1", made="2026-01-02T08:00:00", base=1, sheet="gates", cells=cells)
    assert send(shelf, again) == ["same"]
    assert len(rows(shelf, "gates")) == 1


def test_each_is_held_against_what_came_after_it_was_made_itself(shelf):
    # somebody else's reading is of revision 2; of two acts sent together one was made before it and one on it
    shelf.record("car", "proofs", read(9, "11.8").cells, who="A")
    assert send(shelf, read(1, "12.4", base=1), cut(1, base=2)) == ["waits", "taken"]
    assert send(shelf, read(2, "12.5", base=2), cut(2, "W2", base=1)) == ["taken", "taken"]


def test_what_stood_there_when_it_was_made_is_no_conflict(shelf):
    shelf.record("car", "proofs", read(9, "11.8").cells, who="A")
    assert send(shelf, read(1, "12.4", base=2)) == ["taken"]


def test_one_that_cannot_stand_there_holds_up_no_other_and_is_kept_as_it_was_said(shelf):
    wrong = Act(id="wrong", made="t", base=1, sheet="progress", cells={"wire": "W1", "length_mm": "long"})
    assert send(shelf, wrong, cut(2)) == ["refused", "taken"]
    with shelf.engine.connect() as connection:
        kept = connection.execute(select(acts.c.cells).where(acts.c.id == "wrong")).scalar_one()
    assert '"long"' in kept
    parts = Act(id="parts", made="t", base=1, sheet="parts", cells={"id": "X1", "kind": "lamp"})
    assert send(shelf, parts) == ["refused"]
    assert all(row["id"] != "X1" for row in rows(shelf, "parts"))
