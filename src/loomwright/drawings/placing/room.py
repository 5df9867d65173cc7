"""What does a unit keep free on the page, and what do all units share when they are measured?

A pin keeps room on both sides of itself; the pins of a side keep apart by the numbers that stand between them. The
records here are filled by `shapes` and `shapes_boxes`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from loomwright.drawings.content.sketch import Side, Unit
from loomwright.drawings.placing.grid import Pin
from loomwright.drawings.placing.lettering import PLUG, STYLES, TERMINAL, WordLine

__all__ = [
    "BAR_MM",
    "PAD_MM",
    "PIN_MM",
    "PLUG_ZONE_MM",
    "PORT_ZONE_MM",
    "ROW_MM",
    "TEXT_GAP_MM",
    "Ports",
    "Room",
    "Shape",
    "SidePorts",
    "main_pin",
    "number_mm",
    "pins_of",
    "plug_mm",
    "plugged_mm",
    "rooms_at",
    "spread_pins",
    "terminal_mm",
    "tight_ports",
]

Ports = Mapping[tuple[int, Side], Sequence[tuple[int, tuple[Pin, ...]]]]
"""(unit, side) -> its ports left to right, each with its pins."""

SidePorts = Sequence[tuple[int, tuple[Pin, ...]]]
"""The ports of one side."""

TEXT_GAP_MM = 1.5
"""Between a symbol and its words. [mm]"""

PORT_ZONE_MM = 3.0
"""Room for a terminal's number beside its lead. [mm]"""

PLUG_ZONE_MM = 2.8
"""Room for the bar of a connector outside a port. [mm]"""

PAD_MM = 2.6
"""From the outermost pin of a box to its side. [mm]"""

PIN_MM = 1.4
"""Half of what a pin needs for itself. [mm]"""

BAR_MM = 1.6
"""How far a bar reaches beyond its outermost pins. [mm]"""

ROW_MM = 3.3
"""From position to position in a switch's table. [mm]"""

_BAR_LIMIT_MM = 70.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """What a pin keeps free of other units. left_mm, right_mm: on each side of it. [mm]"""

    pin: Pin
    left_mm: float
    right_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """One unit measured.

    up_mm, down_mm: from the row's middle to its upper and lower ports. [mm]
    top_mm, bottom_mm: how far everything of it reaches from there. [mm]
    lines: its words.   wide_mm, high_mm: how large they are together. [mm]
    rooms: what its pins keep free.   apart: neighbouring pins of one side and how far apart they must be at least.
    least_mm: of a box, how wide it is at least. [mm]   core: the pin its symbol hangs on, where it has one.
    same: pins that must stand on one line.   fond: pins that had better.
    tight: pins that may not be drawn far apart, and how far. [mm]   raised: ports that lie elsewhere than the others of
    their side, and where, down from the row's middle. [mm]
    """

    up_mm: float
    down_mm: float
    top_mm: float
    bottom_mm: float
    lines: tuple[WordLine, ...]
    wide_mm: float
    high_mm: float
    rooms: tuple[Room, ...]
    apart: tuple[tuple[Pin, Pin, float], ...] = ()
    least_mm: float = 0.0
    core: Pin | None = None
    same: tuple[tuple[Pin, Pin], ...] = ()
    fond: tuple[tuple[Pin, Pin], ...] = ()
    tight: tuple[tuple[tuple[Pin, ...], float], ...] = ()
    raised: tuple[tuple[int, float], ...] = ()

    def port_mm(self, port: int, side: Side) -> float:
        """How far down from the row's middle a port lies. [mm]"""
        for number, down_mm in self.raised:
            if number == port:
                return down_mm
        return -self.up_mm if side == "upper" else self.down_mm


def main_pin(pins: Sequence[Pin]) -> Pin:
    """Of a port's pins, the one its lead is drawn at: the middle one of those that lead to no arrow.

    Example:
        >>> main_pin([("slot", 1, 0), ("slot", 2, 0), ("slot", 3, 0)])
        ('slot', 2, 0)
    """
    straight = [pin for pin in pins if pin[0] != "stub"] or pins
    return straight[(len(straight) - 1) // 2]


def number_mm(lines: Sequence[WordLine]) -> float:
    """How much room a supply's number takes before its words. [mm]"""
    return sum(STYLES["number"].long_mm(str(line.pieces[0])) + 1.6 for line in lines if line.style == "number")


def pins_of(side: SidePorts) -> tuple[Pin, ...]:
    """All pins of a side, left to right."""
    return tuple(pin for _, pins in side for pin in pins)


def tight_ports(upper: SidePorts, lower: SidePorts) -> tuple[tuple[tuple[Pin, ...], float], ...]:
    """The wires of one terminal stay together: a bar that crosses the page would be read as a wire."""
    return tuple(
        (pins, _BAR_LIMIT_MM * (len(pins) - 1)) for side in (upper, lower) for _, pins in side if len(pins) > 1
    )


def terminal_mm(unit: Unit, port: int) -> float:
    """Room to the left of a lead for its terminal's number. [mm]"""
    text = unit.ports[port].terminal
    return TERMINAL.long_mm(text) + 1.2 if text else 0.6


def plug_mm(unit: Unit, port: int) -> float:
    """Room to the left of a lead for the name of its connector. [mm]"""
    plug = unit.ports[port].plug
    return PLUG.long_mm(plug) + 2.6 if plug else 0.0


def plugged_mm(unit: Unit, side: Side) -> float:
    """Room outside the ports of a side for the bars of connectors. [mm]"""
    return PLUG_ZONE_MM if any(port.plug for port in unit.ports if port.side == side) else 0.0


def spread_pins(unit: Unit, side: SidePorts, more: Mapping[int, float] | None = None) -> list[tuple[Pin, Pin, float]]:
    """Neighbouring pins: those of one port close, those of two apart enough for the words at the second one."""
    found: list[tuple[Pin, Pin, float]] = []
    before: Pin | None = None
    last_port = -1
    for port, pins in side:
        for count, pin in enumerate(pins):
            if before is not None:
                need = 2 * PIN_MM
                if not count:
                    need = max(need, PIN_MM + terminal_mm(unit, port), PIN_MM + plug_mm(unit, port))
                    if more is not None:
                        need = max(need, more.get(last_port, 0.0) + more.get(port, 0.0) + 1.2)
                found.append((before, pin, need))
            before, last_port = pin, port
    return found


def rooms_at(unit: Unit, side: SidePorts) -> list[Room]:
    """What the pins of a side keep free, the first with the number of its terminal."""
    rooms = []
    for number, (port, pins) in enumerate(side):
        for count, pin in enumerate(pins):
            left = max(PIN_MM, terminal_mm(unit, port), plug_mm(unit, port)) if not count and not number else PIN_MM
            rooms.append(Room(pin=pin, left_mm=left, right_mm=PIN_MM))
    return rooms
