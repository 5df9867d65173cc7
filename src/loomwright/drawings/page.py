"""One page: the sheet in its frame, tracks numbered along the foot, the title strip under them.

A4, upright or lying; a sheet that fits on neither gets a page as large as it needs. The sheet is pulled apart as far
as it looks well and stands in the middle across, at the top down.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from loomwright.drawings.content.sketch import Ref
from loomwright.drawings.content.wiring import Wiring
from loomwright.drawings.painting.spot import Spot
from loomwright.drawings.painting.units import painted
from loomwright.drawings.painting.way_marks import ShownWay, drawn_back, step_marks
from loomwright.drawings.painting.wires import wire_items
from loomwright.drawings.placing.layout import Laid
from loomwright.drawings.placing.lettering import Lettering, circuit_word
from loomwright.drawings.symbols.items import Box, Item, Line, Track, moved
from loomwright.drawings.symbols.letters import wrapped

__all__ = ["A4", "FIELD_MARGIN_MM", "Title", "field_mm", "page_items", "track_lines", "unit_items"]

A4 = (210.0, 297.0)
"""Width and height of the page, upright. [mm]"""

FIELD_MARGIN_MM = 10.0
"""From the edge of the page to the frame. [mm]"""

_INSIDE_MM = 4.0
_RULER_MM = 5.5
_TRACK_APART_MM = 7.0
_HEAD = Lettering(size_mm=4.2, line_mm=5.0, font="figures", strong=True)
_NAME = Lettering(size_mm=3.2, line_mm=3.9)
_FIELD = Lettering(size_mm=2.1, line_mm=2.6, ink="soft")
_VALUE = Lettering(size_mm=2.7, line_mm=3.2, font="figures")
_TRACK = Lettering(size_mm=2.4, line_mm=2.8, font="figures")
_STRIP_MM = 13.0
_LEGEND = "beside each wire: its id, its size in mm², its colour"


@dataclass(frozen=True, slots=True, kw_only=True)
class Title:
    """What the title strip says. fields: (heading, words), left to right."""

    id: str
    name: str
    fields: tuple[tuple[str, str], ...]


def field_mm(width_mm: float, height_mm: float) -> tuple[float, float]:
    """How wide and high the field for a sheet is on a page of that size. [mm]

    Args:
        width_mm: of the page. [mm]
        height_mm: of the page. [mm]
    """
    edge = 2 * (FIELD_MARGIN_MM + _INSIDE_MM)
    return width_mm - edge, height_mm - edge - _RULER_MM - _STRIP_MM


def track_lines(laid: Laid) -> tuple[float, ...]:
    """Where the tracks of a sheet are: the lines with most of the ways on them, no two too near. [mm]"""
    weight: dict[float, float] = {}
    for spot in laid.labels:
        weight[laid.at[spot.pin]] = weight.get(laid.at[spot.pin], 0.0) + 10.0
    for nets in laid.grid.nets:
        for net in nets:
            for pin in net.pins:
                weight[laid.at[pin]] = weight.get(laid.at[pin], 0.0) + 1.0
    found: list[float] = []
    for x in sorted(weight, key=lambda x: (-weight[x], x)):
        if all(abs(x - other) >= _TRACK_APART_MM for other in found):
            found.append(x)
    return tuple(sorted(found))


def page_items(
    wiring: Wiring,
    laid: Laid,
    title: Title,
    *,
    width_mm: float,
    height_mm: float,
    scale: float,
    first_track: int,
    place: Callable[[Ref], str],
    way: ShownWay | None = None,
) -> tuple[tuple[Item, ...], tuple[Track, ...]]:
    """Everything on a page, and its tracks.

    Args:
        width_mm: of the page. [mm]
        height_mm: of the page. [mm]
        scale: how many times its own size the sheet is drawn. [-]
        first_track: the number of its first track. [-]
        place: where a reference leads.
        way: of a current, to be shown heavier; everything else is drawn back.
    """
    field_wide, _ = field_mm(width_mm, height_mm)
    left = FIELD_MARGIN_MM + _INSIDE_MM + (field_wide - laid.wide_mm * scale) / 2
    top = FIELD_MARGIN_MM + _INSIDE_MM
    tracks = tuple(
        Track(number=first_track + number, x_mm=round(left + x * scale, 3))
        for number, x in enumerate(track_lines(laid))
    )
    sheet: list[Item] = [*wire_items(wiring, laid)]
    for number in range(len(laid.sketch.units)):
        sheet.extend(unit_items(laid, number, place))
    if way is not None:
        marks = step_marks(sheet, way)
        sheet = [*(drawn_back(item, way) for item in sheet), *marks]
    items = [
        *_frame(width_mm, height_mm, tracks),
        *moved(sheet, x_mm=left, y_mm=top, factor=scale),
        *_strip(title, width_mm, height_mm),
    ]
    return tuple(items), tracks


def unit_items(laid: Laid, number: int, place: Callable[[Ref], str]) -> Sequence[Item]:
    """The strokes and words of one unit, in the sheet's own measure.

    Args:
        number: which unit of the sheet's sketch. [-]
        place: where a reference leads.
    """
    unit = laid.sketch.units[number]
    spot = Spot(
        number=number,
        unit=unit,
        links=laid.sketch.links,
        shape=laid.shapes[number],
        y_mm=laid.middles_mm[laid.grid.row_of[number]],
        at=laid.at,
        ports=laid.order.ports,
        place=place,
        circuit=laid.sketch.circuit,
    )
    return painted(spot)


def _frame(width_mm: float, height_mm: float, tracks: Sequence[Track]) -> list[Item]:
    left, right = FIELD_MARGIN_MM, width_mm - FIELD_MARGIN_MM
    bottom = height_mm - FIELD_MARGIN_MM
    ruler = bottom - _STRIP_MM - _RULER_MM
    items: list[Item] = [
        Box(x_mm=left, y_mm=FIELD_MARGIN_MM, width_mm=right - left, height_mm=bottom - FIELD_MARGIN_MM, line_mm=0.25),
        Line(x1_mm=left, y1_mm=ruler, x2_mm=right, y2_mm=ruler, width_mm=0.18, ink="soft"),
        Line(x1_mm=left, y1_mm=ruler + _RULER_MM, x2_mm=right, y2_mm=ruler + _RULER_MM, width_mm=0.25),
    ]
    for track in tracks:
        items.append(
            Line(x1_mm=track.x_mm, y1_mm=ruler - 1.2, x2_mm=track.x_mm, y2_mm=ruler, width_mm=0.18, ink="soft")
        )
        items.append(_TRACK.text(str(track.number), track.x_mm, ruler + 3.6, anchor="middle"))
    return items


def _strip(title: Title, width_mm: float, height_mm: float) -> list[Item]:
    left, right = FIELD_MARGIN_MM + 2.5, width_mm - FIELD_MARGIN_MM
    top = height_mm - FIELD_MARGIN_MM - _STRIP_MM
    items: list[Item] = []
    x = right
    for heading, words in reversed(title.fields):
        wide = max(_FIELD.long_mm(heading), _VALUE.long_mm(words)) + 5.0
        x -= wide
        items.append(Line(x1_mm=x, y1_mm=top, x2_mm=x, y2_mm=top + _STRIP_MM, width_mm=0.18, ink="soft"))
        items.append(_FIELD.text(heading, x + 2.5, top + 4.6))
        items.append(_VALUE.text(words, x + 2.5, top + 9.4))
    head = circuit_word(title.id)
    items.append(_HEAD.text(head, left, top + 8.0))
    start = left + _HEAD.long_mm(head) + 4.0
    room = x - start - 2.0
    how, lines = _NAME, wrapped(title.name, most_mm=max(room, 10.0), size_mm=_NAME.size_mm)
    while len(lines) * how.line_mm > _STRIP_MM - 2.0 and how.size_mm > 1.6:
        # a long name is set smaller until it is all there
        how = Lettering(size_mm=how.size_mm * 0.85, line_mm=how.line_mm * 0.85)
        lines = wrapped(title.name, most_mm=max(room, 10.0), size_mm=how.size_mm)
    legend = _FIELD.line_mm if len(lines) * how.line_mm + _FIELD.line_mm < _STRIP_MM - 1.0 else 0.0
    if legend and _FIELD.long_mm(_LEGEND) < room:
        items.append(_FIELD.text(_LEGEND, start, top + _STRIP_MM - 2.0))
    y = top + (_STRIP_MM - legend - len(lines) * how.line_mm) / 2
    for line in lines:
        y += how.line_mm
        items.append(how.text(line, start, y - 0.22 * how.line_mm))
    return items
