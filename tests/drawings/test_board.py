"""The layout board: every run at its true length, no two crossing, nothing written over anything, nothing left out."""

from __future__ import annotations

from itertools import combinations
from math import dist

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loomwright.car import Car
from loomwright.drawings.board.board_sheets import PAPERS, board_print
from loomwright.drawings.board.flattened import Flattened, Piece, flattened
from loomwright.drawings.board.layout_board import Board
from loomwright.drawings.symbols.items import Line, Text
from loomwright.drawings.symbols.letters import text_box
from loomwright.job.reading import job_from_text
from loomwright.refusals import OutOfReach

Rows = list[dict[str, str]]
Sheets = dict[str, Rows]

PLACES = ("box", "nose", "dash", "tank", "rear", "step")
RUNS = (("R1", "box", "nose", "800"), ("R2", "box", "dash", "600"), ("R3", "dash", "tank", "1500"),
        ("R4", "tank", "rear", "400"), ("R5", "nose", "dash", "1100"))  # fmt: skip


def sheets() -> Sheets:
    """A small loom with a ring, a built wire, one that leads nowhere and one that stays at its place."""
    parts = [{"id": f"P_{place}", "kind": "splice", "place": place} for place in PLACES]
    parts.append({"id": "Q_box", "kind": "splice", "place": "box"})
    parts.append({"id": "Q_nose", "kind": "splice", "place": "nose"})
    parts.append({"id": "LOST", "kind": "splice"})
    parts.append({"id": "BAT", "kind": "battery"})
    ends = [("W1", "box", "nose"), ("W2", "box", "dash"), ("W3", "box", "rear"), ("W4", "dash", "tank"),
            ("W5", "nose", "dash"), ("W6", "tank", "rear")]  # fmt: skip
    wires: Rows = [
        {"id": name, "from": f"P_{one}.1", "to": f"P_{other}.2", "size_mm2": "1", "colour": "RD"}
        for name, one, other in ends
    ]
    wires[4]["via"] = "R5"
    wires[0] |= {"built_length_mm": "1000", "to": "Q_nose.1"}
    wires[1]["built_length_mm"] = "560"
    wires.append({"id": "W7", "from": "P_box.3", "to": "LOST.1", "size_mm2": "1"})
    wires.append({"id": "W8", "from": "P_box.4", "to": "Q_box.1", "size_mm2": "1"})
    wires.append({"id": "W9", "from": "P_step.1", "to": "P_step.2", "size_mm2": "1"})
    names = ("id", "from", "to", "length_mm")
    runs = [dict(zip(names, run, strict=True)) | {"covering": "tape" if run[0] == "R2" else "conduit"} for run in RUNS]
    return {"places": [{"id": name} for name in PLACES], "runs": runs, "parts": parts, "wires": wires}


def board_of(rows: Sheets) -> Board:
    """The board of sheets."""
    return Car(job_from_text(rows)).board()


@pytest.fixture(scope="module")
def board() -> Board:
    """The board of the small loom."""
    return board_of(sheets())


def test_every_run_has_its_true_length_between_its_pegs(board):
    drawn = {
        item.about: dist((item.x1_mm, item.y1_mm), (item.x2_mm, item.y2_mm))
        for layer, item in board.items
        if layer == "runs" and isinstance(item, Line)
    }
    assert drawn == pytest.approx({name: float(long) for name, *_, long in RUNS}, abs=1e-6)


def test_a_ring_is_opened_where_fewest_wires_lie_and_its_end_names_the_place_it_comes_back_to(board):
    # R5 carries one wire, R1 one, R2 three: of the two with one the shorter stays in the tree
    again = [peg for peg in board.flat.pegs if peg.is_again]
    pegs = board.flat.pegs
    (opened,) = [one for one in board.flat.branches if pegs[one.start].is_again or pegs[one.end].is_again]
    assert (opened.run, [peg.place for peg in again]) == ("R5", ["dash"])
    assert any(isinstance(item, Text) and item.text.startswith("to dash") for _, item in board.items)


def test_an_end_reaches_as_far_as_its_wire_was_cut_and_one_cut_too_short_is_told(board):
    reach = {(end.place, wire): end for end in board.ends for wire in end.wires}
    assert reach["nose", "W1"].reach_mm == pytest.approx((1000 - 800) / 2)
    assert reach["dash", "W2"].short == ("W2",)
    assert reach["box", "W8"].beside == ("W8",)


def test_what_no_run_leads_is_told_with_what_mends_it(board):
    told = {one.id: one for one in board.missing}
    assert set(told) == {"W7", "step"}
    assert "LOST" in told["W7"].why
    assert told["W7"].mend
    assert "W9" in told["step"].why


def test_tubes_go_on_before_what_is_wrapped_and_inner_runs_before_outer_ones(board):
    turn = {one.run: one.number for one in board.sleeves}
    assert [one.how for one in board.sleeves] == ["push on"] * 4 + ["wrap"]
    assert sorted(turn.values()) == [1, 2, 3, 4, 5]
    inner = {board.flat.pegs[one.end].place: one.run for one in board.flat.branches}
    for one in board.flat.branches:
        before = inner.get(board.flat.pegs[one.start].place)
        if before is not None and "R2" not in (one.run, before):
            assert turn[before] < turn[one.run]


def test_no_words_lie_on_words_or_on_a_run(board):
    texts = [text_box(item) for _, item in board.items if isinstance(item, Text)]
    assert len(texts) > 20
    overlaps = [
        (one, other)
        for one, other in combinations(texts, 2)
        if one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]
    ]
    assert overlaps == []


@pytest.mark.parametrize("paper", sorted(PAPERS))
def test_the_fields_of_the_sheets_cover_every_stroke_and_name_their_neighbours(board, paper):
    made = board_print(board, paper=paper)
    wide, high = made.field_mm
    for _, item in board.items:
        if isinstance(item, Line):
            for x, y in ((item.x1_mm, item.y1_mm), (item.x2_mm, item.y2_mm)):
                fields = [one for one in made.sheets if 0 <= x - one.left_mm <= wide and 0 <= y - one.top_mm <= high]
                assert any(item in one.items for one in fields)
    by_name = {one.name: one for one in made.sheets}
    back = {"left": "right", "right": "left", "above": "below", "below": "above"}
    assert all(by_name[name].beside[back[side]] == one.name for one in made.sheets for side, name in one.beside.items())


def test_a_margin_that_leaves_no_room_is_not_kept_to_and_that_is_said(board):
    wide = board_print(board, margin_mm=95.0)
    assert wide.margin_mm == pytest.approx(20.0)
    assert wide.says.startswith("A margin of 95 mm leaves no room")
    assert board_print(board, margin_mm=12.0).says == ""
    with pytest.raises(OutOfReach):
        board_print(board, margin_mm=float("nan"))


def test_long_names_and_other_letters_are_laid_out_whole():
    rows = sheets()
    for row in rows["places"]:
        row["name"] = {"box": "x" * 200, "nose": "\U0001f697 nose", "dash": "לוח מחוונים"}.get(row["id"], "")
    made = board_of(rows)
    said = [item.text for _, item in made.items if isinstance(item, Text)]
    assert sum(text.count("x") for text in said if set(text) == {"x"}) == 200
    assert any("\U0001f697" in text for text in said)


def test_a_job_without_runs_has_an_empty_board_that_says_why():
    rows = sheets()
    rows["runs"] = []
    rows["wires"][4]["via"] = ""
    made = board_of(rows)
    assert made.flat.branches == ()
    assert board_print(made).sheets == ()
    assert {one.id for one in made.missing} >= {"W1", "W7"}


@st.composite
def looms(draw: st.DrawFn) -> list[Piece]:
    """Runs between places, rings and loose pieces included."""
    names = [f"p{number}" for number in range(draw(st.integers(2, 14)))]
    found = []
    for number in range(draw(st.integers(1, 18))):
        one, other = draw(st.lists(st.sampled_from(names), min_size=2, max_size=2, unique=True))
        found.append(
            Piece(
                run=f"R{number}",
                one=one,
                other=other,
                length_mm=draw(st.floats(1.0, 5000.0)),
                wires=draw(st.integers(1, 9)),
            )
        )
    return found


@settings(max_examples=60, deadline=None)
@given(looms())
def test_runs_of_any_loom_are_all_there_true_and_cross_nowhere(pieces):
    flat = flattened(pieces)
    assert sorted(one.run for one in flat.branches) == sorted(one.run for one in pieces)
    assert crossings(flat) == []
    for one in flat.branches:
        start, end = flat.pegs[one.start], flat.pegs[one.end]
        assert dist((start.x_mm, start.y_mm), (end.x_mm, end.y_mm)) == pytest.approx(one.length_mm, rel=1e-9)


def crossings(flat: Flattened) -> list[tuple[str, str]]:
    """Pairs of runs that share no peg and cut through each other."""
    found = []
    for one, other in combinations(flat.branches, 2):
        if {one.start, one.end} & {other.start, other.end}:
            continue
        a, b = (flat.pegs[place] for place in (one.start, one.end))
        c, d = (flat.pegs[place] for place in (other.start, other.end))
        sides = [
            (q.x_mm - p.x_mm) * (r.y_mm - p.y_mm) - (q.y_mm - p.y_mm) * (r.x_mm - p.x_mm)
            for p, q, r in ((a, b, c), (a, b, d), (c, d, a), (c, d, b))
        ]
        if sides[0] * sides[1] < -1e-9 and sides[2] * sides[3] < -1e-9:
            found.append((one.run, other.run))
    return found
