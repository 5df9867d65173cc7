"""What does each circuit of a job look like, drawn as current flows?

One drawing a circuit, in one or more sheets, in the order of the sheet `circuits`; wires that belong to no circuit
come last. Supplies along the top, earth along the bottom, every wire once, in its colours, with size, colour and id.

    wiring    the car: who is joined to whom, how far from supply and earth
    contents  what belongs on a circuit's drawing
    rows, ordering, spacing, channels, layout    where it stands
    painting, wires, page                        strokes and words
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import floor

from loomwright.drawings.content.contents import sketch_of
from loomwright.drawings.content.sketch import SIDES, Ref, Sketch, Words
from loomwright.drawings.content.way_steps import WayStep, way_wiring
from loomwright.drawings.content.wiring import Wiring, wiring_of
from loomwright.drawings.page import A4, Title, field_mm, page_items, track_lines
from loomwright.drawings.painting.way_marks import ShownWay
from loomwright.drawings.painting.wires import label_places
from loomwright.drawings.placing.layout import Laid, stretched
from loomwright.drawings.placing.lettering import NO_CIRCUIT
from loomwright.drawings.placing.room import main_pin
from loomwright.drawings.sheets import sheets_of
from loomwright.drawings.symbols.items import Drawing
from loomwright.job.job import Job
from loomwright.job.points import Kinds

__all__ = ["LaidCircuits", "LaidSheet", "Places", "circuit_drawings", "laid_circuits", "painted_circuit", "way_laid"]

_MOST_LARGER = 1.3
"""A small circuit is drawn larger, up to this. [-]"""

_AIR_MM = 5.0
"""How much longer every channel had better be before a circuit is drawn larger. [mm]"""

_SYMBOLS = ("inline", "comb", "bridge", "box", "table", "bar", "battery", "controller", "earth")
Places = dict[tuple[str, str], int]
"""(circuit, wire or point) -> the track it is drawn on."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LaidSheet:
    """One sheet of a circuit with its page.

    page_mm: how wide and how high the page is. [mm]   scale: how many times its own size it is drawn. [-]

    small: laid out at its smallest.   laid: pulled apart for the page.   first_track: its first track's number. [-]
    """

    circuit: str
    small: Laid
    laid: Laid
    page_mm: tuple[float, float]
    scale: float
    first_track: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LaidCircuits:
    """All circuits of a job laid out, nothing painted yet. sheets: by circuit, in the order of the job.

    places: on which track every wire and every point is.
    """

    wiring: Wiring
    sheets: Mapping[str, tuple[LaidSheet, ...]]
    places: Places


def circuit_drawings(laid: LaidCircuits) -> tuple[Drawing, ...]:
    """Every circuit's drawing, sheet by sheet.

    Example:
        >>> from loomwright.job.reading import job_from_text
        >>> from loomwright.tables.kinds import load_kinds
        >>> parts = [{"id": "B", "kind": "battery"}, {"id": "L", "kind": "lamp"}]
        >>> ends = [("B.+", "L.1"), ("L.2", "body"), ("body", "B.-")]
        >>> wires = [{"id": f"W{n}", "from": a, "to": b} for n, (a, b) in enumerate(ends)]
        >>> job = job_from_text({"parts": parts, "wires": wires})
        >>> [drawing.title for drawing in circuit_drawings(laid_circuits(job, load_kinds()))]
        ['wires without a circuit']
    """
    return tuple(drawing for circuit in laid.sheets for drawing in painted_circuit(laid, circuit))


def painted_circuit(
    laid: LaidCircuits, circuit: str, way: ShownWay | None = None, name: str = ""
) -> tuple[Drawing, ...]:
    """The sheets of one circuit; none where it has no wires.

    Args:
        circuit: its id; empty: the wires of none.
        way: of a current, to be shown heavier; everything else is drawn back.
        name: printed in its title strip; its own where empty.
    """
    sheets = laid.sheets.get(circuit, ())
    return tuple(
        _drawing(laid.wiring, sheet, number, len(sheets), laid.places, way, name)
        for number, sheet in enumerate(sheets, start=1)
    )


def way_laid(wiring: Wiring, steps: Sequence[WayStep]) -> tuple[LaidCircuits, str]:
    """The wires of a way and the parts they end at, laid out as one circuit; and the name it goes by.

    Args:
        wiring: the whole car.
    """
    name = _free_name("way", wiring)
    way = way_wiring(wiring, steps, name)
    sheets: list[LaidSheet] = []
    sketch = sketch_of(way, name)
    track = 1
    for laid in sheets_of(way, _with_known_refs(sketch, {name: _drawn_points(sketch)})) if steps else ():
        sheets.append(_paged(way, name, laid, track))
        track += len(track_lines(sheets[-1].laid))
    return LaidCircuits(wiring=way, sheets={name: tuple(sheets)}, places=_places(sheets)), name


def laid_circuits(job: Job, kinds: Kinds) -> LaidCircuits:
    """Every circuit laid out, and where on which drawing everything is.

    Args:
        kinds: those of the library; the job's own are added.
    """
    wiring = wiring_of(job, kinds)
    used = set(wiring.of_circuit)
    circuits = [row.id for row in job.circuits if row.id in used] + ([""] if "" in used else [])
    sketches = {circuit: sketch_of(wiring, circuit) for circuit in circuits}
    drawn = {circuit: _drawn_points(sketch) for circuit, sketch in sketches.items()}
    sheets: list[LaidSheet] = []
    for circuit, sketch in sketches.items():
        track = 1
        for laid in sheets_of(wiring, _with_known_refs(sketch, drawn)):
            sheets.append(_paged(wiring, circuit, laid, track))
            track += len(track_lines(sheets[-1].laid))
    own: dict[str, list[LaidSheet]] = {}
    for sheet in sheets:
        own.setdefault(sheet.circuit, []).append(sheet)
    return LaidCircuits(
        wiring=wiring, sheets={circuit: tuple(found) for circuit, found in own.items()}, places=_places(sheets)
    )


def _drawn_points(sketch: Sketch) -> frozenset[str]:
    """The wires and the points that a circuit's drawing shows whole."""
    points = {port.point for unit in sketch.units if unit.form in _SYMBOLS for port in unit.ports}
    return frozenset(points | {link.wire for link in sketch.links if link.wire})


def _with_known_refs(sketch: Sketch, drawn: Mapping[str, frozenset[str]]) -> Sketch:
    """The same sketch; a reference to what its circuit does not show goes to one that does, or away."""

    def known(piece: str | Ref) -> str | Ref | None:
        if not isinstance(piece, Ref) or piece.target in drawn.get(piece.circuit, ()):
            return piece
        if piece.otherwise in drawn.get(piece.circuit, ()):
            return replace(piece, target=piece.otherwise)
        other = next((circuit for circuit, shown in drawn.items() if piece.target in shown), None)
        return None if other is None else replace(piece, circuit=other)

    def said(words: Words) -> Words | None:
        pieces = [known(piece) for piece in words.pieces]
        if any(piece is None for piece in pieces):
            return None
        return replace(words, pieces=tuple(piece for piece in pieces if piece is not None))

    units = [
        replace(unit, words=tuple(words for one in unit.words if (words := said(one)) is not None))
        for unit in sketch.units
    ]
    return replace(sketch, units=tuple(units))


def _paged(wiring: Wiring, circuit: str, laid: Laid, first_track: int) -> LaidSheet:
    """A sheet on the page it takes: upright or lying, whichever it fills better, or as large as it needs."""
    fitting = [
        (*_filled(laid, page), rank, page)
        for rank, page in ((1, A4), (0, A4[::-1]))
        if laid.wide_mm <= field_mm(*page)[0] and laid.high_mm <= field_mm(*page)[1]
    ]
    if fitting:
        page = max(fitting)[3]
    else:
        wide, high = field_mm(*A4[::-1])
        page = (A4[1] + max(0.0, laid.wide_mm - wide), A4[0] + max(0.0, laid.high_mm - high))
    wide, high = field_mm(*page)
    scale = _scale(laid, page)
    return LaidSheet(
        circuit=circuit,
        small=laid,
        laid=stretched(wiring, laid, wide_mm=wide / scale, high_mm=high / scale),
        page_mm=page,
        scale=scale,
        first_track=first_track,
    )


def _scale(laid: Laid, page: tuple[float, float]) -> float:
    wide, high = field_mm(*page)
    room = min(wide / max(laid.wide_mm, 1.0), high / (laid.high_mm + _AIR_MM * len(laid.channels)))
    return min(_MOST_LARGER, max(1.0, floor(room * 20) / 20))


def _filled(laid: Laid, page: tuple[float, float]) -> tuple[float, float]:
    """How much of a page's field a sheet takes, and of its height, in tenths: little differences turn no page. [-]"""
    wide, high = field_mm(*page)
    scale = _scale(laid, page)
    across = min(1.0, laid.wide_mm * scale * 1.2 / wide)
    down = min(1.0, laid.high_mm * scale * 1.4 / high)
    return round(10 * across * down), round(10 * down)


def _places(sheets: Sequence[LaidSheet]) -> Places:
    """Where every wire and every point of a symbol is: the number of its track."""
    found: Places = {}
    for sheet in sheets:
        lines = track_lines(sheet.laid)
        for wire, x in label_places(sheet.laid).items():
            found.setdefault((sheet.circuit, wire), sheet.first_track + _nearest(lines, x))
        for number, unit in enumerate(sheet.laid.sketch.units):
            if unit.form not in _SYMBOLS:
                continue
            for side in SIDES:
                for port, pins in sheet.laid.order.ports[number, side]:
                    point = unit.ports[port].point
                    x = sheet.laid.at[main_pin(pins)]
                    found.setdefault((sheet.circuit, point), sheet.first_track + _nearest(lines, x))
    return found


def _nearest(lines: Sequence[float], x: float) -> int:
    return min(range(len(lines)), key=lambda number: (abs(lines[number] - x), number))


def _drawing(
    wiring: Wiring, sheet: LaidSheet, number: int, count: int, places: Places, way: ShownWay | None, name: str
) -> Drawing:
    title = _title(wiring, sheet, number, count)
    title = replace(title, name=name) if name else title
    items, tracks = page_items(
        wiring,
        sheet.laid,
        title,
        width_mm=sheet.page_mm[0],
        height_mm=sheet.page_mm[1],
        scale=sheet.scale,
        first_track=sheet.first_track,
        place=lambda ref: str(places.get((ref.circuit, ref.target), "?")),
        way=way,
    )
    return Drawing(
        id=sheet.circuit or _free_id(wiring),
        title=title.name,
        sheet=number,
        sheets=count,
        width_mm=sheet.page_mm[0],
        height_mm=sheet.page_mm[1],
        tracks=tracks,
        items=items,
    )


def _free_id(wiring: Wiring) -> str:
    """A name for the drawing of wires without a circuit that no circuit has."""
    return _free_name(NO_CIRCUIT.replace(" ", "_"), wiring)


def _free_name(name: str, wiring: Wiring) -> str:
    while any(row.id == name for row in wiring.job.circuits):
        name += "_"
    return name


def _title(wiring: Wiring, sheet: LaidSheet, number: int, count: int) -> Title:
    row = next((one for one in wiring.job.circuits if one.id == sheet.circuit), None)
    fuses = list(
        dict.fromkeys(
            unit.about
            for unit in sheet.laid.sketch.units
            if unit.form == "inline" and unit.about in wiring.parts and wiring.kind(unit.about).duty == "protection"
        )
    )
    fields = [("sheet", f"{number} of {count}")]
    if row is not None:
        fuse = " ".join(fuses[:3]) + (" …" if len(fuses) > 3 else "")
        fields = [("class", row.class_ or "–"), ("feed", row.feed or "–"), ("fuse", fuse or "–"), *fields]
    name = "wires without a circuit" if not sheet.circuit else row.name if row is not None else ""
    return Title(id=sheet.circuit, name=name, fields=tuple(fields))
