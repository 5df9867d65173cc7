"""What is known of one wire: its cells, its ends, what it does in a state, why it is as it is, what was done on it?"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loomwright.car import Car
from loomwright.findings import Finding
from loomwright.handover.connector_faces import connector_faces
from loomwright.handover.wire_ends import WireEnd, wire_ends
from loomwright.job.decided import decision_at, reasons_at
from loomwright.job.points import all_terminals, canonical_point, split_point
from loomwright.job.rows import Progress, Reason, Wire
from loomwright.job.vehicle import metals_of
from loomwright.job.wire_ends import seal_at, terminal_at
from loomwright.pages.addresses import JobLinks, job_path
from loomwright.pages.records.car_page import circuit_href
from loomwright.pages.records.finding_lines import FindingLine
from loomwright.pages.records.plugged import Seat, seats_of
from loomwright.pages.records.row_cells import RowCells, cells_of, why_href
from loomwright.pages.records.state_asked import StateAsked
from loomwright.pages.records.touched_things import EndLine, Seen, WireLine, photos_href, seen_in, wire_line
from loomwright.pages.records.touching import findings_about
from loomwright.pages.records.wire_warmth import WireWarmth, wire_warmth
from loomwright.quantities import ending_of, unit_word
from loomwright.refusals import OutOfReach
from loomwright.store.photos import Photo
from loomwright.store.snapshot import Snapshot

__all__ = ["Decided", "EndSeat", "WirePage", "wire_page"]

_COLUMNS = (("size_mm2", "size"), ("length_mm", "length"))


@dataclass(frozen=True, slots=True, kw_only=True)
class EndSeat:
    """One end of a wire: where it is fixed, what sits on it, and which other wires meet it there.

    word: from or to.   part, place: in words.   seats: the cavities of connectors it sits in.
    """

    word: str
    end: EndLine
    part: str
    part_name: str
    part_href: str
    place: str
    crimp: str
    seal: str
    seats: tuple[Seat, ...]
    others: tuple[WireEnd, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Decided:
    """A cell that the tool decided, and the limits it looked at. ruled: the one that decided it."""

    word: str
    value: str
    ruled: str
    reasons: tuple[Reason, ...]
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WirePage:
    """The page. says: the state in words.   line: the wire in it.   fitted: new, kept, donor or removed.

    warmth: None where nothing flows.   state: of the address, to be asked with again.
    """

    id: str
    colour: str
    fitted: str
    says: str
    car_href: str
    circuit: str
    circuit_name: str
    circuit_href: str
    line: WireLine
    warmth: WireWarmth | None
    state: tuple[tuple[str, str], ...]
    ends: tuple[EndSeat, EndSeat]
    cells: RowCells
    decided: tuple[Decided, ...]
    runs: tuple[str, ...]
    not_led: str
    progress: tuple[Progress, ...]
    photos: tuple[Photo, ...]
    photos_href: str
    findings: tuple[FindingLine, ...]
    links: JobLinks


def wire_page(
    snapshot: Snapshot,
    car: Car,
    name: str,
    asked: StateAsked,
    links: JobLinks,
    findings: tuple[Finding, ...],
    photos: tuple[Photo, ...],
    *,
    on: str = "",
    off: str = "",
) -> WirePage:
    """A wire in a state.

    Args:
        name: its id.
        findings: of the whole job, as far as they are known.
        photos: those of the wire.
        on: seconds its current comes on for, over and over, as typed.
        off: seconds it is off between.
    Raises:
        OutOfReach: there is no such wire.
    """
    wire = next((one for one in car.filled.wires if one.id == name), None)
    if wire is None:
        raise OutOfReach("wire", name, f"one of the {len(car.job.wires)} wires of the sheet")
    seen = seen_in(car, asked, links)
    is_there = wire.fitted != "removed"
    stops = car.in_states.stops(seen.look, wire.circuit).get(name) if is_there else None
    line = wire_line(seen, wire, stops)
    meeting = wire_ends(car.filled, car.kinds)
    route, not_led = car.routes.wires.get(name), car.routes.unrouted.get(name)
    circuit = next((one for one in car.job.circuits if one.id == wire.circuit), None)
    return WirePage(
        id=name,
        colour=wire.colour,
        fitted=wire.fitted,
        says=asked.says,
        car_href=job_path(links.job, "car", query=asked.query),
        circuit=wire.circuit or "no circuit",
        circuit_name=circuit.name if circuit is not None else "",
        circuit_href=circuit_href(seen.links, wire.circuit) + f"#{name}" if is_there else "",
        line=line,
        warmth=wire_warmth(car, name, asked, on, off) if is_there else None,
        state=tuple((word, text) for word, text in asked.query.items() if text),
        ends=(
            _end(seen, line.ends[0], "from", wire, meeting),
            _end(seen, line.ends[1], "to", wire, meeting),
        ),
        cells=cells_of(snapshot, car.job, "wires", name, links),
        decided=tuple(
            _decided(car, name, column, word, links) for column, word in _COLUMNS if _is_kept(car, name, column)
        ),
        runs=route.runs if route is not None else (),
        not_led="" if not_led is None else f"{not_led.why}. {not_led.mend}.",
        progress=tuple(one for one in car.job.progress if one.wire == name),
        photos=photos,
        photos_href=photos_href(links, "wires", name),
        findings=findings_about(findings, {name}, car.variables, links),
        links=seen.links,
    )


def _end(seen: Seen, end: EndLine, word: str, wire: Wire, meeting: Mapping[str, tuple[WireEnd, ...]]) -> EndSeat:
    filled = seen.car.filled
    points = all_terminals(filled, seen.car.kinds)
    point = canonical_point(end.point, points, metals_of(filled)) if end.point else ""
    part = next((one for one in filled.parts if one.id == split_point(point)[0]), None)
    places = {place.id: place.name or place.id for place in filled.places}
    seats = seats_of(
        connector_faces(filled, seen.car.kinds),
        {one.id: seen.links.page("connector", one.id) for one in filled.connectors},
    )
    return EndSeat(
        word=word,
        end=end,
        part=part.id if part is not None else point,
        part_name=part.name if part is not None else "the metal itself" if point else "",
        part_href=seen.links.page("part", part.id) if part is not None else "",
        place=places.get(part.place, part.place) if part is not None else "",
        crimp=terminal_at(wire, word),
        seal=seal_at(wire, word),
        seats=seats.get(point, ()),
        others=tuple(one for one in meeting.get(point, ()) if one.wire != wire.id) if part is not None else (),
    )


def _is_kept(car: Car, name: str, column: str) -> bool:
    return decision_at(car.job, "wires", name, column) is not None


def _decided(car: Car, name: str, column: str, word: str, links: JobLinks) -> Decided:
    choice = decision_at(car.job, "wires", name, column)
    return Decided(
        word=word,
        value="" if choice is None else f"{choice.value} {unit_word(ending_of(column) or '')}",
        ruled="" if choice is None else choice.decided_by,
        reasons=reasons_at(car.job, "wires", name, column),
        why=why_href(links, f"{name}.{column}"),
    )
