"""How does a circuit look on a screen, lit by the current of one state?

The sheets of the papers at their own size, without frame and title: conductors in the colours of their insulation,
energised ones with a copper line beside, contacts and switches as they lie in that state, the ends of wires filled
where they have volts or are dead and hollow where they float, loads that work in copper. Everything drawn belongs to a
*thing*, a wire or a part, so that a page can be touched anywhere. Tracks are numbered as on paper.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from loomwright.drawings.circuit_drawing import LaidCircuits, LaidSheet
from loomwright.drawings.content.contents import sketch_of
from loomwright.drawings.content.sketch import Unit
from loomwright.drawings.page import track_lines, unit_items
from loomwright.drawings.painting.copper import beside, thickness_mm
from loomwright.drawings.painting.way_marks import ShownWay, drawn_back, step_marks
from loomwright.drawings.painting.wires import label_places, wire_items, wire_points
from loomwright.drawings.placing.layout import Laid, stretched
from loomwright.drawings.symbols.fields import field_of
from loomwright.drawings.symbols.items import (
    Arc,
    Box,
    Circle,
    Fill,
    Item,
    Line,
    Points,
    Polyline,
    WireStroke,
    moved,
)
from loomwright.drawings.symbols.strokes import letter

__all__ = ["Lit", "Screen", "Touched", "screens_of"]

_MARGIN_MM = 3.0
_AIR_MM = 3.0
_RULER_MM = 6.0
_TRACK_MM = 2.3
_END_MM = 0.75
_FILLS: Mapping[str, Fill] = {"floating": "paper", "dead": "ink"}
_LOADS = ("inline", "box", "comb", "bridge")

Sort = Literal["wire", "part", ""]


@dataclass(frozen=True, slots=True, kw_only=True)
class Lit:
    """What a state does to a drawing.

    state: variables as they are.   amps: by wire. [A]   energised: wires.   points: how each stands, in a word.
    contacts: two points -> whether a contact joins them.   working: parts whose loads work.
    """

    state: Mapping[str, str]
    amps: Mapping[str, float]
    energised: frozenset[str]
    points: Mapping[str, str]
    contacts: Mapping[frozenset[str], bool]
    working: frozenset[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Touched:
    """What is drawn of one wire or one unit. about: its id; sort: what that is.

    left_mm, top_mm, wide_mm, high_mm: the field it takes. [mm]   points_mm: of a wire, its corners. [mm]
    """

    about: str
    sort: Sort
    items: tuple[Item, ...]
    left_mm: float
    top_mm: float
    wide_mm: float
    high_mm: float
    points_mm: Points = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Screen:
    """One sheet for a screen. sheet, sheets: this one, of how many. [-]   width_mm, height_mm: of it. [mm]

    ground: what can not be touched.   things: in the order they are drawn.   ends: of wires, over everything.
    """

    circuit: str
    sheet: int
    sheets: int
    width_mm: float
    height_mm: float
    ground: tuple[Item, ...]
    things: tuple[Touched, ...]
    ends: tuple[Item, ...]


def screens_of(laid: LaidCircuits, circuit: str, lit: Lit, way: ShownWay | None = None) -> tuple[Screen, ...]:
    """The sheets of a circuit in one state; none where the circuit has no wires.

    Args:
        laid: all circuits of the job.
        circuit: its id; empty: the wires of none.
        way: of a current, to be shown heavier; everything else is drawn back.
    """
    sheets = laid.sheets.get(circuit, ())
    positions = _positions(laid, circuit, lit) if sheets else {}
    return tuple(
        _screen(laid, sheet, number, len(sheets), lit, positions, way) for number, sheet in enumerate(sheets, start=1)
    )


def _positions(laid: LaidCircuits, circuit: str, lit: Lit) -> Mapping[tuple[str, tuple[str, ...]], tuple[bool, ...]]:
    """Which position the switches with a table are in: by part and names of the positions."""
    if not any(unit.positions for sheet in laid.sheets[circuit] for unit in sheet.small.sketch.units):
        return {}
    lying = sketch_of(replace(laid.wiring, rest=lit.state), circuit)
    return {
        (unit.about, tuple(one.name for one in unit.positions)): tuple(one.rest for one in unit.positions)
        for unit in lying.units
        if unit.positions
    }


def _screen(
    laid: LaidCircuits,
    sheet: LaidSheet,
    number: int,
    count: int,
    lit: Lit,
    positions: Mapping[tuple[str, tuple[str, ...]], tuple[bool, ...]],
    way: ShownWay | None,
) -> Screen:
    small = sheet.small
    air = _AIR_MM * len(small.channels)
    small = stretched(laid.wiring, small, wide_mm=small.wide_mm, high_mm=small.high_mm + air)
    units = tuple(_in_state(unit, lit, positions) for unit in small.sketch.units)
    small = replace(small, sketch=replace(small.sketch, units=units))
    height = small.high_mm + 2 * _MARGIN_MM + _RULER_MM
    width = small.wide_mm + 2 * _MARGIN_MM
    # the lines of the tracks are those of the paper, so that a track has one number everywhere
    factor = small.wide_mm / sheet.laid.wide_mm if sheet.laid.wide_mm else 1.0
    things = [*_wires(laid, small, lit, way)]
    for unit in range(len(small.sketch.units)):
        things.append(_unit(laid, small, unit, lit))
    marks: tuple[Item, ...] = ()
    if way is not None:
        whole = [replace(item, about=one.about) for one in things for item in one.items]
        marks = step_marks(whole, way)
        things = [replace(one, items=tuple(drawn_back(item, way, one.about) for item in one.items)) for one in things]
    return Screen(
        circuit=sheet.circuit,
        sheet=number,
        sheets=count,
        width_mm=round(width, 2),
        height_mm=round(height, 2),
        ground=(*_leads(laid, small, way), *_ruler(sheet, factor, width, height)),
        things=tuple(one for one in things if one.items),
        ends=(*_shifted(_all_ends(small, lit)), *marks),
    )


def _in_state(unit: Unit, lit: Lit, positions: Mapping[tuple[str, tuple[str, ...]], tuple[bool, ...]]) -> Unit:
    """A unit as it lies in the state; a contact of which nothing is known stays as it is drawn at rest."""
    if unit.positions:
        here = positions.get((unit.about, tuple(one.name for one in unit.positions)))
        if here is not None:
            lying = tuple(replace(one, rest=on) for one, on in zip(unit.positions, here, strict=True))
            unit = replace(unit, positions=lying)
    if not unit.symbol.startswith("contact") or not unit.closed:
        return unit
    points = [port.point for port in unit.ports]
    if unit.form == "comb":
        closed = tuple(
            lit.contacts.get(frozenset({points[unit.common], point}), was)
            for point, was in zip(points, unit.closed, strict=True)
        )
        return replace(unit, closed=closed)
    if unit.form == "inline" and len(points) == 2:
        known = lit.contacts.get(frozenset(points))
        return unit if known is None else replace(unit, closed=(known,) * len(unit.closed))
    return unit


def _wires(laid: LaidCircuits, small: Laid, lit: Lit, way: ShownWay | None) -> Iterator[Touched]:
    own: dict[str, list[Item]] = {}
    corners: dict[str, Points] = {}
    for item in wire_items(laid.wiring, small):
        if isinstance(item, WireStroke):
            corners[item.about] = item.points_mm
        if item.about in laid.wiring.wires:
            own.setdefault(item.about, []).append(item)
    labels = label_places(small)
    for wire, points in corners.items():
        items = own[wire]
        if wire in lit.energised:
            wide = thickness_mm(lit.amps.get(wire, 0.0) if way is None or wire in way.steps else 0.0)
            line = beside(points, wide, labels.get(wire))
            items.insert(0, Polyline(points_mm=line, width_mm=wide, ink="copper", about=wire))
        yield _touched(wire, "wire", items, points)


def _all_ends(small: Laid, lit: Lit) -> Iterator[Circle]:
    """The ends of all wires: copper with volts, ink where dead, hollow where they float."""
    for number, link in enumerate(small.sketch.links):
        if not link.wire:
            continue
        points = wire_points(small, number)
        for (x, y), end in zip((points[0], points[-1]), link.ends, strict=True):
            stands = lit.points.get(small.sketch.units[end.unit].ports[end.port].point, "")
            if stands:
                yield Circle(x_mm=x, y_mm=y, radius_mm=_END_MM, width_mm=0.25, fill=_FILLS.get(stands, "copper"))


def _unit(laid: LaidCircuits, small: Laid, number: int, lit: Lit) -> Touched:
    unit = small.sketch.units[number]
    items = tuple(unit_items(small, number, lambda ref: str(laid.places.get((ref.circuit, ref.target), "?"))))
    if unit.about in lit.working and unit.form in _LOADS:
        items = tuple(_in_copper(item) for item in items)
    wires = laid.wiring.wires
    sort: Sort = "part" if unit.about in laid.wiring.parts else "wire" if unit.about in wires else ""
    return _touched(unit.about, sort, items)


def _in_copper(item: Item) -> Item:
    if isinstance(item, Line | Polyline | Circle | Arc | Box) and item.ink == "ink":
        fill = getattr(item, "fill", "")
        item = replace(item, ink="copper")
        return replace(item, fill="copper") if fill == "ink" and not isinstance(item, Line | Arc) else item
    return item


def _leads(laid: LaidCircuits, small: Laid, way: ShownWay | None) -> tuple[Item, ...]:
    """Leads that are no wire of the sheets."""
    found = (item for item in wire_items(laid.wiring, small) if item.about not in laid.wiring.wires)
    return _shifted(found if way is None else (drawn_back(item, way) for item in found))


def _ruler(sheet: LaidSheet, factor: float, width: float, height: float) -> Iterator[Item]:
    y = height - _RULER_MM
    yield Line(x1_mm=0.0, y1_mm=y, x2_mm=width, y2_mm=y, width_mm=0.18, ink="rule")
    for number, x in enumerate(track_lines(sheet.laid), start=sheet.first_track):
        place = round(_MARGIN_MM + x * factor, 2)
        yield Line(x1_mm=place, y1_mm=y, x2_mm=place, y2_mm=y + 1.2, width_mm=0.18, ink="soft")
        yield replace(letter(str(number), place, y + 3.4, _TRACK_MM), font="figures", strong=False, ink="soft")


def _touched(about: str, sort: Sort, items: Iterable[Item], corners: Points = ()) -> Touched:
    shown = _shifted(items)
    boxes = [field_of(item) for item in shown]
    left = min((one[0] for one in boxes), default=0.0)
    top = min((one[1] for one in boxes), default=0.0)
    return Touched(
        about=about,
        sort=sort,
        items=shown,
        left_mm=round(left, 2),
        top_mm=round(top, 2),
        wide_mm=round(max((one[2] for one in boxes), default=0.0) - left, 2),
        high_mm=round(max((one[3] for one in boxes), default=0.0) - top, 2),
        points_mm=tuple((round(x + _MARGIN_MM, 2), round(y + _MARGIN_MM, 2)) for x, y in corners),
    )


def _shifted(items: Iterable[Item]) -> tuple[Item, ...]:
    # the thing says what it is about; its items need not
    return tuple(replace(item, about="") for item in moved(items, x_mm=_MARGIN_MM, y_mm=_MARGIN_MM))
