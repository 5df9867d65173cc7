"""Where can each link run between the rows, and which pins stand side by side?

The page is rows of units with channels between them: channel c lies above row c. A link leaves its unit into the
channel above or below and goes straight through every row between its two channels. Where it meets a row it has a
*pin*: at a unit's port, or in passing. Each channel therefore sees every link in it as two pins, each on its upper or
its lower edge.

    ("slot", link, end)   at a port        ("stub", link, end)    at a port, to an arrow
    ("pass", link, row)   in passing       ("none", unit, port)   an open port
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from loomwright.drawings.content.sketch import End, Side, Sketch

__all__ = ["Cell", "Grid", "Net", "Pin", "end_pin", "grid_of", "port_pins"]

Pin = tuple[Literal["slot", "stub", "pass", "none"], int, int]
Cell = tuple[Literal["unit", "pass"], int]
"""A unit by its number, or a link in passing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Net:
    """A link in one channel: its two pins, and whether each is on the channel's upper edge."""

    link: int
    pins: tuple[Pin, Pin]
    above: tuple[bool, bool]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Grid:
    """The rows and channels of a sketch.

    rows: how many. [-]   row_of: of each unit.   nets: channel by channel, one more than there are rows.
    passing: row by row, the links that go through it.   slots: (unit, port, side) -> its pins.
    """

    sketch: Sketch
    rows: int
    row_of: tuple[int, ...]
    nets: tuple[tuple[Net, ...], ...]
    passing: tuple[tuple[int, ...], ...]
    slots: Mapping[tuple[int, int, Side], tuple[Pin, ...]]


def grid_of(sketch: Sketch, row_of: Sequence[int]) -> Grid:
    """The rows and channels of a sketch whose units have their rows."""
    rows = max(row_of, default=0) + 1
    nets: list[list[Net]] = [[] for _ in range(rows + 1)]
    passing: list[list[int]] = [[] for _ in range(rows)]
    slots: dict[tuple[int, int, Side], list[Pin]] = {}
    for number, link in enumerate(sketch.links):
        ends = [end_pin(sketch, number, 0), end_pin(sketch, number, 1)]
        channels = [_channel(end, row_of) for end in link.ends]
        for pin, end in zip(ends, link.ends, strict=True):
            slots.setdefault((end.unit, end.port, end.side), []).append(pin)
        if channels[0] > channels[1]:
            ends, channels = ends[::-1], channels[::-1]
        first, last = channels
        at = {pin: link.ends[pin[2]].side == "lower" for pin in ends}
        if first == last:
            nets[first].append(_net(number, ends[0], ends[1], at[ends[0]], at[ends[1]]))
            continue
        for row in range(first, last):
            passing[row].append(number)
        nets[first].append(_net(number, ends[0], ("pass", number, first), at[ends[0]], False))
        for channel in range(first + 1, last):
            nets[channel].append(_net(number, ("pass", number, channel - 1), ("pass", number, channel), True, False))
        nets[last].append(_net(number, ("pass", number, last - 1), ends[1], True, at[ends[1]]))
    for number, unit in enumerate(sketch.units):
        for count, port in enumerate(unit.ports):
            if not any((number, count, side) in slots for side in ("upper", "lower")):
                slots[number, count, port.side] = [("none", number, count)]
    return Grid(
        sketch=sketch,
        rows=rows,
        row_of=tuple(row_of),
        nets=tuple(tuple(found) for found in nets),
        passing=tuple(tuple(found) for found in passing),
        slots={key: tuple(found) for key, found in slots.items()},
    )


def end_pin(sketch: Sketch, link: int, end: int) -> Pin:
    """The pin of a link's end at its port."""
    other = sketch.links[link].ends[1 - end]
    return ("stub" if sketch.units[other.unit].form == "arrow" else "slot", link, end)


def port_pins(grid: Grid, unit: int, side: Side) -> list[tuple[int, tuple[Pin, ...]]]:
    """The ports of a unit on one side that have pins there, each with them."""
    return [
        (port, pins)
        for port in range(len(grid.sketch.units[unit].ports))
        if (pins := grid.slots.get((unit, port, side), ()))
    ]


def _net(link: int, one: Pin, other: Pin, one_above: bool, other_above: bool) -> Net:
    return Net(link=link, pins=(one, other), above=(one_above, other_above))


def _channel(end: End, row_of: Sequence[int]) -> int:
    return row_of[end.unit] if end.side == "upper" else row_of[end.unit] + 1
