"""What does a mend take: wire, copper, money?"""

from __future__ import annotations

from dataclasses import dataclass

from loomwright.job.job import Job
from loomwright.job.rows import Wire

__all__ = ["Cost", "cost_of"]

_COPPER_G_PER_MM3 = 0.00896
"""Density of copper, from memory. [g/mm3]"""
_MM_PER_M = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """Wire cut anew, its copper, and its price where the stock has all of it. wire_mm: [mm]   copper_g: [g]"""

    wire_mm: float
    copper_g: float
    price: float | None


def cost_of(before: Job, after: Job) -> Cost:
    """What is cut for an edit: new wires, and wires whose length or size is another.

    Example:
        >>> from loomwright.job.edits import add_row
        >>> new = add_row(Job(), "wires", {"id": "W1", "from": "body", "to": "engine", "size_mm2": "1.5",
        ...                                "length_mm": "1000"})
        >>> round(cost_of(Job(), new).copper_g, 2)
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
    )


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
