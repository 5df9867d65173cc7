"""What does a mend take: wire, copper, parts, money?

Parts that are new, and those whose settings are others, are bought; each at the price of the stock row with its words
(`loom.counter_words`). What the stock has no price for is told so, and never counted as nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loomwright.job.job import Job
from loomwright.job.rows import Wire
from loomwright.loom.counter_words import counter_words, piece_prices, price_of
from loomwright.tables.kinds import Kind

__all__ = ["Bought", "Cost", "cost_of"]

_COPPER_G_PER_MM3 = 0.00896
"""Density of copper, from memory. [g/mm3]"""
_MM_PER_M = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Bought:
    """A part that is bought. id: of its row.   item: as at the counter.   price: None where the stock has none."""

    id: str
    item: str
    price: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """What an edit takes.

    wire_mm: wire cut anew. [mm]   copper_g: its copper. [g]   price: of that wire where the stock has all of it.
    bought: parts.
    """

    wire_mm: float
    copper_g: float
    price: float | None
    bought: tuple[Bought, ...] = ()


def cost_of(before: Job, after: Job, kinds: Mapping[str, Kind]) -> Cost:
    """What is cut and bought for an edit: new wires and parts, and those whose length, size or settings are others.

    Example:
        >>> from loomwright.job.edits import add_row
        >>> new = add_row(Job(), "wires", {"id": "W1", "from": "body", "to": "engine", "size_mm2": "1.5",
        ...                                "length_mm": "1000"})
        >>> round(cost_of(Job(), new, {}).copper_g, 2)
        13.44
    """
    old = {wire.id: (wire.size_mm2, wire.length_mm) for wire in before.wires}
    cut = [wire for wire in after.wires if old.get(wire.id) != (wire.size_mm2, wire.length_mm)]
    known = [(wire.size_mm2, wire.length_mm) for wire in cut if wire.size_mm2 and wire.length_mm]
    prices = [_price(after, wire) for wire in cut]
    return Cost(
        wire_mm=sum((length for _, length in known), 0.0),
        copper_g=sum((size * length * _COPPER_G_PER_MM3 for size, length in known), 0.0),
        price=None
        if not prices or any(one is None for one in prices)
        else sum(one for one in prices if one is not None),
        bought=_bought(before, after, kinds),
    )


def _bought(before: Job, after: Job, kinds: Mapping[str, Kind]) -> tuple[Bought, ...]:
    old = {part.id: (part.kind, dict(part.settings)) for part in before.parts}
    prices = piece_prices(after.stock)
    new = [part for part in after.parts if old.get(part.id) != (part.kind, dict(part.settings))]
    words = [(part.id, counter_words(part, kinds)) for part in new]
    return tuple(Bought(id=name, item=item, price=price_of(item, prices)) for name, item in words)


def _price(job: Job, wire: Wire) -> float | None:
    """The price of one wire by the stock: of its size, its own colour where there is one."""
    rows = [
        row
        for row in job.stock
        if row.item == "wire" and row.size_mm2 == wire.size_mm2 and row.price is not None and row.length_m
    ]
    rows.sort(key=lambda row: str(row.colour or "") != str(wire.colour or "").split("/")[0])
    if not rows or wire.length_mm is None:
        return None
    first = rows[0]
    return (first.price or 0.0) / (first.length_m or 1.0) * wire.length_mm / _MM_PER_M
