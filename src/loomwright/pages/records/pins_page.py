"""What does the page of controller pins show: the faces with who sits where, a need with the pins that would take it,
what is spare, and what stands in the way with the ways out of it?
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from loomwright.allocation.able import ability_words, able_pins, why_not
from loomwright.allocation.allocated import Allocation
from loomwright.allocation.ground import AskedNeed, Ground, ground_of
from loomwright.allocation.way_records import WayOut
from loomwright.car import Car
from loomwright.handover.connector_faces import ConnectorFace, connector_faces
from loomwright.pages.addresses import JobLinks, job_path
from loomwright.pages.records.row_cells import why_href
from loomwright.quantities.printing import for_print

__all__ = ["NeedLine", "OtherLine", "PickedNeed", "PinCell", "PinFace", "PinsPage", "SpareLine", "WayLine", "pins_page"]

_WIDE, _HIGH, _GAP = 84, 48, 6
_MOST_COLUMNS = 10
_LONGEST = 11


@dataclass(frozen=True, slots=True, kw_only=True)
class PinCell:
    """One pin on a face. x, y: its corner.   word: who sits there, shortened.   ring: `has`, `can`, or empty.

    is_trouble: two are fixed to it, or who sits there is part of what does not fit.
    """

    pin: str
    terminal: str
    x: int
    y: int
    word: str
    title: str
    ring: str
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
class NeedLine:
    """One need. pin: where it sits, empty where it is left out.   by: how that came.   is_picked: it is looked at."""

    need: str
    does: str
    ability: str
    pin: str
    says: str
    by: str
    href: str
    is_picked: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherLine:
    """Other pins for the need that is looked at. says: what it would cost, or why it cannot be."""

    pins: tuple[str, ...]
    says: str
    is_possible: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PickedNeed:
    """The need that is looked at. is_fixed: its pin is typed.   cannot: (pin, why not) of those that can not do it.

    why: where every other pin is told.
    """

    line: NeedLine
    others: tuple[OtherLine, ...]
    cannot: tuple[tuple[str, str], ...]
    is_fixed: bool
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SpareLine:
    """What is left of one ability."""

    ability: str
    pins: str
    left: int
    of: int


@dataclass(frozen=True, slots=True, kw_only=True)
class WayLine:
    """One way out. number: what is sent back to have it taken. [-]   cost, loses: in words."""

    number: int
    says: str
    changes: tuple[str, ...]
    cost: str
    loses: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PinsPage:
    """The page.

    verdict: whether all fits, in words.   conflicts: what does not, in words.   moved: what changed its place.
    """

    waiting: bool
    stopped: bool
    done: int
    of: int
    verdict: str
    fits: bool
    conflicts: tuple[str, ...]
    ways: tuple[WayLine, ...]
    faces: tuple[PinFace, ...]
    needs: tuple[NeedLine, ...]
    picked: PickedNeed | None
    spares: tuple[SpareLine, ...]
    moved: tuple[str, ...]
    notes: tuple[str, ...]
    options: tuple[str, ...]
    revision: int
    fix: str
    take: str
    stop: str
    again: str
    decide: str
    links: JobLinks


def pins_page(
    car: Car,
    allocation: Allocation | None,
    links: JobLinks,
    *,
    revision: int,
    need: str,
    stopped: bool,
    done: int,
    of: int,
) -> PinsPage:
    """The page of pins.

    Args:
        allocation: None while it is worked out.
        need: the need that is looked at; empty for none.
        done, of: steps done and to do. [-]
    """
    ground = ground_of(car.job, car.kinds)
    lines = () if allocation is None else tuple(_needs(allocation, ground, need, links))
    picked = next((line for line in lines if line.is_picked), None)
    told = _picked(allocation, ground, picked, links) if allocation is not None and picked is not None else None
    return PinsPage(
        waiting=allocation is None and not stopped,
        stopped=stopped,
        done=done,
        of=of,
        verdict="" if allocation is None else _verdict(allocation),
        fits=allocation is not None and allocation.status == "fits",
        conflicts=() if allocation is None else tuple(one.says for one in allocation.conflicts),
        ways=() if allocation is None else tuple(_way(way, n) for n, way in enumerate(allocation.ways_out, start=1)),
        faces=() if allocation is None else tuple(_faces(car, allocation, ground, told, links)),
        needs=lines,
        picked=told,
        spares=() if allocation is None else tuple(_spares(allocation)),
        moved=() if allocation is None else tuple(one.says for one in allocation.moved),
        notes=() if allocation is None else allocation.notes,
        options=() if allocation is None else tuple(f"{group}: {name}" for group, name in allocation.options.items()),
        revision=revision,
        fix=job_path(links.job, "pins", "fix"),
        take=job_path(links.job, "pins", "way"),
        stop=job_path(links.job, "pins", "stop"),
        again=job_path(links.job, "pins", "again"),
        decide=job_path(links.job, "decide"),
        links=links,
    )


def _verdict(allocation: Allocation) -> str:
    proved = "proved the best" if allocation.proved else "the best found so far, not proved"
    if allocation.status == "fits":
        return f"All {len(allocation.pins)} needs have a pin, {proved}."
    left = ", ".join(allocation.left_out)
    return f"It does not fit: {len(allocation.left_out)} left without a pin ({left}); {proved}."


def _needs(allocation: Allocation, ground: Ground, picked: str, links: JobLinks) -> Iterator[NeedLine]:
    for name, asked in ground.needs.items():
        why = allocation.why.get(name)
        yield NeedLine(
            need=name,
            does=asked.row.does or name,
            ability=ability_words(asked.row.ability),
            pin=allocation.pins.get(name, ""),
            says=_not_built(allocation, asked) if why is None else why.says,
            by="" if why is None else why.by,
            href=job_path(links.job, "pins", query={"need": "" if name == picked else name}, at="picked"),
            is_picked=name == picked,
        )


def _not_built(allocation: Allocation, asked: AskedNeed) -> str:
    """What is said of a need without a pin: it is left out, or the other of its option is built."""
    group = asked.row.option.partition("/")[0]
    built = allocation.options.get(group, "") if group else ""
    return f"not needed: of the option {group}, {built} is built" if built else "it is left out"


def _picked(allocation: Allocation, ground: Ground, line: NeedLine, links: JobLinks) -> PickedNeed:
    why, asked = allocation.why.get(line.need), ground.needs[line.need]
    told = () if why is None else why.others
    others = [OtherLine(pins=one.pins, says=one.says, is_possible=one.is_possible) for one in told]
    taken = set(allocation.pins.values())
    free = tuple(pin for pin in able_pins(ground, asked) if pin not in taken)
    if not others and free:
        others = [OtherLine(pins=free, says="free, and can do it", is_possible=True)]
    named = {pin for one in others for pin in one.pins} | {line.pin}
    return PickedNeed(
        line=line,
        others=tuple(others),
        cannot=tuple(
            (name, reason) for name, pin in ground.pins.items() if name not in named and (reason := why_not(asked, pin))
        ),
        is_fixed=asked.by == "typed",
        why=why_href(links, f"{line.need}.pin"),
    )


def _faces(
    car: Car, allocation: Allocation, ground: Ground, picked: PickedNeed | None, links: JobLinks
) -> Iterator[PinFace]:
    holder = {pin: need for need, pin in allocation.pins.items()}
    blamed = {need for one in allocation.conflicts for need in one.needs}
    of_point = {f"{pin.part}.{pin.terminal}": name for name, pin in ground.pins.items()}
    can = set() if picked is None else {pin for one in picked.others if one.is_possible for pin in one.pins}
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
        yield _face(face.id, _says(face), places, holder, blamed, can, picked, links)
    rest = [name for name in ground.pins if name not in shown]
    for box in sorted(boxes):
        mine = [name for name in rest if ground.pins[name].part == box]
        places = [
            (name, ground.pins[name].terminal, k // _MOST_COLUMNS + 1, k % _MOST_COLUMNS + 1)
            for k, name in enumerate(mine)
        ]
        if places:
            says = f"pins of {box} that no row of connectors holds, in the order of their names"
            yield _face(box, says, places, holder, blamed, can, picked, links)


def _says(face: ConnectorFace) -> str:
    return f"{face.part}{', ' + face.family if face.family else ''}, wire side; {face.layout_says}"


def _face(
    name: str,
    says: str,
    places: list[tuple[str, str, int, int]],
    holder: Mapping[str, str],
    blamed: set[str],
    can: set[str],
    picked: PickedNeed | None,
    links: JobLinks,
) -> PinFace:
    cells = []
    for pin, terminal, row, column in places:
        need = holder.get(pin, "")
        has = picked is not None and pin != "" and pin == picked.line.pin
        cells.append(
            PinCell(
                pin=pin,
                terminal=terminal or "–",
                x=_GAP + (column - 1) * (_WIDE + _GAP),
                y=_GAP + (row - 1) * (_HIGH + _GAP),
                word=need if len(need) <= _LONGEST else f"{need[: _LONGEST - 1]}…",
                title=f"{terminal}: {need or 'free'}" if pin else f"{terminal or 'a way'}: no pin of the sheet",
                ring="has" if has else "can" if pin in can else "",
                is_trouble=need in blamed,
                href=job_path(links.job, "pins", query={"need": need}, at="picked") if need else "",
            )
        )
    columns = max((column for *_, column in places), default=1)
    rows = max((row for _, _, row, _ in places), default=1)
    return PinFace(
        name=name,
        says=says,
        wide=columns * (_WIDE + _GAP) + _GAP,
        high=rows * (_HIGH + _GAP) + _GAP,
        cell_wide=_WIDE,
        cell_high=_HIGH,
        cells=tuple(cells),
    )


def _spares(allocation: Allocation) -> Iterator[SpareLine]:
    for one in allocation.spares:
        yield SpareLine(ability=ability_words(one.ability), pins=" ".join(one.pins), left=len(one.pins), of=one.of)


def _way(way: WayOut, number: int) -> WayLine:
    cost = way.cost
    words = []
    for count, word in ((cost.pins, "pin"), (cost.wires, "wire")):
        if count:
            many = f"{abs(count)} {word}{'' if abs(count) == 1 else 's'}"
            words.append(f"{many} more" if count > 0 else f"{many} fewer")
    words += list(cost.parts)
    words.append(f"about {for_print(cost.minutes)} min")
    if cost.price is not None:
        words.append(f"{cost.price:.2f} {cost.currency}".strip())
    if cost.unpriced:
        words.append(f"without a price: {', '.join(cost.unpriced)}")
    return WayLine(
        number=number,
        says=way.says,
        changes=tuple(one.says for one in way.changes),
        cost=f"Takes {', '.join(words)}",
        loses=way.loses,
    )
