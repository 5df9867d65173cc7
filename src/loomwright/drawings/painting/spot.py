"""What do all units share when they are painted: where they are, their terminals, their words?

Terminal numbers stand to the left of their leads, a bar joins the wires of one terminal, connectors are small bars
across the wires that pass into them, words stand to the right.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from loomwright.drawings.content.sketch import Link, Ref, Side, Unit
from loomwright.drawings.placing.grid import Pin
from loomwright.drawings.placing.lettering import PLUG, STYLES, TERMINAL, WordLine, printed
from loomwright.drawings.placing.room import Ports, Shape, main_pin
from loomwright.drawings.symbols.items import Anchor, Box, Circle, Item, Line

__all__ = [
    "Place",
    "Spot",
    "lead",
    "plugs_at",
    "port_bar",
    "ring",
    "stacked",
    "stroke",
    "terminal_number",
    "words_beside",
]

Place = Callable[[Ref], str]

_RING_MM = 0.55
BAR_LINE_MM = 0.45


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """Where a unit is painted.

    y_mm: the middle of its row. [mm]   at: where every pin is. [mm]   ports: of the drawing's order.
    place: track of a reference.   circuit: the drawing's.
    """

    number: int
    unit: Unit
    links: Sequence[Link]
    shape: Shape
    y_mm: float
    at: Mapping[Pin, float]
    ports: Ports
    place: Place
    circuit: str

    def side(self, side: Side) -> Sequence[tuple[int, tuple[Pin, ...]]]:
        """The ports of one side, left to right, with their pins."""
        return self.ports[self.number, side]

    def main_mm(self, port: int, side: Side) -> float:
        """Where the lead of a port is. [mm]"""
        return next(self.at[main_pin(pins)] for number, pins in self.side(side) if number == port)

    def port_mm(self, side: Side) -> float:
        """How far down the ports of a side are. [mm]"""
        return self.y_mm - self.shape.up_mm if side == "upper" else self.y_mm + self.shape.down_mm


def ring(x_mm: float, y_mm: float, about: str) -> Circle:
    """The ring of a terminal.

    Args:
        x_mm: across. [mm]
        y_mm: down. [mm]
    """
    return Circle(x_mm=x_mm, y_mm=y_mm, radius_mm=_RING_MM, width_mm=0.25, fill="paper", about=about)


def port_bar(spot: Spot, side: Side) -> list[Item]:
    """The rings along a side, and a bar where several wires share a terminal. A case on its metal has none."""
    items: list[Item] = []
    y_mm = spot.port_mm(side)
    for port, pins in spot.side(side):
        xs = [spot.at[pin] for pin in pins]
        if len(xs) > 1:
            items.append(stroke(min(xs), y_mm, max(xs), y_mm, BAR_LINE_MM, spot.unit.about))
        named = bool(spot.unit.ports[port].terminal)
        items.extend(ring(spot.at[pin], y_mm, spot.unit.about) for pin in pins if named or _is_wire(spot, pin))
    return items


def _is_wire(spot: Spot, pin: Pin) -> bool:
    return pin[0] in ("slot", "stub") and bool(spot.links[pin[1]].wire)


def terminal_number(spot: Spot, port: int, side: Side, *, x_mm: float | None = None) -> list[Item]:
    """A terminal's number, to the left of its lead, between port and symbol.

    Args:
        x_mm: where the lead is; left out, at the port's middle pin. [mm]
    """
    text = spot.unit.ports[port].terminal
    if not text:
        return []
    x = spot.main_mm(port, side) if x_mm is None else x_mm
    y = spot.port_mm(side) + (2.15 if side == "upper" else -1.15)
    return [TERMINAL.text(text, x - 0.8, y, anchor="end", about=spot.unit.about)]


def plugs_at(spot: Spot, side: Side) -> list[Item]:
    """The bars of connectors outside the ports of a side, one across all neighbouring wires of a connector."""
    items: list[Item] = []
    y = spot.port_mm(side) + (-1.7 if side == "upper" else 1.7)
    group: list[float] = []
    name = ""
    for port, pins in (*spot.side(side), (-1, ())):
        plug = spot.unit.ports[port].plug if port >= 0 else ""
        if plug != name or port < 0:
            if name:
                left, right = min(group) - 1.0, max(group) + 1.0
                items.append(
                    Box(
                        x_mm=left,
                        y_mm=y - 0.45,
                        width_mm=right - left,
                        height_mm=0.9,
                        line_mm=0.25,
                        fill="paper",
                        about=name,
                    )
                )
                items.append(PLUG.text(name, left - 0.5, y + 0.6, anchor="end", about=name))
            group, name = [], plug
        group.extend(spot.at[pin] for pin in pins)
    return items


def words_beside(
    spot: Spot, x_mm: float, *, y_mm: float | None = None, lines: Sequence[WordLine] | None = None
) -> list[Item]:
    """The words of a unit from a place to the right.

    Args:
        x_mm: where they begin. [mm]
        y_mm: their middle; left out, that of the row. [mm]
    """
    said = [line for line in (spot.shape.lines if lines is None else lines) if line.style != "number"]
    high = sum(STYLES[line.style].line_mm for line in said)
    return stacked(spot, said, x_mm, (spot.y_mm if y_mm is None else y_mm) - high / 2, "start")


def stacked(spot: Spot, lines: Sequence[WordLine], x_mm: float, top_mm: float, anchor: Anchor) -> list[Item]:
    """Lines of words one under the other.

    Args:
        x_mm: where they stand, at the anchor. [mm]
        top_mm: where the first begins. [mm]
    """
    items: list[Item] = []
    for line in lines:
        how = STYLES[line.style]
        text = printed(line, spot.circuit, spot.place)
        items.append(how.text(text, x_mm, top_mm + 0.78 * how.line_mm, anchor=anchor, about=spot.unit.about))
        top_mm += how.line_mm
    return items


def stroke(x1_mm: float, y1_mm: float, x2_mm: float, y2_mm: float, width_mm: float, about: str) -> Line:
    """A straight stroke between two points of the page.

    Args:
        x1_mm: where it begins, across. [mm]
        y1_mm: where it begins, down. [mm]
        x2_mm: where it ends, across. [mm]
        y2_mm: where it ends, down. [mm]
        width_mm: how thick. [mm]
    """
    return Line(x1_mm=x1_mm, y1_mm=y1_mm, x2_mm=x2_mm, y2_mm=y2_mm, width_mm=width_mm, about=about)


def lead(x_mm: float, y1_mm: float, y2_mm: float, about: str) -> list[Item]:
    """A lead straight down; none where it would have no length.

    Args:
        x_mm: across. [mm]
        y1_mm: where it begins. [mm]
        y2_mm: where it ends. [mm]
    """
    return [stroke(x_mm, y1_mm, x_mm, y2_mm, 0.3, about)] if abs(y1_mm - y2_mm) > 1e-6 else []
