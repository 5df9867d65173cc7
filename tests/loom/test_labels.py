"""Labels: one an end, the point at this end first; what stays in the car keeps its tag."""

from __future__ import annotations

import pytest

from loomwright.job.job import Job
from loomwright.job.rows import Wire
from loomwright.loom.cut_list import cut_list
from loomwright.loom.labels import labels_of

WIRE = Wire(id="W2", from_="F1.2", to="fan.+", colour="RD/WH", size_mm2=2.5, circuit="fan")


def test_each_wire_has_a_label_an_end_and_each_says_where_it_is_and_where_the_other_end_is():
    told = [(one.wire, one.end, one.here, one.there) for one in labels_of(Job(wires=(WIRE,)))]
    assert told == [("W2", "from", "F1.2", "fan.+"), ("W2", "to", "fan.+", "F1.2")]


def test_a_label_carries_colour_and_size_and_an_open_size_is_left_out():
    label = labels_of(Job(wires=(WIRE,)))[0]
    assert (label.colour, label.size, label.circuit) == ("RD/WH", "2.5 mm²", "fan")
    assert labels_of(Job(wires=(Wire(id="W1"),)))[0].size == ""


def test_labels_of_wires_without_a_length_come_in_order_of_wire_and_not_for_what_stays_or_is_gone():
    wires = tuple(Wire(id=f"W{n}", fitted=word) for n, word in ((10, "new"), (9, "donor"), (8, "kept"), (7, "removed")))
    assert [one.wire for one in labels_of(Job(wires=wires))] == ["W9", "W9", "W10", "W10"]


def test_labels_come_in_the_order_in_which_the_wires_come_off_the_reels():
    wires = (
        Wire(id="W1", colour="RD", size_mm2=2.5, length_mm=900.0),
        Wire(id="W2", colour="BK", size_mm2=0.5, length_mm=300.0),
        Wire(id="W3", colour="BK", size_mm2=0.5, length_mm=500.0),
        Wire(id="W4", fitted="donor"),
        Wire(id="W5", colour="BN", size_mm2=0.5, length_mm=800.0, cable="C1"),
    )
    cut = [one.wire for reel in cut_list(Job(wires=wires)).reels for one in reel.cuts]
    assert cut == ["W3", "W2", "W1"]
    assert [one.wire for one in labels_of(Job(wires=wires)) if one.end == "from"] == [*cut, "W4", "W5"]


@pytest.mark.parametrize(("size_mm2", "round_mm"), [(2.5, 9.4), (35.0, 36.4), (None, None), (95.0, None)])
def test_a_flag_knows_how_far_it_is_round_its_wire(size_mm2, round_mm):
    # outside diameters from memory: ISO 6722-1, 3.0 mm for 2.5 mm² thin wall, 11.6 mm for 35 mm² thick wall
    found = labels_of(Job(wires=(Wire(id="W1", size_mm2=size_mm2),)))[0].round_mm
    assert (None if found is None else round(found, 1)) == round_mm
