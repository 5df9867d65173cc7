"""The cut list: which pieces from which reel, in what order, and whether the shop holds enough."""

from __future__ import annotations

import pytest

from loomwright.job.decided import with_decided
from loomwright.job.job import Job
from loomwright.job.rows import Progress, StockRow, Wire
from loomwright.loom.as_built import as_built
from loomwright.loom.bench_list import bench_list
from loomwright.loom.cut_list import ALLOWANCE_MM, cut_list
from tests.handover.bench_van import bench_job


def job(*wires: Wire, stock: tuple[StockRow, ...] = (), progress: tuple[Progress, ...] = ()) -> Job:
    """A job of wires, stock and progress."""
    return Job(wires=wires, stock=stock, progress=progress)


def red(id: str, length_mm: float | None, **more: object) -> Wire:
    """A red wire of 1.5 mm²."""
    return Wire(**{"id": id, "size_mm2": 1.5, "colour": "RD", "length_mm": length_mm, **more})


def test_pieces_stand_longest_first_and_equal_ones_by_id():
    (reel,) = cut_list(job(red("W10", 500), red("W2", 500), red("W3", 900))).reels
    assert [(cut.wire, cut.cut_mm) for cut in reel.cuts] == [("W3", 940.0), ("W2", 540.0), ("W10", 540.0)]
    # 0.94 + 2 * 0.54
    assert reel.needed_m == pytest.approx(2.02)
    assert ALLOWANCE_MM == 40.0


def test_each_size_colour_and_insulation_is_a_reel_of_its_own_thinnest_first():
    wires = (
        red("W1", 100, size_mm2=4.0),
        red("W2", 100),
        red("W3", 100, colour="BU"),
        red("W4", 100, insulation="C"),
        red("W5", 100, size_mm2=None),
    )
    told = [(reel.size_mm2, reel.colour, reel.insulation) for reel in cut_list(job(*wires)).reels]
    assert told == [(None, "RD", ""), (1.5, "BU", ""), (1.5, "RD", ""), (1.5, "RD", "C"), (4.0, "RD", "")]


def test_only_new_wires_are_cut_and_the_others_are_counted():
    wires = (red("W1", 100), *(red(word, 100, fitted=word) for word in ("kept", "donor", "removed")))
    cuts = cut_list(job(*wires))
    assert [cut.wire for reel in cuts.reels for cut in reel.cuts] == ["W1"]
    assert cuts.left == (("kept", 1), ("donor", 1), ("removed", 1))


def test_a_wire_without_a_length_stands_apart():
    cuts = cut_list(job(red("W1", 100), red("W2", None)))
    assert [wire.id for wire in cuts.unmeasured] == ["W2"]
    assert [cut.wire for reel in cuts.reels for cut in reel.cuts] == ["W1"]


def test_cores_are_cut_with_their_cable_and_twisted_wires_from_their_reels():
    wires = (
        red("W1", 400, cable="C1"),
        red("W2", 700, cable="C1", twist="T0"),
        red("W3", 300, twist="T1"),
        red("W4", 350, twist="T1"),
    )
    cuts = cut_list(job(*wires))
    assert [(one.id, one.wires, one.cut_mm) for one in cuts.cables] == [("C1", ("W1", "W2"), 740.0)]
    assert [(one.id, one.wires, one.cut_mm) for one in cuts.twists] == [("T1", ("W3", "W4"), 390.0)]
    assert [cut.wire for reel in cuts.reels for cut in reel.cuts] == ["W4", "W3"]


def test_a_cable_nobody_measured_has_no_length():
    assert cut_list(job(red("W1", None, cable="C1"))).cables[0].cut_mm is None


def test_stock_is_held_against_what_is_needed():
    stock = (StockRow(item="reel", size_mm2=1.5, colour="RD", length_m=1.0),)
    (reel,) = cut_list(job(red("W1", 400), red("W2", 300), stock=stock)).reels
    assert (reel.held_m, reel.short_m) == (1.0, 0.0)
    (reel,) = cut_list(job(red("W1", 700), red("W2", 300), stock=stock)).reels
    # 0.74 m leaves 0.26 m, which 0.34 m does not fit in
    assert reel.short_m == pytest.approx(0.34)


def test_two_short_reels_do_not_make_one_long_piece():
    stock = tuple(StockRow(item="rest", size_mm2=1.5, colour="RD", length_m=0.6) for _ in range(2))
    (reel,) = cut_list(job(red("W1", 900), stock=stock)).reels
    assert (reel.held_m, reel.reels) == (pytest.approx(1.2), 2)
    assert reel.short_m == pytest.approx(0.94)


def test_another_colour_or_size_in_stock_is_no_stock():
    stock = (
        StockRow(item="reel", size_mm2=2.5, colour="RD", length_m=9.0),
        StockRow(item="reel", size_mm2=1.5, colour="BU", length_m=9.0),
        StockRow(item="reel", size_mm2=1.5, colour="RD"),
    )
    (reel,) = cut_list(job(red("W1", 460), stock=stock)).reels
    assert reel.held_m is None
    assert reel.short_m == pytest.approx(0.5)


def test_what_is_cut_already_needs_nothing_more_and_says_what_was_cut():
    wires = (red("W1", 870, built_length_mm=880.0), red("W2", 400), red("W3", 300))
    progress = (Progress(wire="W2", step="cut"), Progress(wire="W3", step="labelled"))
    (reel,) = cut_list(job(*wires, progress=progress)).reels
    assert [(cut.wire, cut.cut_mm, cut.done) for cut in reel.cuts] == [
        ("W1", 880.0, True),
        ("W2", 440.0, True),
        ("W3", 340.0, False),
    ]
    assert reel.needed_m == pytest.approx(0.34)


def test_decided_sizes_and_lengths_count_as_the_sheets_do():
    cuts = cut_list(with_decided(bench_job()))
    lengths = {cut.wire: cut.cut_mm for reel in cuts.reels for cut in reel.cuts}
    assert lengths["W18"] == 860.0
    sizes = {cut.wire: reel.size_mm2 for reel in cuts.reels for cut in reel.cuts}
    assert sizes["W17"] == 0.75
    assert [wire.id for wire in cuts.unmeasured] == ["W11"]


def test_a_piece_that_cannot_be_used_any_more_is_cut_again_and_ordered_again():
    job = Job(
        wires=(
            Wire(id="W1", from_="F1.2", to="L1.1", size_mm2=2.5, colour="RD", length_mm=900.0, fitted="new"),
            Wire(id="W2", from_="F1.2", to="L2.1", size_mm2=2.5, colour="RD", length_mm=900.0, fitted="new"),
        ),
        progress=tuple(
            Progress(wire=wire, end="both", step="cut", length_mm=940.0, size_mm2=size, colour="RD")
            for wire, size in (("W1", 1.5), ("W2", 2.5))
        ),
    )
    useless = as_built(job).useless
    assert useless == {"W1"}
    (reel,) = cut_list(job, useless=useless).reels
    assert [(one.wire, one.cut_mm, one.done) for one in reel.cuts] == [("W1", 940.0, False), ("W2", 940.0, True)]
    assert reel.needed_m == 0.94
    assert ("wire 2.5 mm² RD", 1) in [(one.item, one.amount) for one in bench_list(job, useless).order]
    assert not [one for one in bench_list(job).order if one.item.startswith("wire")]
