"""Labels: one an end, the point at this end first; what stays in the car keeps its tag."""

from __future__ import annotations

from loomwright.job.job import Job
from loomwright.job.rows import Wire
from loomwright.loom.labels import labels_of

WIRE = Wire(id="W2", from_="F1.2", to="fan.+", colour="RD/WH", size_mm2=2.5, circuit="fan")


def test_each_wire_has_a_label_an_end_and_each_says_where_it_is_and_where_the_other_end_is():
    told = [(one.wire, one.end, one.here, one.there) for one in labels_of(Job(wires=(WIRE,)))]
    assert told == [("W2", "from", "F1.2", "fan.+"), ("W2", "to", "fan.+", "F1.2")]


def test_a_label_carries_colour_and_size_and_an_open_size_is_left_out():
    label = labels_of(Job(wires=(WIRE,)))[0]
    assert (label.colour, label.size, label.circuit) == ("RD/WH", "2.5 mm²", "fan")
    assert labels_of(Job(wires=(Wire(id="W1"),)))[0].size == ""


def test_labels_come_in_order_of_wire_and_not_for_what_stays_or_is_gone():
    wires = tuple(Wire(id=f"W{n}", fitted=word) for n, word in ((10, "new"), (9, "donor"), (8, "kept"), (7, "removed")))
    assert [one.wire for one in labels_of(Job(wires=wires))] == ["W9", "W9", "W10", "W10"]
