"""How does a connector look from both sides, what sits in each cavity, and what does it read in a state?"""

from __future__ import annotations

from dataclasses import dataclass

from loomwright.car import Car
from loomwright.findings import Finding
from loomwright.handover.connector_faces import Cavity, ConnectorFace, connector_faces
from loomwright.pages.addresses import JobLinks, job_path
from loomwright.pages.records.finding_lines import FindingLine
from loomwright.pages.records.row_cells import RowCells, cells_of
from loomwright.pages.records.state_asked import StateAsked
from loomwright.pages.records.state_words import volts_text
from loomwright.pages.records.touched_things import Seen, photos_href, seen_in
from loomwright.pages.records.touching import findings_about
from loomwright.refusals import OutOfReach
from loomwright.store.photos import Photo
from loomwright.store.snapshot import Snapshot

__all__ = ["CavityLine", "ConnectorPage", "FaceCell", "FaceDrawn", "connector_page"]

_WIDE, _HIGH, _GAP = 44, 40, 6
_MOST_COLUMNS = 24


@dataclass(frozen=True, slots=True, kw_only=True)
class FaceCell:
    """One cavity of a drawn face. x, y: its corner.   colour: of the first wire in it.   is_used: a wire sits there."""

    number: int
    x: int
    y: int
    colour: str
    is_used: bool
    is_energised: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class FaceDrawn:
    """A face from one side. word: wire side or mating side.   wide, high: of the drawing."""

    word: str
    wide: int
    high: int
    cell_wide: int
    cell_high: int
    cells: tuple[FaceCell, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CavityLine:
    """One cavity with what it reads. volts: printed; empty where nothing reaches it."""

    cavity: Cavity
    point: str
    volts: str
    stands: str
    wires: tuple[tuple[str, str, str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ConnectorPage:
    """The page. is_off: it is unplugged in this state.   mates: the other half, name and page."""

    face: ConnectorFace
    says: str
    is_off: bool
    car_href: str
    turn_href: str
    part_href: str
    mates: tuple[tuple[str, str], ...]
    faces: tuple[FaceDrawn, ...]
    cavities: tuple[CavityLine, ...]
    empty: int
    cells: RowCells
    photos: tuple[Photo, ...]
    photos_href: str
    findings: tuple[FindingLine, ...]
    links: JobLinks


def connector_page(
    snapshot: Snapshot,
    car: Car,
    name: str,
    asked: StateAsked,
    links: JobLinks,
    findings: tuple[Finding, ...],
    photos: tuple[Photo, ...],
) -> ConnectorPage:
    """A connector in a state.

    Args:
        name: its id.
        findings: of the whole job, as far as they are known.
        photos: those of the connector.
    Raises:
        OutOfReach: there is no such connector.
    """
    known = connector_faces(car.filled, car.kinds)
    face = next((one for one in known if one.id == name), None)
    if face is None:
        raise OutOfReach("connector", name, " ".join(one.id for one in known) or "none in this job")
    seen = seen_in(car, asked, links)
    lines = tuple(_line(seen, face, cavity) for cavity in face.cavities)
    ids = {one.id for one in known}
    is_off = name in asked.unplugged
    off = tuple(one for one in asked.unplugged if one != name) if is_off else (*asked.unplugged, name)
    touched = {name, *(line.point for line in lines if line.point), *(w[0] for line in lines for w in line.wires)}
    return ConnectorPage(
        face=face,
        says=asked.says,
        is_off=is_off,
        car_href=job_path(links.job, "car", query=asked.query),
        turn_href=job_path(links.job, "connector", name, query={**asked.query, "unplug": ",".join(off)}),
        part_href=seen.links.page("part", face.part),
        mates=tuple(
            (one, seen.links.page("connector" if one in ids else "part", one)) for one in face.mates.split(", ") if one
        ),
        faces=(_drawn(face, lines, mirrored=False), _drawn(face, lines, mirrored=True)),
        cavities=tuple(line for line in lines if line.cavity.terminal or line.cavity.wires),
        empty=sum(not line.cavity.wires for line in lines),
        cells=cells_of(snapshot, car.job, "connectors", name, links),
        photos=photos,
        photos_href=photos_href(links, "connectors", name),
        findings=findings_about(findings, touched, car.variables, links),
        links=seen.links,
    )


def _line(seen: Seen, face: ConnectorFace, cavity: Cavity) -> CavityLine:
    point = f"{face.part}.{cavity.terminal}" if cavity.terminal else ""
    volts = seen.look.solved.volts
    return CavityLine(
        cavity=cavity,
        point=point,
        volts=volts_text(volts[point]) if point in volts else "",
        stands=seen.look.standing(point) if point else "",
        wires=tuple(
            (end.wire, end.colour, end.there or "free end", seen.links.page("wire", end.wire)) for end in cavity.wires
        ),
    )


def _drawn(face: ConnectorFace, lines: tuple[CavityLine, ...], *, mirrored: bool) -> FaceDrawn:
    """A face; the mating side is the wire side mirrored left to right."""
    columns = max((line.cavity.column for line in lines), default=1)
    folded = columns if face.known else min(columns, _MOST_COLUMNS)
    cells = []
    for line in lines:
        column, row = (line.cavity.column - 1) % folded, line.cavity.row - 1 + (line.cavity.column - 1) // folded
        across = folded - 1 - column if mirrored else column
        cells.append(
            FaceCell(
                number=line.cavity.number,
                x=_GAP + across * (_WIDE + _GAP),
                y=_GAP + row * (_HIGH + _GAP),
                colour=line.wires[0][1] if line.wires else "",
                is_used=bool(line.wires),
                is_energised=line.stands in ("live", "between"),
            )
        )
    rows = max((cell.y for cell in cells), default=0) + _HIGH + _GAP
    return FaceDrawn(
        word="mating side" if mirrored else "wire side",
        wide=folded * (_WIDE + _GAP) + _GAP,
        high=rows,
        cell_wide=_WIDE,
        cell_high=_HIGH,
        cells=tuple(cells),
    )
