"""The strokes and words of joints, supplies, earths and arrows.

Wires reach the bar of a joint or of a supply line; the number of the terminal stands beside the wire there.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from loomwright.drawings.content.sketch import SIDES, Side
from loomwright.drawings.painting.spot import (
    BAR_LINE_MM,
    Spot,
    lead,
    plugs_at,
    port_bar,
    ring,
    stacked,
    stroke,
    terminal_number,
    words_beside,
)
from loomwright.drawings.placing.lettering import STYLES, TERMINAL, printed
from loomwright.drawings.placing.room import BAR_MM, TEXT_GAP_MM, number_mm
from loomwright.drawings.symbols.items import Circle, Item, Polyline

__all__ = ["ENDS"]

_HEAVY_MM = 0.7


def _number_outside(spot: Spot, port: int, side: Side, x: float, y: float) -> list[Item]:
    """The number of a terminal on a bar, outside the bar, beside the wire."""
    text = spot.unit.ports[port].terminal
    down = y + (2.5 if side == "lower" else -1.2)
    return [TERMINAL.text(text, x - 1.0, down, anchor="end", about=spot.unit.about)] if text else []


def _bar(spot: Spot) -> list[Item]:
    unit = spot.unit
    xs = [spot.at[pin] for side in SIDES for _, pins in spot.side(side) for pin in pins]
    left, right = min(xs), max(xs)
    splice = unit.symbol == "splice"
    reach = 0.0 if splice and len(set(xs)) == 1 else 0.0 if splice else BAR_MM
    items: list[Item] = []
    if right > left or not splice:
        items.append(stroke(left - reach, spot.y_mm, right + reach, spot.y_mm, 0.45 if splice else 1.3, unit.about))
    for side in SIDES:
        for port, pins in spot.side(side):
            for count, pin in enumerate(pins):
                x = spot.at[pin]
                items.append(
                    Circle(
                        x_mm=x,
                        y_mm=spot.y_mm,
                        radius_mm=0.85 if splice else 0.6,
                        width_mm=0.25,
                        fill="ink" if splice else "paper",
                        about=unit.about,
                    )
                )
                if not count:
                    items += _number_outside(spot, port, side, x, spot.y_mm)
        items += plugs_at(spot, side)
    return items + words_beside(spot, right + BAR_MM + TEXT_GAP_MM)


def _supply(spot: Spot) -> list[Item]:
    unit = spot.unit
    pins = [pin for _, found in spot.side("lower") for pin in found]
    left, right = spot.at[pins[0]] - BAR_MM, spot.at[pins[-1]] + BAR_MM
    end = max(right, left + spot.shape.wide_mm)
    items: list[Item] = [stroke(left, spot.y_mm, end, spot.y_mm, _HEAVY_MM, unit.about)]
    if unit.symbol == "old_feed":
        # what lies behind is not opened: the line is broken off
        items.append(stroke(left - 0.2, spot.y_mm - 1.0, left + 0.8, spot.y_mm + 1.0, 0.3, unit.about))
    for port, found in spot.side("lower"):
        for count, pin in enumerate(found):
            x = spot.at[pin]
            items.append(Circle(x_mm=x, y_mm=spot.y_mm, radius_mm=0.8, width_mm=0.2, fill="ink", about=unit.about))
            if not count:
                items += _number_outside(spot, port, "lower", x, spot.y_mm)
    top = spot.y_mm - 1.4 - spot.shape.high_mm
    number = [line for line in spot.shape.lines if line.style == "number"]
    for line in number:
        how = STYLES["number"]
        items.append(how.text(printed(line, spot.circuit), left, top + 0.72 * how.line_mm, about=unit.about))
    rest = [line for line in spot.shape.lines if line.style != "number"]
    return items + stacked(spot, rest, left + number_mm(spot.shape.lines), top, "start")


def _battery(spot: Spot) -> list[Item]:
    unit, core = spot.unit, spot.shape.core
    assert core is not None
    x, y = spot.at[core], spot.y_mm
    bar_y = y - (spot.shape.down_mm - 0.4)
    live = [(port, pins) for port, pins in spot.side("lower") if port == 0]
    xs = [spot.at[pin] for _, pins in live for pin in pins]
    left, right = min([x, *xs]) - BAR_MM, max([x, *xs]) + BAR_MM
    items: list[Item] = [stroke(left, bar_y, right, bar_y, _HEAVY_MM, unit.about)]
    plates = (-1.9, -0.6, 0.6, 1.9) if not unit.turned else (1.9, 0.6, -0.6, -1.9)
    for number, level in enumerate(plates):
        half, width = (3.0, 0.3) if number % 2 == 0 else (1.4, 0.8)
        items.append(stroke(x - half, y + level, x + half, y + level, width, unit.about))
    items += lead(x, bar_y, y - 1.9, unit.about) + lead(x, y + 1.9, spot.port_mm("lower"), unit.about)
    items.append(Circle(x_mm=x, y_mm=bar_y, radius_mm=0.6, width_mm=0.2, fill="ink", about=unit.about))
    for port, pins in spot.side("lower"):
        for pin in pins:
            if port == 0:
                items.append(
                    Circle(x_mm=spot.at[pin], y_mm=bar_y, radius_mm=0.8, width_mm=0.2, fill="ink", about=unit.about)
                )
        if port == 0:
            items += _number_outside(spot, port, "lower", spot.at[pins[0]], bar_y)
        else:
            low, across = spot.port_mm("lower"), [spot.at[pin] for pin in pins]
            ends = min(x, *across), max(x, *across)
            if ends[0] < ends[1]:  # a second strap on the earthed post
                items.append(stroke(ends[0], low, ends[1], low, BAR_LINE_MM, unit.about))
            items += [ring(each, low, unit.about) for each in across]
            items += terminal_number(spot, port, "lower", x_mm=x)
    for line in spot.shape.lines:
        if line.style == "number":
            items.append(STYLES["number"].text(printed(line, spot.circuit), left, bar_y - 1.9, about=unit.about))
    return items + words_beside(spot, x + 3.0 + TEXT_GAP_MM, y_mm=y)


def _earth(spot: Spot) -> list[Item]:
    unit, core = spot.unit, spot.shape.core
    assert core is not None
    x, y = spot.at[core], spot.y_mm
    items = lead(x, spot.port_mm("upper"), y, unit.about)
    for half, down in ((2.4, 0.0), (1.6, 0.8), (0.8, 1.6)):
        items.append(stroke(x - half, y + down, x + half, y + down, 0.35, unit.about))
    items += port_bar(spot, "upper") + plugs_at(spot, "upper")
    items += terminal_number(spot, 0, "upper", x_mm=x)
    return items + stacked(spot, spot.shape.lines, x, y + 3.0, "middle")


def _post(spot: Spot) -> list[Item]:
    unit, core = spot.unit, spot.shape.core
    assert core is not None
    x, y = spot.at[core], spot.y_mm
    items: list[Item] = [*lead(x, spot.port_mm("upper"), y - 1.0, unit.about)]
    items.append(Circle(x_mm=x, y_mm=y, radius_mm=1.0, about=unit.about))
    items += port_bar(spot, "upper") + terminal_number(spot, 0, "upper", x_mm=x)
    return items + stacked(spot, spot.shape.lines, x, y + 1.8, "middle")


def _arrow(spot: Spot) -> list[Item]:
    unit, core = spot.unit, spot.shape.core
    assert core is not None
    x, y = spot.at[core], spot.y_mm
    down = bool(spot.side("upper"))
    way = 1.0 if down else -1.0
    start = spot.port_mm("upper" if down else "lower")
    tip = y + 0.4 * way
    items: list[Item] = [*lead(x, start, tip - 1.0 * way, unit.about)]
    items.append(
        Polyline(
            points_mm=((x, tip), (x - 0.8, tip - 1.9 * way), (x + 0.8, tip - 1.9 * way)),
            closed=True,
            fill="ink",
            width_mm=0.0,
            about=unit.about,
        )
    )
    high = sum(STYLES[line.style].line_mm for line in spot.shape.lines)
    top = tip + 0.8 if down else tip - 0.8 - high
    return items + stacked(spot, spot.shape.lines, x, top, "middle")


def _free(spot: Spot) -> list[Item]:
    unit, core = spot.unit, spot.shape.core
    assert core is not None
    x, y = spot.at[core], spot.y_mm
    down = bool(spot.side("upper"))
    start = spot.port_mm("upper" if down else "lower")
    items: list[Item] = [*lead(x, start, y + (-0.6 if down else 0.6), unit.about)]
    items.append(Circle(x_mm=x, y_mm=y, radius_mm=0.6, fill="paper", about=unit.about))
    high = sum(STYLES[line.style].line_mm for line in spot.shape.lines)
    return items + stacked(spot, spot.shape.lines, x, y + 1.4 if down else y - 1.4 - high, "middle")


ENDS: Mapping[str, Callable[[Spot], list[Item]]] = {
    "bar": _bar,
    "line": _supply,
    "battery": _battery,
    "earth": _earth,
    "post": _post,
    "arrow": _arrow,
    "free": _free,
}
"""Form of a unit -> what paints it."""
