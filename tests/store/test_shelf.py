"""What is told to be kept is kept, what stands in the way is told, and nothing is half taken."""

from __future__ import annotations

import threading

import pytest

from loomwright.job.writing import text_from_job
from loomwright.refusals import BadDocument, OutOfReach
from loomwright.store.group_commit import Written
from loomwright.store.shelf import Shelf
from loomwright.store.text_rows import AddRow, DropRow, MoveRow, SetCell
from tests.store.conftest import awaited, clock, key_of


def set_cell(shelf, name, column, old, new, sheet="wires"):
    return SetCell(sheet=sheet, row_key=key_of(shelf, sheet, name), column=column, old=old, new=new)


def ids(shelf, sheet="wires", revision=None):
    return [row.cells.get("id", "") for row in shelf.now("car", revision).rows[sheet]]


def test_a_job_comes_back_as_it_was_put_there(shelf, job):
    assert shelf.now("car").job == job
    assert text_from_job(shelf.now("car").job) == text_from_job(job)


def test_it_is_still_there_after_closing(shelf, folder, job):
    shelf.edit("car", [set_cell(shelf, "W2", "length_mm", "900", "950")], who="A")
    shelf.close()
    again = Shelf(folder, clock())
    assert again.now("car").revision == 2
    assert again.now("car").job.wires[1].length_mm == 950.0
    assert again.now("car", 1).job == job
    again.close()


def test_an_edit_is_a_revision_with_who_and_why(shelf):
    told = shelf.edit("car", [set_cell(shelf, "W2", "colour", "", "BK")], who="B", why="as found")
    assert (told.revision, told.is_taken) == (2, True)
    newest = shelf.revisions("car")[0]
    assert (newest.number, newest.who, newest.why, newest.kind) == (2, "B", "as found", "edit")


def test_typing_what_stands_there_is_no_revision(shelf):
    told = shelf.edit("car", [set_cell(shelf, "W2", "length_mm", "900", "900")], who="A")
    assert told.revision == 1


def test_two_people_in_different_cells_of_a_row_both_get_their_way(shelf):
    first = set_cell(shelf, "W2", "length_mm", "900", "950")
    second = set_cell(shelf, "W2", "size_mm2", "1.5", "2.5")
    assert shelf.edit("car", [first], who="A").is_taken
    assert shelf.edit("car", [second], who="B").is_taken
    wire = shelf.now("car").job.wires[1]
    assert (wire.length_mm, wire.size_mm2) == (950.0, 2.5)


def test_two_people_in_one_cell_get_both_values_shown(shelf):
    shelf.edit("car", [set_cell(shelf, "W2", "length_mm", "900", "950")], who="A")
    told = shelf.edit("car", [set_cell(shelf, "W2", "length_mm", "900", "800")], who="B")
    assert not told.is_taken
    [conflict] = told.conflicts
    assert (conflict.was, conflict.yours, conflict.theirs) == ("900", "800", "950")
    assert shelf.now("car").job.wires[1].length_mm == 950.0


def test_two_people_typing_the_same_agree(shelf):
    shelf.edit("car", [set_cell(shelf, "W2", "length_mm", "900", "950")], who="A")
    assert shelf.edit("car", [set_cell(shelf, "W2", "length_mm", "900", "950")], who="B").is_taken


def test_work_in_a_row_somebody_took_out_is_a_conflict(shelf):
    edit = set_cell(shelf, "W2", "length_mm", "900", "950")
    shelf.edit("car", [DropRow(sheet="wires", row_key=edit.row_key)], who="A")
    [conflict] = shelf.edit("car", [edit], who="B").conflicts
    assert conflict.theirs is None


def test_a_thousand_wrong_cells_are_all_told_and_none_is_taken(shelf):
    rows = [AddRow(sheet="wires", cells={"id": f"X{n}", "length_mm": "long"}) for n in range(1000)]
    told = shelf.edit("car", [set_cell(shelf, "W2", "colour", "", "BK"), *rows], who="A")
    assert len(told.problems) == 1000
    assert shelf.now("car").revision == 1
    assert ids(shelf) == ["W1", "W2", "W3"]


def test_an_edit_that_does_not_fit_the_rest_is_kept_and_told(shelf):
    shelf.edit("car", [set_cell(shelf, "W3", "from", "L1.2", "L9.2")], who="A")
    now = shelf.now("car")
    assert now.job is None
    [problem] = now.problems
    assert (problem.sheet, problem.row, problem.column) == ("wires", 4, "from")
    shelf.edit("car", [set_cell(shelf, "W3", "from", "L9.2", "L1.2")], who="A")
    assert shelf.now("car").job is not None


def test_a_row_without_a_name_is_not_of_the_job_yet(shelf):
    shelf.edit("car", [AddRow(sheet="wires", cells={"colour": "RD"}, before=key_of(shelf, "wires", "W1"))], who="A")
    now = shelf.now("car")
    assert ids(shelf) == ["", "W1", "W2", "W3"]
    assert [wire.id for wire in now.job.wires] == ["W1", "W2", "W3"]
    shelf.edit("car", [set_cell(shelf, "W3", "from", "L1.2", "L9.2")], who="A")
    assert [problem.row for problem in shelf.now("car").problems] == [5]


def test_rows_are_added_moved_and_dropped(shelf):
    w1 = key_of(shelf, "wires", "W1")
    shelf.edit("car", [AddRow(sheet="wires", cells={"id": "W0"}, before=w1)], who="A")
    assert ids(shelf) == ["W0", "W1", "W2", "W3"]
    shelf.edit("car", [MoveRow(sheet="wires", row_key=w1)], who="A")
    assert ids(shelf) == ["W0", "W2", "W3", "W1"]
    shelf.edit("car", [DropRow(sheet="wires", row_key=key_of(shelf, "wires", "W2"))], who="A")
    assert ids(shelf) == ["W0", "W3", "W1"]
    assert [ids(shelf, revision=n) for n in (1, 2, 3)] == [
        ["W1", "W2", "W3"],
        ["W0", "W1", "W2", "W3"],
        ["W0", "W2", "W3", "W1"],
    ]


def test_the_order_of_rows_is_kept_however_often_one_is_put_between(shelf, folder):
    for n in range(90):
        shelf.edit("car", [AddRow(sheet="wires", cells={"id": f"N{n}"}, before=key_of(shelf, "wires", "W2"))], who="A")
    expected = ["W1", *(f"N{n}" for n in range(90)), "W2", "W3"]
    assert ids(shelf) == expected
    shelf.close()
    again = Shelf(folder, clock())
    assert ids(again) == expected
    again.close()


def test_undo_and_redo_are_new_revisions(shelf, job):
    shelf.edit("car", [set_cell(shelf, "W2", "length_mm", "900", "950")], who="A")
    shelf.edit("car", [DropRow(sheet="wires", row_key=key_of(shelf, "wires", "W1"))], who="A")
    assert shelf.undo("car", who="A").revision == 4
    assert ids(shelf) == ["W1", "W2", "W3"]
    shelf.undo("car", who="A")
    assert shelf.now("car").job == job
    shelf.redo("car", who="A")
    shelf.redo("car", who="A")
    assert shelf.now("car").job == shelf.now("car", 3).job
    assert [one.kind for one in reversed(shelf.revisions("car"))] == [
        "start", "edit", "edit", "undo", "undo", "redo", "redo",
    ]  # fmt: skip
    assert shelf.revisions("car")[0].why == "did again revision 3"


def test_each_takes_back_their_own(shelf):
    shelf.edit("car", [set_cell(shelf, "W2", "length_mm", "900", "950")], who="A")
    shelf.edit("car", [set_cell(shelf, "W3", "length_mm", "200", "250")], who="B")
    shelf.undo("car", who="A")
    assert [wire.length_mm for wire in shelf.now("car").job.wires] == [300.0, 900.0, 250.0]
    with pytest.raises(OutOfReach):
        shelf.undo("car", who="A")


def test_taking_back_what_another_has_typed_over_is_a_conflict(shelf):
    shelf.edit("car", [set_cell(shelf, "W2", "length_mm", "900", "950")], who="A")
    shelf.edit("car", [set_cell(shelf, "W2", "length_mm", "950", "970")], who="B")
    assert [c.theirs for c in shelf.undo("car", who="A").conflicts] == ["970"]


def test_typing_ends_what_can_be_done_again(shelf):
    shelf.edit("car", [set_cell(shelf, "W2", "length_mm", "900", "950")], who="A")
    shelf.undo("car", who="A")
    shelf.edit("car", [set_cell(shelf, "W3", "length_mm", "200", "250")], who="A")
    with pytest.raises(OutOfReach):
        shelf.redo("car", who="A")


def test_undo_reaches_back_over_a_restart(shelf, folder, job):
    shelf.edit("car", [set_cell(shelf, "W2", "length_mm", "900", "950")], who="A")
    shelf.close()
    again = Shelf(folder, clock())
    again.undo("car", who="A")
    assert again.now("car").job == job
    again.close()


def test_a_row_added_after_a_restart_is_not_taken_for_one_that_was_dropped(shelf, folder):
    shelf.edit("car", [AddRow(sheet="wires", cells={"id": "W4"})], who="A")
    dropped = key_of(shelf, "wires", "W4")
    shelf.edit("car", [DropRow(sheet="wires", row_key=dropped)], who="A")
    shelf.close()
    again = Shelf(folder, clock())
    again.edit("car", [AddRow(sheet="wires", cells={"id": "W5"})], who="B")
    assert key_of(again, "wires", "W5") != dropped
    again.undo("car", who="A")
    assert sorted(row.cells["id"] for row in again.now("car").rows["wires"]) == ["W1", "W2", "W3", "W4", "W5"]
    again.close()


def test_records_grow_and_are_passed_over_by_undo(shelf):
    shelf.edit("car", [set_cell(shelf, "W2", "length_mm", "900", "950")], who="A")
    shelf.record("car", "progress", {"wire": "W2", "end": "both", "step": "cut"}, who="A")
    shelf.undo("car", who="A")
    now = shelf.now("car").job
    assert (now.wires[1].length_mm, len(now.progress)) == (900.0, 1)


def test_what_is_sent_twice_is_done_once(shelf):
    cells = {"wire": "W2", "end": "both", "step": "cut"}
    first = shelf.record("car", "progress", cells, who="A", token="t1")
    again = shelf.record("car", "progress", cells, who="A", token="t1")
    assert (first.revision, again.revision) == (2, 2)
    assert len(shelf.now("car").job.progress) == 1


def test_differences_between_any_two_revisions(shelf):
    shelf.edit("car", [set_cell(shelf, "W2", "length_mm", "900", "950")], who="A")
    shelf.edit("car", [AddRow(sheet="wires", cells={"id": "W4"})], who="A")
    shelf.edit("car", [DropRow(sheet="wires", row_key=key_of(shelf, "wires", "W1"))], who="A")
    told = [(d.op, d.row, d.column, d.older, d.newer) for d in shelf.differences("car", 1, 4)]
    assert ("set", "W2", "length_mm", "900", "950") in told
    assert ("add", "W4", "", "", "id=W4") in told
    assert [(op, row) for op, row, *_ in told if op == "drop"] == [("drop", "W1")]
    back = shelf.differences("car", 4, 1)
    assert {(d.op, d.row) for d in back} == {("set", "W2"), ("drop", "W4"), ("add", "W1")}


def test_an_old_snapshot_stays_what_it_was(shelf, job):
    before = shelf.now("car")
    shelf.edit("car", [set_cell(shelf, "W2", "length_mm", "900", "950")], who="A")
    assert before.job == job


@pytest.mark.parametrize("name", ["", " car", "a/b", "x" * 81, "car\n"])
def test_a_name_that_is_none_is_refused(shelf, job, name):
    with pytest.raises(BadDocument):
        shelf.add(name, job, who="A")


def test_a_name_is_given_once(shelf, job):
    with pytest.raises(BadDocument):
        shelf.add("car", job, who="A")
    assert [line.name for line in shelf.jobs()] == ["car"]
    assert shelf.jobs()[0].title == "a small car"


@pytest.mark.parametrize("revision", [0, 2, -1])
def test_a_revision_that_is_not_there_is_refused(shelf, revision):
    with pytest.raises(OutOfReach):
        shelf.now("car", revision)


def test_a_job_that_is_not_there_is_refused(shelf):
    with pytest.raises(OutOfReach):
        shelf.now("bus")


def test_many_hands_lose_nothing(shelf):
    def work(person):
        for n in range(25):
            shelf.edit("car", [AddRow(sheet="wires", cells={"id": f"{person}{n}"})], who=person)

    people = [threading.Thread(target=work, args=(person,)) for person in "PQRS"]
    for one in people:
        one.start()
    for one in people:
        one.join()
    assert shelf.now("car").revision == 101
    assert set(ids(shelf)) == {"W1", "W2", "W3", *(f"{person}{n}" for person in "PQRS" for n in range(25))}
    assert [one.number for one in shelf.revisions("car", newest=200)] == list(range(101, 0, -1))


def test_waiting_for_news(shelf):
    seen = []
    waiting = threading.Thread(target=lambda: seen.append(shelf.wait("car", 1, at_most_s=10.0)))
    waiting.start()
    shelf.edit("car", [set_cell(shelf, "W2", "length_mm", "900", "950")], who="A")
    waiting.join()
    assert seen == [2]
    assert shelf.wait("car", 2, at_most_s=0.01) == 2


def test_a_clock_that_goes_backwards_changes_no_order(folder, job):
    times = iter(["2026-01-02", "2026-01-01", "2025-12-31"])
    shelf = Shelf(folder, lambda: next(times))
    shelf.add("car", job, who="A")
    shelf.edit("car", [set_cell(shelf, "W2", "length_mm", "900", "950")], who="A")
    shelf.edit("car", [set_cell(shelf, "W2", "length_mm", "950", "990")], who="A")
    assert [one.time for one in shelf.revisions("car")] == ["2025-12-31", "2026-01-01", "2026-01-02"]
    assert shelf.now("car").job.wires[1].length_mm == 990.0
    shelf.close()


def test_an_edit_whose_sender_has_gone_is_not_done_and_the_next_is(shelf):
    holding, go_on = threading.Event(), threading.Event()

    def hold(_):
        holding.set()
        go_on.wait(10.0)
        return Written(answer=0, published=lambda: None)

    slow = shelf._writer.hand_in(hold)
    assert holding.wait(10.0)
    wire = [AddRow(sheet="wires", cells={"id": "W9"})]
    gone = shelf.hand_in("car", wire, who="A", why="", token="", kind="edit")
    assert gone.cancel()
    go_on.set()
    assert slow.result(10.0) == 0
    assert shelf.edit("car", [AddRow(sheet="wires", cells={"id": "W10"})], who="A").revision == 2
    assert [row.cells["id"] for row in shelf.now("car").rows["wires"]][-1] == "W10"


def test_an_edit_awaited_is_on_the_disk_when_it_is_answered(shelf, folder):
    wire = [AddRow(sheet="wires", cells={"id": "W9"})]
    assert awaited(shelf.edit_soon("car", wire, who="A", token="once")).revision == 2
    assert awaited(shelf.edit_soon("car", wire, who="A", token="once")).revision == 2
    again = Shelf(folder, clock())
    assert [row.cells["id"] for row in again.now("car").rows["wires"]][-1] == "W9"
    again.close()
