"""`loomwright built` and `loomwright revisions`: from files without a past, from an older copy, from a shelf."""

from __future__ import annotations

import pytest

from loomwright.store.text_rows import SetCell
from tests.cli.conftest import put
from tests.pages.shelves import SMALL, shelf_in

CUT = {"wire": "W3", "end": "both", "step": "cut", "length_mm": "340", "size_mm2": "2.5", "colour": "RD"}
SEATED = {"wire": "W12", "end": "to", "step": "seated"}


def with_wire(name, **cells):
    wires = [{**row, **cells} if row["id"] == name else row for row in SMALL["wires"]]
    return {**SMALL, "wires": wires}


def does(told):
    return [(one["wire"], ask["does"]) for one in told.plain["wires"] for ask in one["asks"]]


@pytest.fixture
def shelf(tmp_path):
    made = shelf_in(tmp_path, small=SMALL)
    made.record("small", "progress", {**CUT, "revision": "1"}, who="sam")
    made.record("small", "progress", SEATED, who="sam")
    row = next(row for row in made.now("small").rows["wires"] if row.cells["id"] == "W3")
    edit = SetCell(sheet="wires", row_key=row.key, column="length_mm", old="300", new="500")
    made.edit("small", [edit], who="alex", why="the box moved")
    yield made
    made.close()


def test_nothing_built_asks_nothing(ask, job):
    told = ask("built", job(SMALL))
    assert (told.code, told.out) == (0, "nothing is built yet: the sheet progress has no row\n")


def test_without_a_past_what_progress_tells_is_held_against_the_sheets(ask, job):
    told = ask("built", job({**with_wire("W3", size_mm2="6"), "progress": [CUT, SEATED]}), "--json")
    assert told.code == 1
    assert does(told) == [("W3", "scrap"), ("W12", "look")]


def test_a_wire_that_is_too_long_is_no_reason_to_stop(ask, job):
    told = ask("built", job({**with_wire("W3", length_mm="200"), "progress": [CUT]}))
    assert told.code == 0
    assert "140 mm too long. It can stay" in told.out


def test_an_older_copy_is_what_the_steps_were_done_from(ask, job, tmp_path):
    now = {**with_wire("W12", to="LA1.1"), "progress": [SEATED]}
    older = put(tmp_path / "older", SMALL)
    told = ask("built", job(now), "--since", older, "--json")
    assert does(told) == [("W12", "move")]
    assert told.plain["unknown_revisions"] == []


def test_one_wire_is_told_alone(ask, job):
    there = job({**with_wire("W3", size_mm2="6"), "progress": [CUT, SEATED]})
    assert does(ask("built", there, "W3", "--json")) == [("W3", "scrap")]
    assert ask("built", there, "W5", "--json").refused[0]["found"] == "W5"


def test_a_job_of_the_shelf_is_held_against_its_own_past(ask, shelf):
    told = ask("built", "small", "--shelf", shelf.folder)
    assert told.code == 1
    assert "W3 was cut 340 mm, 500 mm are asked: 160 mm too short." in told.out
    assert "(revision 4) 2 min." in told.out
    assert "the cavity of its end cannot be told, since no revision is written beside them" in told.out
    assert "2 wires built, 0 of them as asked; 3 wires to cut; 0.034 h" in told.out


def test_a_revision_is_what_steps_without_one_were_done_from(ask, shelf):
    assert does(ask("built", "small", "--shelf", shelf.folder, "--since", "1", "--json")) == [("W3", "scrap")]
    assert ask("built", "small", "--shelf", shelf.folder, "--since", "9", "--json").refused[0]["found"] == "9"
    assert ask("built", "small", "--shelf", shelf.folder, "--since", "May", "--json").refused[0]["found"] == "May"


def test_revisions_tell_number_person_and_reason(ask, shelf):
    told = ask("revisions", "small", "--shelf", shelf.folder)
    assert told.out.splitlines()[0].split()[0] == "4"
    assert told.out.splitlines()[0].endswith("alex: the box moved")
    plain = ask("revisions", "small", "--shelf", shelf.folder, "--most", "2", "--json").plain
    assert [(one["number"], one["kind"]) for one in plain] == [(4, "edit"), (3, "record")]


def test_two_revisions_are_compared(ask, shelf):
    told = ask("revisions", "small", "--shelf", shelf.folder, "--between", "3")
    assert "wires W3, length_mm: 300 -> 500" in told.out
    assert told.out.endswith("1 difference between revision 3 and revision 4\n")
    plain = ask("revisions", "small", "--shelf", shelf.folder, "--between", "2", "1", "--json").plain
    assert [(one["sheet"], one["op"]) for one in plain["differences"]] == [("progress", "add")]


@pytest.mark.parametrize(
    "words", [("--between", "x"), ("--between", "1", "2", "3"), ("--most", "0"), ("--between", "7")]
)
def test_what_is_no_revision_is_refused(ask, shelf, words):
    assert ask("revisions", "small", "--shelf", shelf.folder, *words, "--json").refused
