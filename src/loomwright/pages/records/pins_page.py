"""What does the page of controller pins show: the faces with who sits where, a need with the pins that would take it,
what is spare, and what stands in the way with the ways out of it?
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from loomwright.allocation.able import ability_words, able_pins, why_not
from loomwright.allocation.allocated import Allocation, other_pins
from loomwright.allocation.ground import AskedNeed, Ground, ground_of
from loomwright.allocation.wanting import wanted_says
from loomwright.allocation.way_records import InAll, WayOut, in_all_of
from loomwright.allocation.why_pin import OtherPin
from loomwright.car import Car
from loomwright.job.pins_waiting import pins_given_in
from loomwright.job.taking import FIRST_ROW
from loomwright.pages.addresses import JobLinks, job_path
from loomwright.pages.records.pin_faces import OtherLine, PinFace, pin_faces
from loomwright.pages.records.row_cells import why_href
from loomwright.quantities.printing import for_print
from loomwright.store.snapshot import Snapshot

__all__ = [
    "NeedLine",
    "PickedNeed",
    "PinsPage",
    "SpareLine",
    "WayLine",
    "pins_page",
    "rows_without_name",
]

_KNOWN_BY = (
    ("controller_pins", "terminal", "the terminal, as printed on the plug"),
    ("needs", "id", "a short name of the need"),
)
_COSTS = {"": "as good", "moved": "re-pin", "prefer": "less liked", "spares": "fewer spares", "kept": "not as kept"}
"""Goal that suffers -> as it fits a cell."""
_LEFT_OUT = "it is left out"


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
class PickedNeed:
    """The need that is looked at. is_fixed: its pin is typed, or a wire drawn to it.

    cannot: (pin, why not) of those that can not do it.   why: where every other pin is told.
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
    """One way out. number: what is sent back to have it taken. [-]   changes, loses: those that not every way has.

    cost: of the whole way, in words.
    """

    number: int
    says: str
    changes: tuple[str, ...]
    cost: str
    loses: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PinsPage:
    """The page.

    verdict: whether all fits, in words.   conflicts: what does not, in words.   moved: what changed its place.
    in_all: what every way out does and loses.
    unread: rows that count for nothing yet.   wanted: what another controller would have to have more of.
    unkept: needs whose pin is not kept with the job. [-]
    """

    waiting: bool
    stopped: bool
    done: int
    of: int
    verdict: str
    fits: bool
    unread: tuple[str, ...]
    conflicts: tuple[str, ...]
    ways: tuple[WayLine, ...]
    in_all: InAll
    wanted: str
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
    unkept: int
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
    unread: tuple[str, ...] = (),
) -> PinsPage:
    """The page of pins.

    Args:
        allocation: None while it is worked out.
        unread: rows that count for nothing yet, in words.
        need: the need that is looked at; empty for none.
        done, of: steps done and to do. [-]
    """
    ground = ground_of(car.job, car.kinds)
    lines = () if allocation is None else tuple(sorted(_needs(allocation, ground, need, links), key=_has_place))
    picked = next((line for line in lines if line.is_picked), None)
    told = _picked(allocation, ground, picked, links) if allocation is not None and picked is not None else None
    can = {} if told is None else {pin: one for one in told.others if one.is_possible for pin in one.pins}
    has = "" if told is None else told.line.pin
    ways = () if allocation is None else allocation.ways_out
    in_all = in_all_of(ways)
    return PinsPage(
        waiting=allocation is None and not stopped,
        stopped=stopped,
        done=done,
        of=of,
        verdict="" if allocation is None else _verdict(allocation),
        fits=allocation is not None and allocation.status == "fits",
        unread=unread,
        conflicts=() if allocation is None else tuple(one.says for one in allocation.conflicts),
        ways=tuple(_way(way, in_all, n) for n, way in enumerate(ways, start=1)),
        in_all=in_all,
        wanted="" if allocation is None else wanted_says(allocation.wanted),
        faces=() if allocation is None else tuple(pin_faces(car, allocation, ground, can, has, links)),
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
        unkept=len(pins_given_in(car.job).missing),
        links=links,
    )


def rows_without_name(snapshot: Snapshot) -> tuple[str, ...]:
    """Rows of pins and needs that something stands in, but not what they are known by: they count for nothing yet."""
    told = []
    for sheet, column, allowed in _KNOWN_BY:
        for place, row in enumerate(snapshot.taken.get(sheet, {}).values()):
            if row.typed is None and row.stored.cells:
                who = row.stored.cells.get("id", "") or "the row"
                told.append(
                    f"Sheet {sheet}, row {place + FIRST_ROW}, {column}: nothing there, allowed: {allowed}. "
                    f"Until it stands there {who} counts for nothing"
                )
    return tuple(told)


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


def _has_place(line: NeedLine) -> bool:
    """Needs that are left out come first: they are what is to be dealt with."""
    return bool(line.pin) or line.says != _LEFT_OUT


def _not_built(allocation: Allocation, asked: AskedNeed) -> str:
    """What is said of a need without a pin: it is left out, or the other of its option is built."""
    group = asked.row.option.partition("/")[0]
    built = allocation.options.get(group, "") if group else ""
    return f"not needed: of the option {group}, {built} is built" if built else _LEFT_OUT


def _picked(allocation: Allocation, ground: Ground, line: NeedLine, links: JobLinks) -> PickedNeed:
    asked = ground.needs[line.need]
    told = other_pins(ground, allocation.pins, line.need) if line.pin else ()
    taken = set(allocation.pins.values())
    others = [
        OtherLine(pins=one.pins, says=one.says, is_possible=one.is_possible, cost=_cost(one, taken)) for one in told
    ]
    free = tuple(pin for pin in able_pins(ground, asked) if pin not in taken)
    if not others and free:
        others = [OtherLine(pins=free, says=f"{' '.join(free)}: free, and can do it", cost="free", is_possible=True)]
    others.sort(key=lambda one: not one.is_possible)
    named = {pin for one in others for pin in one.pins} | {line.pin}
    return PickedNeed(
        line=line,
        others=tuple(others),
        cannot=tuple(
            (name, reason) for name, pin in ground.pins.items() if name not in named and (reason := why_not(asked, pin))
        ),
        is_fixed=asked.fixed is not None,
        why=why_href(links, f"{line.need}.pin"),
    )


def _cost(one: OtherPin, taken: set[str]) -> str:
    """What a pin would cost, as it fits a cell."""
    word = f"+{one.more} mm" if one.goal == "wiring" else _COSTS.get(one.goal, one.goal)
    return f"⇄ {word}" if taken.intersection(one.pins) else word


def _spares(allocation: Allocation) -> Iterator[SpareLine]:
    for one in allocation.spares:
        yield SpareLine(ability=ability_words(one.ability), pins=" ".join(one.pins), left=len(one.pins), of=one.of)


def _way(way: WayOut, in_all: InAll, number: int) -> WayLine:
    cost = way.cost
    changes, loses = in_all.beside(way)
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
        changes=changes,
        cost=f"Takes {', '.join(words)}",
        loses=loses,
    )
