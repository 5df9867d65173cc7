"""A new wire takes the colour that the sheets give to what it leads."""

from __future__ import annotations

from typing import Any

import pytest

from loomwright.job.job import Job
from loomwright.job.new_colours import with_colours
from loomwright.job.rows import Metal, Part, Wire

PARTS = (
    Part(id="E1", kind="earth_point"),
    Part(id="BUS", kind="busbar"),
    Part(id="K1", kind="relay"),
    Part(id="F4", kind="fuse"),
    Part(id="P1", kind="fuel_pump"),
    Part(id="L1", kind="lamp"),
)
WIRES = (
    Wire(id="W1", circuit="pump", from_="F1.2", to="K1.30", colour="RD/GN"),
    Wire(id="W2", circuit="pump", from_="K1.87", to="P1.+", colour="GN/WH"),
    Wire(id="W3", circuit="pump", from_="K1.85", to="ECU.A1", colour="GN/BK"),
    Wire(id="W4", circuit="pump", from_="P1.-", to="E1.1", colour="BK"),
    Wire(id="W5", circuit="lights", from_="L1.2", to="body", colour="BK"),
    Wire(id="W6", from_="BUS.1", to="F1.1", colour="RD"),
    Wire(id="W7", from_="BUS.2", to="F2.1", colour="RD/YE"),
    Wire(id="W8", from_="BUS.3", to="F3.1", colour="RD"),
)


def coloured(*new: Wire, wires: tuple[Wire, ...] = WIRES, **more: Any) -> list[str]:
    job = with_colours(Job(parts=PARTS, wires=(*wires, *new), **more), {wire.id for wire in new})
    return [wire.colour for wire in job.wires[len(wires) :]]


@pytest.mark.parametrize(
    ("from_", "to", "colour"),
    [
        ("K9.30", "body", "BK"),
        ("K9.85", "E1.1", "BK"),
        ("wing", "L1.2", "BK"),
        ("P1.+", "CUT.1", "GN/WH"),
        ("BUS.9", "F9.1", "RD"),
        ("K9.30", "", "RD"),
        ("F4.2", "K9.30", "RD/BK"),
        ("K9.87", "SOL.1", "GN/BN"),
    ],
)
def test_it_is_that_of_earth_of_what_it_carries_on_of_a_feed_or_a_leg_of_its_circuit(from_, to, colour):
    assert coloured(Wire(id="W9", circuit="pump", from_=from_, to=to), metals=(Metal(id="wing"),)) == [colour]


def test_each_sees_those_before_it_and_what_has_a_colour_keeps_it():
    first, second = (Wire(id=f"W{n}", circuit="pump", from_=f"K9.{n}", to=f"S{n}.1") for n in (10, 11))
    kept = Wire(id="W12", circuit="pump", from_="K9.86", to="E1.1", colour="VT")
    assert coloured(first, second, kept) == ["GN/BN", "GN/RD", "VT"]


def test_wires_that_are_taken_out_say_nothing():
    removed = tuple(Wire(id=f"X{n}", from_=f"L{n}.2", to="body", colour="BU", fitted="removed") for n in range(5))
    assert coloured(Wire(id="W9", from_="K9.85", to="E1.1"), wires=(*WIRES, *removed)) == ["BK"]


def test_where_the_sheets_say_nothing_earth_is_brown_a_feed_red_and_a_leg_blank():
    new = (("K9.85", "body"), ("K9.30", ""), ("K9.87", "SOL.1"))
    wires = [Wire(id=f"W{n}", circuit="c", from_=start, to=end) for n, (start, end) in enumerate(new)]
    assert coloured(*wires, wires=()) == ["BN", "RD", ""]
