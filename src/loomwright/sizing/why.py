"""Why does a cell say what it says: which limit ruled, what every other would ask for, and how much is left to each?

Of a size, a rating or a length here, of a pin in `why_need`. Blank ones are worked out now (and held against what is
kept); of typed ones the same limits are told, with what is left to each at what was typed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace

from loomwright.findings import when_text
from loomwright.job.decided import cut_wires, decision_at
from loomwright.job.job import Job
from loomwright.job.nearest import nearest
from loomwright.job.points import Kinds
from loomwright.refusals import OutOfReach
from loomwright.routes.decisions import length_decisions, stale_lengths
from loomwright.routes.records import Routes
from loomwright.sizing.open_cells import RATING, SIZE
from loomwright.sizing.size_says import fuse_says, method_of, place_of, table_of, wire_says
from loomwright.sizing.sized import Ask, Sized, SizedFuse, SizedWire
from loomwright.sizing.stale import stale_sizes
from loomwright.tables.load import read_rows

__all__ = ["Why", "WhyLimit", "cell_named", "why_length", "why_size"]

LENGTH = "length_mm"
PIN = "pin"
_COLUMNS = {SIZE: ("wires", SIZE), LENGTH: ("wires", LENGTH), "rating_a": ("parts", RATING), RATING: ("parts", RATING),
            PIN: ("needs", PIN)}  # fmt: skip
_UNITS = {SIZE: "mm²", LENGTH: "mm", RATING: "A"}


@dataclass(frozen=True, slots=True, kw_only=True)
class WhyLimit:
    """What one limit asks.

    asks: as it would be typed; empty where it asks for nothing. left_frac: of it, below nothing where broken. [0..1]
    is_least: it is the least there must be, not the most there may be. when: the worst state as it may be typed.
    source, place: where its figure is from. title: of the source.
    """

    limit: str
    asks: str
    says: str
    left_frac: float | None
    is_least: bool
    when: str
    rests_on: tuple[str, ...]
    method: str
    table: str
    source: str
    place: str
    title: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Why:
    """The way back of one cell.

    value: as it would be typed, in `unit`; empty where nothing could be decided.
    stands: typed, cut, decided now, kept, or stale: kept, and now it would be another, or rests on other rows.
    kept: what is kept, where that is something. decided_by: the limit that ruled. why, mend: where nothing was decided.
    """

    cell: str
    value: str
    unit: str
    stands: str
    kept: str
    decided_by: str
    limits: tuple[WhyLimit, ...]
    why: str = ""
    mend: str = ""


def cell_named(job: Job, cell: str) -> tuple[str, str, str]:
    """Sheet, row and column of a cell typed as `W5.size_mm2`, `W5.length_mm`, `F3.rating_a` or `FAN1.pin`.

    Raises:
        OutOfReach: no such wire, part or need, or a column nobody decides.
    """
    row, _, column = cell.partition(".")
    if column not in _COLUMNS:
        raise OutOfReach("cell", cell, f"WIRE.{SIZE}, WIRE.{LENGTH}, FUSE.rating_a or NEED.{PIN}")
    sheet, name = _COLUMNS[column]
    rows = job.wires if sheet == "wires" else job.parts
    there = [one.id for one in (job.needs if sheet == "needs" else (one for one in rows if one.fitted != "removed"))]
    if row not in there:
        like = nearest(row, there)
        raise OutOfReach(f"row of sheet {sheet}", row, "a row that is there" + (f"; nearest: {like}" if like else ""))
    return sheet, row, name


def why_size(job: Job, cell: str, sized: Callable[[tuple[str, ...]], Sized]) -> Why:
    """Why a size or a rating is what it is.

    Args:
        job: as the sheets have it.
        cell: `W5.size_mm2` or `F3.rating_a`.
        sized: what is decided, where some typed cells are looked at as if they were open.
    """
    sheet, row, column = cell_named(job, cell)
    is_given = _is_typed(job, sheet, row) or row in cut_wires(job)
    found = sized((row,) if is_given else ())
    things: Mapping[str, SizedWire | SizedFuse] = found.wires if sheet == "wires" else found.fuses
    thing = things.get(row)
    if thing is None:
        raise OutOfReach("cell", cell, "a wire, or a fuse or breaker with a rating")
    figure = thing.size_mm2 if isinstance(thing, SizedWire) else thing.rating_a
    told = next((one for one in found.unsettled if one.cell == f"{row}.{column.removeprefix('settings.')}"), None)
    kept = decision_at(job, sheet, row, column)
    stale = f"{row}.{column.removeprefix('settings.')}" in stale_sizes(job)
    value = "" if figure is None else f"{figure:g}"
    return Why(
        cell=cell,
        value=value,
        unit=_UNITS[column],
        stands=_stands(value, kept.value if kept is not None else "", is_given, row in cut_wires(job), stale),
        kept="" if kept is None or is_given else kept.value,
        decided_by=thing.decided_by,
        limits=tuple(_limits(found, thing)),
        why="" if told is None else told.why,
        mend="" if told is None else told.mend,
    )


def why_length(job: Job, kinds: Kinds, routes: Routes, cell: str) -> Why:
    """Why a length is what it is; of a typed one, what its route would make."""
    _, row, column = cell_named(job, cell)
    wire = next(one for one in job.wires if one.id == row)
    route = routes.wires.get(row)
    if wire.built_length_mm is not None:
        value, stands = f"{wire.built_length_mm:g}", "cut"
    elif wire.length_mm is not None:
        value, stands = f"{wire.length_mm:g}", "typed"
    else:
        value, stands = ("" if route is None else f"{route.length_mm:g}"), "decided now"
    kept = decision_at(job, "wires", row, column)
    if stands == "decided now" and kept is not None:
        stands = "stale" if row in stale_lengths(job, kinds, routes) else "kept"
    untyped = _with_blank(job, row)
    reasons = [one for one in length_decisions(untyped, kinds, _blank(routes, row))[1] if one.row == row]
    unrouted = routes.unrouted.get(row)
    return Why(
        cell=cell,
        value=value,
        unit=_UNITS[column],
        stands=stands,
        kept="" if kept is None or stands in ("cut", "typed") else kept.value,
        decided_by=stands if stands in ("cut", "typed") else "route" if route is not None else "unsettled",
        limits=tuple(
            WhyLimit(
                limit=one.limit,
                asks=one.asks,
                says=one.says,
                left_frac=None,
                is_least=True,
                when="",
                rests_on=one.rests_on,
                method=one.method,
                table=one.table,
                source=one.source,
                place="",
                title=_title(one.source),
            )
            for one in reasons
        ),
        why="" if unrouted is None else unrouted.why,
        mend="" if unrouted is None else unrouted.mend,
    )


def _limits(sized: Sized, thing: SizedWire | SizedFuse) -> Iterator[WhyLimit]:
    for ask in thing.asks:
        yield WhyLimit(
            limit=ask.limit,
            asks="" if ask.asks is None else f"{ask.asks:g}",
            says=wire_says(thing, ask) if isinstance(thing, SizedWire) else fuse_says(thing, ask),
            left_frac=_left(ask),
            is_least=_is_least(ask),
            when=when_text(tuple(sized.state_of(ask.values).items())),
            rests_on=ask.rests_on,
            method=method_of(ask),
            table=table_of(thing, ask) if ask.found is not None else "",
            source=ask.source,
            place=place_of(thing, ask),
            title=_title(ask.source),
        )


def _left(ask: Ask) -> float | None:
    """How much of a limit is left, as a share of it; below nothing where it is broken. [0..1]"""
    if ask.found is None or not ask.allowed:
        return None
    return ask.found / ask.allowed - 1.0 if _is_least(ask) else 1.0 - ask.found / ask.allowed


def _is_least(ask: Ask) -> bool:
    """Whether the limit is the least there must be."""
    return ask.limit in ("strength", "terminal") or ask.kind == "least"


def _stands(value: str, kept: str, is_given: bool, is_cut: bool, is_stale: bool) -> str:
    if is_given:
        return "cut" if is_cut else "typed"
    if not kept:
        return "decided now"
    return "stale" if is_stale or float(kept) != float(value or "nan") else "kept"


def _is_typed(job: Job, sheet: str, row: str) -> bool:
    if sheet == "wires":
        return any(wire.id == row and wire.size_mm2 is not None for wire in job.wires)
    return any(part.id == row and part.settings.get("rating_a") for part in job.parts)


def _with_blank(job: Job, row: str) -> Job:
    wires = tuple(replace(wire, length_mm=None, built_length_mm=None) if wire.id == row else wire for wire in job.wires)
    return replace(job, wires=wires, progress=tuple(one for one in job.progress if one.wire != row))


def _blank(routes: Routes, row: str) -> Routes:
    """The routes with what stands in one cell left aside."""
    wires = {name: replace(one, stands="blank") if name == row else one for name, one in routes.wires.items()}
    return replace(routes, wires=wires)


def _title(key: str) -> str:
    return next((row["title"] for row in read_rows("sources") if row["key"] == key), "")
