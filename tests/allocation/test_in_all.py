"""What all ways out have in common is told once."""

from __future__ import annotations

from loomwright.allocation.way_edits import Change
from loomwright.allocation.way_records import InAll, WayCost, WayOut, in_all_of

COST = WayCost(pins=0, wires=0, parts=(), minutes=1.0, price=None, currency="", unpriced=())


def way(changes: str, loses: str = "") -> WayOut:
    made = tuple(Change(kind="leave out", needs=(one,), says=one, loses="") for one in changes.split())
    return WayOut(changes=made, says="; ".join(changes.split()), cost=COST, loses=tuple(loses.split()), pins={})


def test_changes_and_losses_of_all_are_told_apart_from_those_of_each():
    ways = (way("pair relay pull", "spark turn"), way("pull pair share", "spark once"), way("pair pull drop", "spark"))
    shared = in_all_of(ways)
    assert shared == InAll(changes=("pair", "pull"), loses=("spark",))
    assert [shared.beside(one) for one in ways] == [
        (("relay",), ("turn",)),
        (("share",), ("once",)),
        (("drop",), ()),
    ]


def test_one_way_alone_is_told_whole():
    assert in_all_of((way("pair", "spark"),)) == InAll()
    assert in_all_of(()) == InAll()
    assert InAll().beside(way("pair", "spark")) == (("pair",), ("spark",))
