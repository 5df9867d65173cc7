"""What the bench needs: reels, terminals with strip, die, seal and pull, copper, price, what is to be ordered."""

from __future__ import annotations

import pytest

from loomwright.job.job import Job
from loomwright.job.rows import Crimp, StockRow, Wire
from loomwright.loom.bench_list import bench_list

PLUG = Crimp(terminal="TP", seal="S1", size_from_mm2=0.5, size_to_mm2=1.5, strip_mm=4.5, die="B", pull_n=90.0)
BARE = Crimp(terminal="TB")


def job(*wires: Wire, stock: tuple[StockRow, ...] = (), crimps: tuple[Crimp, ...] = (PLUG, BARE)) -> Job:
    return Job(wires=wires, stock=stock, crimps=crimps)


def red(id: str, length_mm: float | None = 960.0, **more: object) -> Wire:
    return Wire(**{"id": id, "size_mm2": 1.5, "colour": "RD", "length_mm": length_mm, **more})


def reel(length_m: float, price: float | None = None) -> StockRow:
    return StockRow(item="wire", size_mm2=1.5, colour="RD", length_m=length_m, price=price)


def test_copper_and_price_are_those_of_the_pieces():
    found = bench_list(job(red("W1"), red("W2"), stock=(reel(10.0, 4.0),)))
    # two pieces of 960 + 40 mm, 1.5 mm2, 8.89 g/cm3; 4 for 10 m
    assert found.copper_g == pytest.approx(2 * 1000 * 1.5 * 0.00889)
    assert found.wires[0].price == pytest.approx(0.8)
    assert found.order == ()


def test_a_reel_too_short_for_a_piece_is_ordered_in_one_length_and_the_rest_is_cut():
    found = bench_list(job(red("W1", 2960.0), red("W2"), stock=(reel(2.0),)))
    (line,) = found.order
    assert (line.item, line.amount, line.per) == ("wire 1.5 mm² RD", 3, "m")
    assert "one length of 3.00 m at least" in line.mend
    assert [piece.wire for use in found.wires[0].plan.uses for piece in use.pieces] == ["W2"]


def test_a_shortage_of_some_centimetres_is_ordered_too():
    found = bench_list(job(red("W1", 460.0), stock=(reel(0.3),)))
    assert [(line.item, line.amount, line.per) for line in found.order] == [("wire 1.5 mm² RD", 1, "m")]
    assert "one length of 0.50 m at least" in found.order[0].mend


def test_terminals_are_counted_by_size_and_seal_with_what_their_row_says():
    found = bench_list(
        job(
            red("W1", terminal_from="TP", seal_from="S1"), red("W2", terminal_to="TP", seal_to="S1"), stock=(reel(9.0),)
        )
    )
    (line,) = found.crimps
    assert (line.terminal, line.count, line.ends) == ("TP", 2, ("W1 from", "W2 to"))
    assert (line.strip_mm, line.die, line.seal, line.pull_n, line.told) == (4.5, "B", "S1", 90.0, ())
    assert {(each.item, each.amount) for each in found.order} == {("terminal TP", 2), ("seal S1", 2)}


def test_a_size_a_terminal_does_not_take_another_seal_and_a_bare_row_are_told():
    found = bench_list(
        job(
            red("W1", size_mm2=4.0, terminal_from="TP", seal_from="S2"),
            red("W2", terminal_from="TB"),
            red("W3", terminal_from="TX"),
        )
    )
    told = {line.terminal: " | ".join(line.told) for line in found.crimps}
    assert "it takes 0.5 to 1.5 mm², not 4" in told["TP"]
    assert "S1 goes with it, not S2" in told["TP"]
    assert told["TB"] == "no strip in its row | no die in its row"
    assert "no row in the sheet crimps" in told["TX"]


def test_the_pull_of_a_row_without_one_is_the_tables_for_that_size():
    (line,) = bench_list(job(red("W1", size_mm2=2.081, terminal_from="TB"))).crimps
    assert (line.pull_n, line.pull_source) == (222.5, "crimp-sheets")


def test_a_wire_without_a_length_is_named_and_the_others_are_answered():
    found = bench_list(job(red("W1", None), red("W2"), stock=(reel(9.0),)))
    assert found.unmeasured == ("W1",)
    assert [cut.wire for cut in found.wires[0].reel.cuts] == ["W2"]
