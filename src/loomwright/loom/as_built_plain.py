"""What a change asks of what is built, as plain data: the same for a command, a page and a program."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from loomwright.job.wire_ends import ENDS
from loomwright.loom.as_built_records import AsBuilt, Ask, BuiltWire
from loomwright.loom.built_steps import STEPS

__all__ = ["as_built_plain", "changed_at"]

Changed = Mapping[tuple[str, str, str], int]


def as_built_plain(told: AsBuilt, changed: Changed | None = None) -> dict[str, Any]:
    """What a change asks, as plain data.

    Args:
        told: what is asked.
        changed: sheet, row and column -> the revision in which that became what it is, where it is known.
    """
    return {
        "minutes": told.minutes,
        "wires": [_wire(wire, changed or {}) for wire in told.wires],
        "fresh": list(told.fresh),
        "uncut": list(told.uncut),
        "proofs": [
            {
                "test": one.test,
                "point": one.point,
                "to": one.to,
                "wires": list(one.wires),
                "says": one.says,
                "minutes": one.minutes,
            }
            for one in told.proofs
        ],
        "unknown_revisions": list(told.unknown),
    }


def changed_at(ask: Ask, changed: Changed) -> int | None:
    """The newest revision in which what an ask is about was changed; None where nobody knows. [-]"""
    rows = {(sheet, row, "") for sheet, row, _ in ask.cells}
    found = [changed[cell] for cell in (*ask.cells, *sorted(rows)) if cell in changed]
    return max(found, default=None)


def _wire(wire: BuiltWire, changed: Changed) -> dict[str, Any]:
    done = [step for step in STEPS if any(step in wire.steps.ends[end] for end in ENDS)]
    return {
        "wire": wire.wire,
        "name": wire.name,
        "since": wire.since,
        "done": [*(["cut"] if wire.steps.cut else []), *done, *(["proved"] if wire.steps.proved else [])],
        "minutes": wire.minutes,
        "stays": list(wire.stays),
        "asks": [
            {
                "does": ask.does,
                "end": ask.end,
                "says": ask.says,
                "was": ask.was,
                "now": ask.now,
                "since": ask.since,
                "changed": changed_at(ask, changed),
                "length_mm": ask.length_mm,
                "minutes": ask.minutes,
                "or_minutes": ask.or_minutes,
            }
            for ask in wire.asks
        ],
    }
