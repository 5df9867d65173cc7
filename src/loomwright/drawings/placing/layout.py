"""Where on the page is everything of one sheet?

Sketch in, `Laid` out: rows and channels (`grid`), order (`ordering`), places across (`spacing`), corners of the wires
(`channels`), and from these the heights: every row as high as its tallest unit, every channel as high as the labels
and levels in it, and what is left of the page dealt out to the channels.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from loomwright.drawings.content.sketch import Sketch
from loomwright.drawings.content.wiring import Wiring
from loomwright.drawings.placing.channels import Bend, bends_of
from loomwright.drawings.placing.grid import Grid, Pin, grid_of
from loomwright.drawings.placing.lettering import LABEL_GAP_MM, label_box_mm
from loomwright.drawings.placing.ordering import Order, order_of
from loomwright.drawings.placing.room import Shape
from loomwright.drawings.placing.rows import rows_of
from loomwright.drawings.placing.shapes import shape_of
from loomwright.drawings.placing.spacing import spread_mm

__all__ = ["LEVEL_MM", "Channel", "LabelSpot", "Laid", "laid_out", "stretched"]

LEVEL_MM = 2.6
"""From level to level of a channel. [mm]"""

_MARGIN_MM = 1.4
_LABEL_MARGIN_MM = 1.3
_MOST_MORE_MM = 36.0
_MOST_WIDER = 1.35
_LOW_PART = 0.7


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelSpot:
    """Where a wire's label stands: beside which pin, on the upper or the lower edge of which channel."""

    link: int
    pin: Pin
    channel: int
    above: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Channel:
    """One channel from top to bottom.

    top_mm, bottom_mm: its edges. [mm]   level_mm: its first level. [mm]   upper_mm, lower_mm: where labels begin. [mm]
    """

    top_mm: float
    bottom_mm: float
    level_mm: float
    upper_mm: float
    lower_mm: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Laid:
    """One sheet laid out from its own upper left corner.

    wide_mm, high_mm: how large. [mm]   at: where every pin is across. [mm]   middles: of the rows, down. [mm]
    """

    sketch: Sketch
    grid: Grid
    order: Order
    shapes: tuple[Shape, ...]
    at: Mapping[Pin, float]
    bends: tuple[tuple[Bend, ...], ...]
    levels: tuple[int, ...]
    labels: tuple[LabelSpot, ...]
    wide_mm: float
    high_mm: float
    middles_mm: tuple[float, ...]
    channels: tuple[Channel, ...]


def laid_out(wiring: Wiring, sketch: Sketch) -> Laid:
    """A sheet at its smallest."""
    grid = grid_of(sketch, rows_of(sketch))
    order = order_of(grid)
    shapes = tuple(shape_of(number, unit, order.ports, sketch.circuit) for number, unit in enumerate(sketch.units))
    labels = _labels(grid)
    boxes = {spot.pin: label_box_mm(wiring.wires[sketch.links[spot.link].wire]) for spot in labels}
    wide = {pin: LABEL_GAP_MM + box[0] + 0.6 for pin, box in boxes.items()}
    at, wide_mm = spread_mm(grid, order, shapes, wide)
    corners = [bends_of(nets, at) for nets in grid.nets]
    laid = Laid(
        sketch=sketch,
        grid=grid,
        order=order,
        shapes=shapes,
        at=at,
        bends=tuple(found for found, _ in corners),
        levels=tuple(count for _, count in corners),
        labels=labels,
        wide_mm=wide_mm,
        high_mm=0.0,
        middles_mm=(),
        channels=(),
    )
    return _with_heights(laid, {pin: box[1] for pin, box in boxes.items()}, 0.0)


def stretched(wiring: Wiring, laid: Laid, *, wide_mm: float, high_mm: float) -> Laid:
    """The same sheet pulled apart towards a size, as far as it looks well.

    Args:
        wide_mm: how wide it may become. [mm]
        high_mm: how high it may become. [mm]
    """
    factor = max(1.0, min(wide_mm / laid.wide_mm, _MOST_WIDER)) if laid.wide_mm else 1.0
    at = MappingProxyType({pin: x * factor for pin, x in laid.at.items()})
    corners = [bends_of(nets, at) for nets in laid.grid.nets]
    wider = replace(
        laid,
        at=at,
        bends=tuple(found for found, _ in corners),
        levels=tuple(count for _, count in corners),
        wide_mm=laid.wide_mm * factor,
    )
    heights = {spot.pin: label_box_mm(wiring.wires[laid.sketch.links[spot.link].wire])[1] for spot in laid.labels}
    used = [number for number, nets in enumerate(laid.grid.nets) if nets]
    more = max(0.0, min(_MOST_MORE_MM, (high_mm - laid.high_mm) / max(1, len(used))))
    return _with_heights(wider, heights, more)


def _labels(grid: Grid) -> tuple[LabelSpot, ...]:
    """Each wire's label: at its lower end where it comes down to one, else where it goes up from its first."""
    found: dict[int, LabelSpot] = {}
    upper: dict[int, LabelSpot] = {}
    for channel, nets in enumerate(grid.nets):
        for net in nets:
            if not grid.sketch.links[net.link].wire:
                continue
            for pin, above in zip(net.pins, net.above, strict=True):
                spot = LabelSpot(link=net.link, pin=pin, channel=channel, above=above)
                if above:
                    upper.setdefault(net.link, spot)
                else:
                    found[net.link] = spot
    return tuple(found.get(link) or upper[link] for link in sorted({*found, *upper}))


def _with_heights(laid: Laid, heights: Mapping[Pin, float], more: float) -> Laid:
    grid = laid.grid
    tops = [0.0] * grid.rows
    bottoms = [0.0] * grid.rows
    for number, shape in enumerate(laid.shapes):
        row = grid.row_of[number]
        tops[row] = max(tops[row], shape.top_mm)
        bottoms[row] = max(bottoms[row], shape.bottom_mm)
    channels = []
    middles = []
    down = 0.0
    for number, nets in enumerate(grid.nets):
        labels = [spot for spot in laid.labels if spot.channel == number]
        upper = max((heights[spot.pin] + _LABEL_MARGIN_MM for spot in labels if spot.above), default=0.0)
        lower = max((heights[spot.pin] + _LABEL_MARGIN_MM for spot in labels if not spot.above), default=0.0)
        levels = laid.levels[number]
        extra = more if nets else 0.0
        # a channel with nothing but straight leads needs little
        rest = max(0.0, levels - 1) * LEVEL_MM + (2 * _MARGIN_MM if levels else 0.6 if nets else 0.0)
        top = down
        level = top + upper + extra * _LOW_PART + (_MARGIN_MM if levels else 0.3)
        down = top + upper + rest + extra + lower
        channels.append(
            Channel(
                top_mm=top,
                bottom_mm=down,
                level_mm=level,
                upper_mm=top + _LABEL_MARGIN_MM / 2,
                lower_mm=down - lower + _LABEL_MARGIN_MM / 2,
            )
        )
        if number < grid.rows:
            middles.append(down + tops[number])
            down += tops[number] + bottoms[number]
    return replace(laid, high_mm=down, middles_mm=tuple(middles), channels=tuple(channels))
