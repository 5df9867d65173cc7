"""The faces of a controller's plugs: who sits on each pin, and which others would take a need, each with its cost."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from loomwright.allocation.allocated import Allocation
from loomwright.allocation.ground import Ground
from loomwright.car import Car
from loomwright.handover.connector_faces import ConnectorFace, connector_faces
from loomwright.pages.addresses import JobLinks, job_path

__all__ = ["OtherLine", "PinCell", "PinFace", "pin_faces"]

_WIDE, _HIGH, _GAP = 84, 48, 6
_MOST_COLUMNS = 10
_LONGEST = 11
_COST_HIGH = 16


@dataclass(frozen=True, slots=True, kw_only=True)
class PinCell:
    """One pin on a face. x, y: its corner.   word: who sits there, shortened.   ring: `has`, `can`, or empty.

    cost: what it would cost, in a word or two, where it is ringed.   takes: the pin that a touch gives to the need.
    is_trouble: two are fixed to it, or who sits there is part of what does not fit.
    """

    pin: str
    terminal: str
    x: int
    y: int
    word: str
    title: str
    ring: str
    cost: str
    takes: str
    is_trouble: bool
    href: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PinFace:
    """A face, seen from the wire side. wide, high: of the drawing."""

    name: str
    says: str
    wide: int
    high: int
    cell_wide: int
    cell_high: int
    cells: tuple[PinCell, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherLine:
    """Other pins for the need that is looked at. says: what it would cost, or why it cannot be.   cost: in a word."""

    pins: tuple[str, ...]
    says: str
    cost: str
    is_possible: bool


def pin_faces(
    car: Car, allocation: Allocation, ground: Ground, can: Mapping[str, OtherLine], has: str, links: JobLinks
) -> Iterator[PinFace]:
    """The faces of the controllers' plugs, and pins that stand in none.

    Args:
        can: pin -> what it would cost the need that is looked at.
        has: the pin that need is on; empty where none is looked at.
    """
    holder = {pin: need for need, pin in allocation.pins.items()}
    blamed = {need for one in allocation.conflicts for need in one.needs}
    of_point = {f"{pin.part}.{pin.terminal}": name for name, pin in ground.pins.items()}
    boxes = {pin.part for pin in ground.pins.values()}
    shown = set()
    for face in connector_faces(car.filled, car.kinds):
        if face.part not in boxes:
            continue
        places = [
            (of_point.get(f"{face.part}.{cavity.terminal}", ""), cavity.terminal, cavity.row, cavity.column)
            for cavity in face.cavities
        ]
        shown |= {pin for pin, *_ in places}
        yield _face(face.id, _says(face), places, holder, blamed, can, has, links)
    rest = [name for name in ground.pins if name not in shown]
    for box in sorted(boxes):
        mine = [name for name in rest if ground.pins[name].part == box]
        places = [
            (name, ground.pins[name].terminal, k // _MOST_COLUMNS + 1, k % _MOST_COLUMNS + 1)
            for k, name in enumerate(mine)
        ]
        if places:
            says = f"pins of {box} that no row of connectors holds, in the order of their names"
            yield _face(box, says, places, holder, blamed, can, has, links)


def _says(face: ConnectorFace) -> str:
    return f"{face.part}{', ' + face.family if face.family else ''}, wire side; {face.layout_says}"


def _face(
    name: str,
    says: str,
    places: list[tuple[str, str, int, int]],
    holder: Mapping[str, str],
    blamed: set[str],
    can: Mapping[str, OtherLine],
    has: str,
    links: JobLinks,
) -> PinFace:
    cells = []
    high = _HIGH + (_COST_HIGH if can else 0)
    for pin, terminal, row, column in places:
        need = holder.get(pin, "")
        cost = can[pin].cost if pin in can else ""
        cells.append(
            PinCell(
                pin=pin,
                terminal=terminal or "–",
                x=_GAP + (column - 1) * (_WIDE + _GAP),
                y=_GAP + (row - 1) * (high + _GAP),
                word=need if len(need) <= _LONGEST else f"{need[: _LONGEST - 1]}…",
                title=_title(pin, terminal, need, can),
                ring="has" if pin and pin == has else "can" if pin in can else "",
                cost=cost,
                takes=pin if pin in can else "",
                is_trouble=need in blamed,
                href=f"#take-{pin}"
                if pin in can
                else job_path(links.job, "pins", query={"need": need}, at="picked")
                if need
                else "",
            )
        )
    columns = max((column for *_, column in places), default=1)
    rows = max((row for _, _, row, _ in places), default=1)
    return PinFace(
        name=name,
        says=says,
        wide=columns * (_WIDE + _GAP) + _GAP,
        high=rows * (high + _GAP) + _GAP,
        cell_wide=_WIDE,
        cell_high=high,
        cells=tuple(cells),
    )


def _title(pin: str, terminal: str, need: str, can: Mapping[str, OtherLine]) -> str:
    if not pin:
        return f"{terminal or 'a way'}: no pin of the sheet"
    return f"{terminal}: {can[pin].says}; touch to take it" if pin in can else f"{terminal}: {need or 'free'}"
