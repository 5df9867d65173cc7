"""What is known of one part: its cells, its terminals with their wires, what it does in a state, what hangs on it?"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loomwright.car import Car
from loomwright.findings import Finding, id_order
from loomwright.handover.circuit_plan import homes_of
from loomwright.handover.connector_faces import connector_faces
from loomwright.handover.wire_ends import WireEnd, wire_ends
from loomwright.job.points import all_terminals
from loomwright.job.rows_car import Part
from loomwright.pages.addresses import JobLinks, job_path
from loomwright.pages.records.car_page import circuit_href
from loomwright.pages.records.finding_lines import FindingLine
from loomwright.pages.records.plugged import Seat, seats_of
from loomwright.pages.records.row_cells import RowCells, cells_of
from loomwright.pages.records.state_asked import StateAsked
from loomwright.pages.records.state_words import volts_text
from loomwright.pages.records.touched_things import PartLine, Seen, photos_href, seen_in
from loomwright.pages.records.touched_things import part_lines as lines_of
from loomwright.pages.records.touching import findings_about
from loomwright.refusals import OutOfReach
from loomwright.store.photos import Photo
from loomwright.store.snapshot import Snapshot
from loomwright.tables.kinds import load_kinds
from loomwright.tables.limits import terminal_meaning

__all__ = ["PartPage", "TerminalLine", "part_page"]


@dataclass(frozen=True, slots=True, kw_only=True)
class TerminalLine:
    """One terminal. point: whole.   volts: printed, empty where no wire reaches it.   stands: in a word.

    does: what a controller's pin does, or what its number means.   wires: that end there.   seats: cavities it sits in.
    """

    name: str
    point: str
    volts: str
    stands: str
    does: str
    wires: tuple[WireEnd, ...]
    seats: tuple[Seat, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PartPage:
    """The page. says: the state in words.   circuits: that its wires are of, name and page."""

    id: str
    name: str
    kind: str
    kind_title: str
    place: str
    fitted: str
    says: str
    car_href: str
    circuits: tuple[tuple[str, str], ...]
    line: PartLine
    terminals: tuple[TerminalLine, ...]
    open_terminals: tuple[str, ...]
    connectors: tuple[tuple[str, str], ...]
    cells: RowCells
    photos: tuple[Photo, ...]
    photos_href: str
    findings: tuple[FindingLine, ...]
    links: JobLinks


def part_page(
    snapshot: Snapshot,
    car: Car,
    name: str,
    asked: StateAsked,
    links: JobLinks,
    findings: tuple[Finding, ...],
    photos: tuple[Photo, ...],
) -> PartPage:
    """A part in a state.

    Args:
        name: its id.
        findings: of the whole job, as far as they are known.
        photos: those of the part.
    Raises:
        OutOfReach: there is no such part.
    """
    part = next((one for one in car.filled.parts if one.id == name), None)
    if part is None:
        raise OutOfReach("part", name, f"one of the {len(car.job.parts)} parts of the sheet")
    seen = seen_in(car, asked, links)
    kind = car.kinds.get(part.kind)
    home = homes_of(car.filled).get(name, "")
    stops = car.in_states.stops(seen.look, home) if part.fitted != "removed" else {}
    line = lines_of(seen, [name], stops, car.filled.wires)[0]
    hrefs = {one.id: seen.links.page("connector", one.id) for one in car.filled.connectors}
    terminals = _terminals(car, part, seen, hrefs)
    circuits = list(dict.fromkeys(end.circuit for one in terminals for end in one.wires))
    return PartPage(
        id=name,
        name=part.name,
        kind=part.kind,
        kind_title=kind.title if kind is not None else part.kind.replace("_", " "),
        place=line.place,
        fitted=part.fitted,
        says=asked.says,
        car_href=job_path(links.job, "car", query=asked.query),
        circuits=tuple((one or "no circuit", circuit_href(seen.links, one) + f"#{name}") for one in circuits),
        line=line,
        terminals=tuple(one for one in terminals if one.wires),
        open_terminals=tuple(one.name for one in terminals if not one.wires),
        connectors=tuple((one.id, hrefs[one.id]) for one in car.filled.connectors if one.part == name),
        cells=cells_of(snapshot, car.job, "parts", name, links),
        photos=photos,
        photos_href=photos_href(links, "parts", name),
        findings=findings_about(findings, {name}, car.variables, links),
        links=seen.links,
    )


def _terminals(car: Car, part: Part, seen: Seen, hrefs: Mapping[str, str]) -> list[TerminalLine]:
    """Every terminal of a part, those that only a wire names among them."""
    ends = wire_ends(car.filled, car.kinds)
    seats = seats_of(connector_faces(car.filled, car.kinds), hrefs)
    does, volts = _does(car, part), seen.look.solved.volts
    own = all_terminals(car.filled, car.kinds).get(part.id, ())
    wired = (point.partition(".")[2] for point in ends if point.startswith(f"{part.id}."))
    found = []
    for name in sorted({*own, *wired} - {""}, key=id_order):
        point = f"{part.id}.{name}"
        found.append(
            TerminalLine(
                name=name,
                point=point,
                volts=volts_text(volts[point]) if point in volts else "",
                stands=seen.look.standing(point),
                does=does.get(name, ""),
                wires=ends.get(point, ()),
                seats=seats.get(point, ()),
            )
        )
    return found


def _does(car: Car, part: Part) -> Mapping[str, str]:
    """What each pin of a controller does: its need's words, else its abilities; of other parts, what a number means."""
    kind = load_kinds().get(part.kind)
    names = () if kind is None else tuple(one.name for one in kind.terminals)
    told = {name: terminal_meaning(name, names) or "" for name in names}
    needs = {need.pin: need.does.replace("_", " ") for need in car.filled.needs if need.pin and need.does}
    return told | {
        pin.terminal: needs.get(pin.id)
        or needs.get(f"{part.id}.{pin.terminal}")
        or ", ".join(one.replace("_", " ") for one in pin.abilities)
        for pin in car.filled.controller_pins
        if pin.part == part.id
    }
