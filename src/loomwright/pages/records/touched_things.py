"""What is said of a wire or a part that is touched: volts, amps, place, what feeds it, what stops without it?

Made once for a circuit and placed twice: in the table under the drawing, and by a small script in the margin.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from loomwright.car import Car
from loomwright.findings import id_order
from loomwright.handover.state_look import CARRIES_A, StateLook, is_energised, wire_volts
from loomwright.job.rows import Part, Wire
from loomwright.pages.addresses import JobLinks
from loomwright.pages.records.state_asked import StateAsked
from loomwright.pages.records.state_words import amps_text, lies_of, volts_text
from loomwright.tables.kinds import Kind

__all__ = [
    "EndLine",
    "PartLine",
    "Seen",
    "WireLine",
    "part_line",
    "part_lines",
    "photos_href",
    "row_href",
    "seen_in",
    "wire_line",
    "wire_lines",
    "wired_points",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class EndLine:
    """One point. volts: printed.   stands: live, dead, between, floating, or empty where it is none of the car's."""

    point: str
    volts: str
    stands: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WireLine:
    """A wire in a state. ends: from, to; a free end has no point.   amps: printed.   flows: from where to where.

    fed_by, back_by: parts on the way from the supply and back; nothing feeds what has neither volts nor current.
    stops: parts that stop without it; None: not asked.
    href: its page.   row_href: its row in the sheet.
    """

    id: str
    colour: str
    size: str
    ends: tuple[EndLine, EndLine]
    amps: str
    flows: str
    is_energised: bool
    fed_by: tuple[str, ...]
    back_by: tuple[str, ...]
    stops: tuple[str, ...] | None
    href: str
    row_href: str

    @property
    def says(self) -> str:
        """The wire in one line, as it is read out."""
        volts = " to ".join(end.volts for end in self.ends if end.volts)
        return f"wire {self.id}, {self.colour or 'colour open'}, {volts}, {self.amps}"


@dataclass(frozen=True, slots=True, kw_only=True)
class PartLine:
    """A part in a state. lies: how it stands, in a word.   amps: of a load, printed.   points: its wired terminals."""

    id: str
    name: str
    kind: str
    place: str
    lies: str
    amps: str
    points: tuple[EndLine, ...]
    fed_by: tuple[str, ...]
    back_by: tuple[str, ...]
    stops: tuple[str, ...] | None
    href: str
    row_href: str

    @property
    def says(self) -> str:
        """The part in one line, as it is read out."""
        return ", ".join(word for word in (f"{self.id} {self.name}".strip(), self.lies, self.amps) if word)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Seen:
    """The car in the state that a page is about, and where its things have their pages."""

    car: Car
    look: StateLook
    asked: StateAsked
    links: JobLinks


def seen_in(car: Car, asked: StateAsked, links: JobLinks) -> Seen:
    """The car in a state as an address asks for it."""
    look = car.in_states.look(asked.state, before=asked.before or None, changes=asked.changes)
    return Seen(car=car, look=look, asked=asked, links=replace(links, asked=asked.query))


def wire_lines(seen: Seen, wires: Iterable[Wire], stops: Mapping[str, tuple[str, ...]]) -> tuple[WireLine, ...]:
    """Wires in a state, by id.

    Args:
        stops: what stops when each is out, as far as that was asked.
    """
    ordered = sorted(wires, key=lambda one: id_order(one.id))
    return tuple(wire_line(seen, wire, stops.get(wire.id)) for wire in ordered)


def part_lines(
    seen: Seen, parts: Iterable[str], stops: Mapping[str, tuple[str, ...]], wires: Iterable[Wire]
) -> tuple[PartLine, ...]:
    """Parts in a state, by id, with the terminals at which some wires end.

    Args:
        wires: those that are looked at.
        stops: what stops when each is out, as far as that was asked.
    """
    rows = {part.id: part for part in seen.car.filled.parts}
    wired = wired_points(wires)
    return tuple(
        part_line(seen, rows[part], wired.get(part, ()), stops.get(part))
        for part in sorted(parts, key=id_order)
        if part in rows
    )


def wire_line(seen: Seen, wire: Wire, stops: tuple[str, ...] | None) -> WireLine:
    """A wire in a state.

    Args:
        stops: the parts that stop when it is out; None where that was not asked.
    """
    look = seen.look
    amps = look.solved.amps.get(wire.id, 0.0)
    flows = ""
    if abs(amps) >= CARRIES_A:
        flows = f"{wire.from_} to {wire.to}" if amps > 0 else f"{wire.to} to {wire.from_}"
    volts = wire_volts(look, wire)
    return WireLine(
        id=wire.id,
        colour=wire.colour,
        size="" if wire.size_mm2 is None else f"{wire.size_mm2:g} mm²",
        ends=(_end(look, wire.from_, volts[0]), _end(look, wire.to, volts[1])),
        amps=amps_text(amps),
        flows=flows,
        is_energised=is_energised(look, wire),
        fed_by=look.feeds(wire.from_, wire.to) if is_energised(look, wire) else (),
        back_by=look.leads_back(wire.from_, wire.to),
        stops=stops,
        href=seen.links.page("wire", wire.id),
        row_href=row_href(seen.links, wire.id),
    )


def part_line(seen: Seen, part: Part, wired: Sequence[str], stops: tuple[str, ...] | None) -> PartLine:
    """A part in a state.

    Args:
        wired: its terminals with wires, as points.
        stops: the parts that stop when it is out; None where that was not asked.
    """
    look, car = seen.look, seen.car
    plan = car.in_states.plan(look)
    load = next((one for circuit in plan.circuits for one in circuit.loads if one.part == part.id), None)
    kind: Kind | None = car.kinds.get(part.kind)
    places = {place.id: place.name or place.id for place in car.filled.places}
    points = tuple(_end(look, point, look.solved.volts.get(point)) for point in wired)
    # a way on which neither volts nor current are is no feed, be it joined to the supply over ever so many coils
    is_fed = any(one.stands in ("live", "between") for one in points) or (load is not None and load.amps >= CARRIES_A)
    return PartLine(
        id=part.id,
        name=part.name or (kind.title if kind is not None else ""),
        kind=part.kind.replace("_", " "),
        place=places.get(part.place, part.place),
        lies=lies_of(look.solved, part.id, None if load is None else load.works),
        amps="" if load is None else amps_text(load.amps),
        points=points,
        fed_by=_others(part.id, look.feeds(*wired)) if is_fed else (),
        back_by=_others(part.id, look.leads_back(*wired)),
        stops=stops,
        href=seen.links.page("part", part.id),
        row_href=row_href(seen.links, part.id),
    )


def _others(part: str, way: tuple[str, ...]) -> tuple[str, ...]:
    """A way without the part itself, unless it is all there is: a battery feeds itself."""
    return tuple(one for one in way if one != part) or way


def wired_points(wires: Iterable[Wire]) -> Mapping[str, tuple[str, ...]]:
    """Part -> its points that some wires end at."""
    found: dict[str, dict[str, None]] = {}
    for wire in wires:
        for end in (wire.from_, wire.to):
            if end and wire.fitted != "removed":
                found.setdefault(end.partition(".")[0], {})[end] = None
    return {part: tuple(sorted(points, key=id_order)) for part, points in found.items()}


def photos_href(links: JobLinks, sheet: str, name: str) -> str:
    """The photos of a thing; empty where there is no page for them."""
    thing = links.things.get(name)
    if thing is None or thing.sheet != sheet:
        return ""
    return links.photos(sheet, thing.key)


def row_href(links: JobLinks, name: str) -> str:
    """The row of a thing in the grid of its sheet; empty where it has none."""
    thing = links.things.get(name)
    return links.cell(thing.sheet, thing.key) if thing is not None else ""


def _end(look: StateLook, point: str, volts: float | None) -> EndLine:
    stands = look.standing(point) if point else ""
    return EndLine(point=point, volts=volts_text(volts) if stands else "", stands=stands)
