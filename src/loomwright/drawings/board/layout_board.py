"""What is drawn on the layout board, in which layers, and what could not be?

The loom flattened at its true size, in millimetres: pegs at the places, the runs between them, wraps where branches
part, tails with their labels where wires come out, a card at every peg and at every run, each run's turn in the order
of sleeving. What no run leads is told in `missing`, never left out in silence.

Source: that a wrap of tape holds each branch beside its peg, and that the label sits a little before the end: common
practice, no source. The lengths are those of the runs and of what was cut.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from loomwright.drawings.board.board_items import BoardLook, LayerItem, board_items
from loomwright.drawings.board.flattened import Flattened, Piece, flattened
from loomwright.drawings.board.loose_ends import LooseEnd, loose_ends
from loomwright.drawings.board.sleeving import Sleeve, sleeving
from loomwright.drawings.content.wiring import wiring_of
from loomwright.drawings.symbols.items import moved
from loomwright.findings import id_order
from loomwright.job.decided import with_decided
from loomwright.job.job import Job
from loomwright.job.points import Kinds
from loomwright.routes.bundles import bundles
from loomwright.routes.records import Routes
from loomwright.routes.run_map import HUNDREDTHS, run_map
from loomwright.tables.coverings import covered_mm

__all__ = ["Board", "Missing", "Overview", "layout_board"]

_FITTED = ("new", "donor")
_EDGE_MM = 30.0
_EDGE_PAGE_MM = 6.0
_WORDS_MM = 20.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Missing:
    """What is not on the board. what: wire, run or place.   why, mend: in words."""

    id: str
    what: str
    why: str
    mend: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Overview:
    """The whole board on a page.

    scale: of the pegs' spots; words keep their size. [-]
    across_mm, down_mm: where the first peg's corner lies on the page. [mm]   width_mm, height_mm: all of it. [mm]
    """

    items: tuple[LayerItem, ...]
    scale: float
    across_mm: float
    down_mm: float
    width_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Board:
    """The layout board at its true size.

    items: (layer, what is drawn), in the order in which it is drawn; places are names where the job gives them.
    width_mm, height_mm: with an edge all round. [mm]   left_mm, top_mm: where the first peg's corner is. [mm]
    """

    title: str
    flat: Flattened
    items: tuple[LayerItem, ...]
    width_mm: float
    height_mm: float
    left_mm: float
    top_mm: float
    sleeves: tuple[Sleeve, ...]
    ends: tuple[LooseEnd, ...]
    missing: tuple[Missing, ...]
    names: Mapping[str, str]

    @property
    def length_mm(self) -> float:
        """All runs together. [mm]"""
        return sum(one.length_mm for one in self.flat.branches)

    def overview(self, width_mm: float, height_mm: float) -> Overview:
        """The same on a page, as large as it fits.

        Args:
            width_mm: room across. [mm]
            height_mm: room down. [mm]
        """
        room = max(width_mm - 2 * _WORDS_MM, 1.0), max(height_mm - 2 * _WORDS_MM, 1.0)
        scale = min(room[0] / max(self.flat.width_mm, 1.0), room[1] / max(self.flat.height_mm, 1.0), 1.0)
        look = BoardLook(scale=scale, is_overview=True)
        items, (left, top, right, bottom) = board_items(self.flat, self.ends, self.sleeves, self.names, look)
        # the sheets' edges lie round the pegs by as much as the board's own edge, scaled
        left, top = min(left, -self.left_mm * scale), min(top, -self.top_mm * scale)
        right = max(right, (self.width_mm - self.left_mm) * scale)
        bottom = max(bottom, (self.height_mm - self.top_mm) * scale)
        across, down = _EDGE_PAGE_MM - left, _EDGE_PAGE_MM - top
        return Overview(
            items=_shifted(items, across, down),
            scale=scale,
            across_mm=across,
            down_mm=down,
            width_mm=right - left + 2 * _EDGE_PAGE_MM,
            height_mm=bottom - top + 2 * _EDGE_PAGE_MM,
        )


def layout_board(job: Job, kinds: Kinds, routes: Routes, title: str = "") -> Board:
    """The layout board of a job.

    Args:
        job: with what was decided filled in.
        kinds: the library's and the job's own.
        routes: of the same job.
        title: printed on every sheet.
    """
    filled = with_decided(job)
    fitted = {wire.id for wire in filled.wires if wire.fitted in _FITTED}
    stretches = run_map(job).stretches
    laid = {name: sum(wire in fitted for wire in dict.fromkeys(routes.runs.get(name, ()))) for name in stretches}
    pieces = [
        Piece(
            run=name,
            one=one.one,
            other=one.other,
            length_mm=one.hundredths / HUNDREDTHS,
            wires=laid[name],
        )
        for name, one in stretches.items()
        if laid[name] and one.one != one.other
    ]
    flat = flattened(pieces)
    coverings = {run.id: run.covering for run in job.runs}
    thick = {
        name: None if one.bundle_mm is None else covered_mm(one.bundle_mm, one.covering)
        for name, one in bundles(job, routes).items()
    }
    sleeves = sleeving(flat, coverings, thick)
    ends = loose_ends(filled, routes, wiring_of(filled, kinds).plugs)
    names = {place.id: place.name for place in job.places}
    items, (left, top, right, bottom) = board_items(flat, ends, sleeves, names, BoardLook())
    across, down = _EDGE_MM - left, _EDGE_MM - top
    return Board(
        title=title,
        flat=flat,
        items=_shifted(items, across, down),
        width_mm=right - left + 2 * _EDGE_MM,
        height_mm=bottom - top + 2 * _EDGE_MM,
        left_mm=across,
        top_mm=down,
        sleeves=sleeves,
        ends=ends,
        missing=_missing(job, routes, ends, {peg.place for peg in flat.pegs}, fitted),
        names=names,
    )


def _shifted(items: Iterable[LayerItem], across: float, down: float) -> tuple[LayerItem, ...]:
    """The same items elsewhere, each in its layer. [mm]"""
    return tuple((layer, moved((item,), x_mm=across, y_mm=down)[0]) for layer, item in items)


def _missing(
    job: Job, routes: Routes, ends: Sequence[LooseEnd], pegs: Collection[str], fitted: Collection[str]
) -> tuple[Missing, ...]:
    """What is not drawn, and why."""
    found = [
        Missing(id=one.wire, what="wire", why=one.why, mend=one.mend)
        for one in routes.unrouted.values()
        if one.wire in fitted
    ]
    for run in job.runs:
        if run.id in routes.unmeasured:
            why = "Its length is blank, and its places have no coordinates."
            found.append(Missing(id=run.id, what="run", why=why, mend="Measure it and type length_mm."))
    alone: dict[str, list[str]] = {}
    for end in ends:
        if end.place not in pegs:
            alone.setdefault(end.place, []).extend(end.wires)
    for place, wires in alone.items():
        names = " ".join(sorted(dict.fromkeys(wires), key=id_order))
        why = f"No run with wires of the loom comes to it; {names} lie there from end to end."
        found.append(Missing(id=place, what="place", why=why, mend="Make them beside the board."))
    return tuple(found)
