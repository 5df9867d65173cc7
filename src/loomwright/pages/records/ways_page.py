"""What does the page of cavities and fuses show: each face with who sits where, one circuit with what else would take
it, what is spare, what moved and why, and what does not fit?
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from loomwright.allocation.cavities import Cavities
from loomwright.allocation.cavity_ground import Plug, plugs_of
from loomwright.allocation.fuse_ways import FuseWays
from loomwright.allocation.other_ways import OtherWay
from loomwright.allocation.way_fixing import kept_in_cavity
from loomwright.car import Car
from loomwright.findings import id_order
from loomwright.job.fuse_holes import fuse_holes
from loomwright.pages.addresses import JobLinks, job_path

__all__ = ["Arranged", "PickedWay", "WayCell", "WayFace", "WaySeat", "WaysPage", "ways_page"]

_WIDE, _HIGH, _GAP = 112, 60, 6
_MOST_COLUMNS = 6
_LONGEST = 16


@dataclass(frozen=True, slots=True, kw_only=True)
class Arranged:
    """What is worked out for the page."""

    cavities: Cavities
    fuses: FuseWays


@dataclass(frozen=True, slots=True, kw_only=True)
class WayCell:
    """One cavity or fuse on a face. x, y: its corner.   word, under: who sits there and how much flows, shortened.

    ring: `has`, `can`, or empty.   moved: who sits there came from elsewhere.
    """

    name: str
    x: int
    y: int
    word: str
    under: str
    title: str
    ring: str
    moved: bool
    href: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WayFace:
    """A connector's face or a fuse box. wide, high: of the drawing.   spares: what is free, in words."""

    name: str
    says: str
    spares: str
    wide: int
    high: int
    cells: tuple[WayCell, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WaySeat:
    """One line of the list. pick: what is sent to look at it.   was: where it sits now.   way: where it is to."""

    pick: str
    holds: str
    was: str
    way: str
    says: str
    href: str
    is_picked: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PickedWay:
    """The circuit that is looked at. kind: `cavity` or `fuse`.   is_kept: it stays where it is."""

    kind: str
    seat: WaySeat
    can: tuple[OtherWay, ...]
    cannot: tuple[OtherWay, ...]
    is_kept: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class WaysPage:
    """The page. conflicts: what does not fit, in words.   moved: what changes its way, and why.   shared: what dies
    together.   movable: how many ends the sheets would have to be changed for. [-]
    """

    waiting: bool
    stopped: bool
    refused: str
    done: int
    of: int
    verdicts: tuple[str, ...]
    conflicts: tuple[str, ...]
    faces: tuple[WayFace, ...]
    boxes: tuple[WayFace, ...]
    cell_wide: int
    cell_high: int
    seats: tuple[WaySeat, ...]
    branches: tuple[WaySeat, ...]
    picked: PickedWay | None
    moved: tuple[str, ...]
    shared: tuple[str, ...]
    notes: tuple[str, ...]
    movable: int
    revision: int
    fix: str
    keep: str
    stop: str
    again: str
    links: JobLinks


def ways_page(
    car: Car,
    answer: Arranged | None,
    links: JobLinks,
    *,
    revision: int,
    pick: str,
    stopped: bool,
    refused: str,
    done: int,
    of: int,
) -> WaysPage:
    """The page of cavities and fuse ways.

    Args:
        answer: None while it is worked out.
        pick: the way or the wire that is looked at; empty for none.
        done, of: steps done and to do. [-]
    """
    seats = () if answer is None else tuple(_seats(answer.cavities, pick, links))
    branches = () if answer is None else tuple(_branches(answer.fuses, pick, links))
    picked = None if answer is None else _picked(car, answer, seats, branches)
    moving = () if answer is None else (*answer.cavities.moved, *answer.cavities.moved_plug)
    return WaysPage(
        waiting=answer is None and not stopped and not refused,
        stopped=stopped,
        refused=refused,
        done=done,
        of=of,
        verdicts=() if answer is None else tuple(_verdicts(answer)),
        conflicts=() if answer is None else (*(one.says for one in answer.cavities.conflicts), *answer.fuses.left_out),
        faces=() if answer is None else tuple(_faces(car, answer.cavities, picked, links)),
        boxes=() if answer is None else tuple(_boxes(car, answer.fuses, picked, links)),
        cell_wide=_WIDE,
        cell_high=_HIGH,
        seats=seats,
        branches=branches,
        picked=picked,
        moved=()
        if answer is None
        else (
            *(f"{' '.join(one.wires)}, {one.was} to {one.way}: {one.says}" for one in moving),
            *(f"{one.wire} from {one.was} to {one.fuse}: {one.says}" for one in answer.fuses.moved),
        ),
        shared=() if answer is None else answer.fuses.shared,
        notes=() if answer is None else (*_unpinned(car), *answer.cavities.notes, *answer.fuses.notes),
        movable=0 if answer is None else len(moving) + len(answer.fuses.moved),
        revision=revision,
        fix=job_path(links.job, "ways", "fix"),
        keep=job_path(links.job, "ways", "keep"),
        stop=job_path(links.job, "ways", "stop"),
        again=job_path(links.job, "ways", "again"),
        links=links,
    )


def _unpinned(car: Car) -> Iterator[str]:
    count = sum(not need.pin for need in car.filled.needs)
    if count:
        who = "needs have" if count > 1 else "need has"
        yield f"{count} {who} no pin yet: what they switch counts as off, without amps"


def _verdicts(answer: Arranged) -> Iterator[str]:
    for sort, status, count, proved, left in (
        ("way", answer.cavities.status, len(answer.cavities.seats), answer.cavities.proved, answer.cavities.left_out),
        ("fuse", answer.fuses.status, len(answer.fuses.seats), answer.fuses.proved, answer.fuses.left_out),
    ):
        told = "proved the best" if proved else "the best found so far, not proved"
        who = "what passes between looms" if sort == "way" else "what hangs on a fuse"
        if not count and not left:
            yield f"Nothing to arrange of {who}."
        elif status == "fits":
            yield f"All {count} of {who} have a {sort}, {told}."
        else:
            yield f"{len(left)} of {who} {'is' if len(left) == 1 else 'are'} left without a {sort}; {told}."


def _seats(answer: Cavities, pick: str, links: JobLinks) -> Iterator[WaySeat]:
    for one in answer.seats:
        holds = ", ".join(filter(None, (" ".join(one.wires), " ".join(one.circuits), _amps(one.amps), one.crimp)))
        yield _line(one.was, holds, one.was, one.way, one.says, pick, links)


def _branches(answer: FuseWays, pick: str, links: JobLinks) -> Iterator[WaySeat]:
    for one in answer.seats:
        holds = ", ".join(filter(None, (one.wire, " ".join(one.loads), _amps(one.amps))))
        yield _line(one.wire, holds, one.was, one.fuse, one.says, pick, links)


def _line(key: str, holds: str, was: str, way: str, says: str, pick: str, links: JobLinks) -> WaySeat:
    href = job_path(links.job, "ways", query={"pick": "" if key == pick else key}, at="picked")
    return WaySeat(pick=key, holds=holds, was=was, way=way, says=says, href=href, is_picked=key == pick)


def _picked(car: Car, answer: Arranged, seats: Sequence[WaySeat], branches: Sequence[WaySeat]) -> PickedWay | None:
    for kind, lines in (("cavity", seats), ("fuse", branches)):
        seat = next((one for one in lines if one.is_picked), None)
        if seat is None:
            continue
        if kind == "cavity":
            others = car.other_cavities(answer.cavities, seat.pick)
            is_kept = kept_in_cavity(car.job, seat.was)
        else:
            others = car.other_fuses(answer.fuses, seat.pick)
            is_kept = seat.pick in answer.fuses.fuses[seat.was].kept
        can = tuple(one for one in others if one.is_possible)
        return PickedWay(
            kind=kind,
            seat=seat,
            can=can,
            cannot=tuple(one for one in others if not one.is_possible),
            is_kept=is_kept,
        )
    return None


def _faces(car: Car, answer: Cavities, picked: PickedWay | None, links: JobLinks) -> Iterator[WayFace]:
    at = {one.way: one for one in answer.seats}
    for plug in plugs_of(car.filled).values():
        cells = []
        for way in plug.ways:
            seat = at.get(way.name)
            cells.append(
                _cell(
                    way.name,
                    (way.column, way.row),
                    "" if seat is None else " ".join(seat.circuits) or " ".join(seat.wires),
                    "" if seat is None else _amps(seat.amps),
                    picked,
                    moved=seat is not None and seat.was != seat.way,
                    pick="" if seat is None else seat.was,
                    links=links,
                )
            )
        free = answer.spares.get(plug.id, ())
        spares = f"Spare, to be plugged: {' '.join(free)}" if free else "No way is spare"
        yield _face(plug.id, _plug_says(plug), spares, cells)


def _boxes(car: Car, answer: FuseWays, picked: PickedWay | None, links: JobLinks) -> Iterator[WayFace]:
    holes = fuse_holes(car.job)
    boxes: dict[str, list[str]] = {}
    for known_fuse in answer.fuses.values():
        boxes.setdefault(known_fuse.box, []).append(known_fuse.id)
    for name in answer.new:
        boxes.setdefault(name.rpartition(" at ")[2].replace("no place", ""), []).append(name)
    for box, fuses in boxes.items():
        cells = []
        for number, fuse in enumerate(sorted(fuses, key=id_order)):
            on_it = [one for one in answer.seats if one.fuse == fuse]
            known = answer.fuses.get(fuse)
            state = known.state if known is not None else on_it[0].state if on_it else ""
            rating = "open" if known is None or known.rating_a is None else f"{known.rating_a:g} A"
            cells.append(
                _cell(
                    fuse,
                    (number % _MOST_COLUMNS + 1, number // _MOST_COLUMNS + 1),
                    " ".join(dict.fromkeys(each for one in on_it for each in one.loads or (one.wire,))),
                    _short(f"{rating}, {_state(state)}"),
                    picked,
                    moved=any(one.was != fuse for one in on_it),
                    pick=on_it[0].wire if on_it else "",
                    links=links,
                )
            )
        count = holes.get(box)
        spares = f"{max(count - len(fuses), 0)} of {count} holes spare" if count else "Nobody counts its holes"
        yield _face(box or "no place", "fuses, by what they hang on", spares, cells)


def _plug_says(plug: Plug) -> str:
    layout = "" if plug.known else "; its layout is not known, shown as one strip"
    return f"{plug.family or 'no family named'}, wire side{', at ' + plug.place if plug.place else ''}{layout}"


def _face(name: str, says: str, spares: str, cells: Sequence[WayCell]) -> WayFace:
    return WayFace(
        name=name,
        says=says,
        spares=spares,
        wide=max((one.x for one in cells), default=0) + _WIDE + _GAP,
        high=max((one.y for one in cells), default=0) + _HIGH + _GAP,
        cells=tuple(cells),
    )


def _cell(
    name: str,
    where: tuple[int, int],
    who: str,
    under: str,
    picked: PickedWay | None,
    *,
    moved: bool,
    pick: str,
    links: JobLinks,
) -> WayCell:
    has = picked is not None and picked.seat.way == name
    can = picked is not None and any(one.name == name for one in picked.can)
    return WayCell(
        name=_short(name.rpartition(".")[2] if not name.startswith("new ") else "new"),
        x=_GAP + (where[0] - 1) * (_WIDE + _GAP),
        y=_GAP + (where[1] - 1) * (_HIGH + _GAP),
        word=_short(who),
        under=under,
        title=f"{name}: {who or 'free'}{f', {under}' if under else ''}",
        ring="has" if has else "can" if can else "",
        moved=moved,
        href=job_path(links.job, "ways", query={"pick": pick}, at="picked") if pick else "",
    )


def _short(word: str) -> str:
    return word if len(word) <= _LONGEST else f"{word[: _LONGEST - 1]}…"


def _state(state: str) -> str:
    """A key state as it fits a cell."""
    return state.replace("_", " ") or "no source"


def _amps(amps: float | None) -> str:
    return "" if amps is None else f"{round(amps, 2):.3g} A"
