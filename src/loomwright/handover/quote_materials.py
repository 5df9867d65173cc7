"""What has to be bought for a job, and what does the stock sheet say it costs?

Wire comes by size and colour from the cut list, its allowance counted in; cables by their kind; all else from the
parts list, and crimp terminals that no row names as one line. A price is that of the stock row for the same wire (per
metre, of the length it holds; a row of that size without a colour stands for any), or of the row whose item has the
same words; failing that, of the row whose item is the line's first words, up to its comma: `relay` prices every relay
that has no row of its own. What has no price is listed without one.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from loomwright.handover.connector_faces import connector_faces
from loomwright.handover.parts_list import parts_list
from loomwright.handover.quote_records import MaterialLine
from loomwright.job.job import Job
from loomwright.job.rows import StockRow
from loomwright.loom.counter_words import piece_prices, price_of
from loomwright.loom.cut_list import CutList, Reel, cut_list
from loomwright.quantities.printing import with_unit
from loomwright.tables.kinds import Kind

__all__ = ["UNNAMED_TERMINAL", "materials_of"]

UNNAMED_TERMINAL = "crimp terminal, not named"
"""What an end is counted as whose crimp terminal no row names."""

_MILLI = 1000.0
_MADE = ("splice", "busbar", "earth_point")
"""Kinds that are a join: bought where the stock sheet or a row names them."""


def materials_of(job: Job, kinds: Mapping[str, Kind]) -> tuple[MaterialLine, ...]:
    """What has to be bought, wires first.

    Args:
        job: with what was decided filled in.
    """
    return (*_wires(cut_list(job), job.stock), *_cables(cut_list(job), job.stock), *_things(job, kinds))


def _wires(cuts: CutList, stock: Iterable[StockRow]) -> Iterable[MaterialLine]:
    held = tuple(stock)
    for reel in cuts.reels:
        yield MaterialLine(
            item=_reel_words(reel),
            count=sum(cut.cut_mm for cut in reel.cuts) / _MILLI,
            per="m",
            each_price=_metre_price(held, reel),
            ids=tuple(cut.wire for cut in reel.cuts),
        )
    if cuts.unmeasured:
        wires = tuple(wire.id for wire in cuts.unmeasured)
        yield MaterialLine(item="wire, length open", count=float(len(wires)), per="wire", each_price=None, ids=wires)


def _cables(cuts: CutList, stock: Iterable[StockRow]) -> Iterable[MaterialLine]:
    held = {_plain(row.item): row for row in stock}
    for cable in cuts.cables:
        kind = cable.kind or "cable"
        row = held.get(_plain(kind))
        priced = row is not None and row.price is not None and bool(row.length_m)
        known = cable.cut_mm is not None
        yield MaterialLine(
            item=f"cable, {kind}" if kind != "cable" else kind,
            count=(cable.cut_mm or 0.0) / _MILLI if known else 1.0,
            per="m" if known else "cable",
            each_price=(row.price or 0.0) / (row.length_m or 1.0) if row and priced and known else None,
            ids=(cable.id,),
        )


def _things(job: Job, kinds: Mapping[str, Kind]) -> Iterable[MaterialLine]:
    prices = piece_prices(job.stock)
    for line in parts_list(job, kinds, connector_faces(job, kinds), ()).buy:
        yield MaterialLine(
            item=line.item, count=float(line.count), per="piece", each_price=price_of(line.item, prices), ids=line.ids
        )
    joins = {part.id for part in job.parts if part.kind in _MADE and part.kind != "earth_point"}
    ends = [
        (wire.id, end, name)
        for wire in job.wires
        if wire.fitted == "new"
        for end, name in ((wire.from_, wire.terminal_from), (wire.to, wire.terminal_to))
    ]
    bare = [wire for wire, end, name in ends if end and not name and end.partition(".")[0] not in joins]
    if bare:
        yield MaterialLine(
            item=UNNAMED_TERMINAL,
            count=float(len(bare)),
            per="piece",
            each_price=price_of(UNNAMED_TERMINAL, prices),
            ids=tuple(dict.fromkeys(bare)),
        )


def _reel_words(reel: Reel) -> str:
    size = "size open" if reel.size_mm2 is None else with_unit(reel.size_mm2, "mm2")
    return ", ".join(piece for piece in ("wire", size, reel.colour or "colour open", reel.insulation) if piece)


def _metre_price(stock: Iterable[StockRow], reel: Reel) -> float | None:
    """Price of a metre from the reels of that wire, the cheapest that has a price; failing that, of any colour."""
    if reel.size_mm2 is None:
        return None
    size = [row for row in stock if row.size_mm2 == reel.size_mm2 and row.price is not None and row.length_m]
    for colour in (reel.colour, ""):
        found = [(row.price or 0.0) / (row.length_m or 1.0) for row in size if row.colour == colour]
        if found:
            return min(found)
    return None


def _plain(words: str) -> str:
    return " ".join(words.lower().split())
