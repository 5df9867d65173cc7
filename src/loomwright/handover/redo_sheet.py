"""How is it printed what changes ask of what is built already?

In: what is asked (`AsBuilt`). Out: the same in the order it is worked through, every figure as printed; wires first,
the gravest asks first, then the proofs to take again. What may stay as it is stands last. Where the record does not
tell, the sheet says so. Empty where nothing is built, or nothing is asked of it.
"""

from __future__ import annotations

from dataclasses import dataclass

from loomwright.loom.as_built_records import ASKS, AsBuilt
from loomwright.quantities import for_print

__all__ = ["NOTHING_ASKED", "RedoRow", "RedoSheet", "redo_sheet"]

_HOUR_MINUTES = 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class RedoRow:
    """One thing to do. since: the revision it was built from, `?` where the record has none. minutes: as printed."""

    wire: str
    does: str
    says: str
    since: str
    minutes: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RedoSheet:
    """Everything to do to what is built. hours: in all, as printed. proofs: what to take again."""

    rows: tuple[RedoRow, ...] = ()
    proofs: tuple[str, ...] = ()
    hours: str = ""


NOTHING_ASKED = RedoSheet()
"""What is printed where nothing is asked."""


def redo_sheet(built: AsBuilt) -> RedoSheet:
    """What changes ask of what is built, as it is printed."""
    order = {does: place for place, does in enumerate(ASKS)}
    asks = sorted(built.asks, key=lambda ask: order[ask.does])
    if not asks and not built.proofs:
        return NOTHING_ASKED
    return RedoSheet(
        rows=tuple(
            RedoRow(
                wire=ask.wire,
                does=ask.does,
                says=ask.says,
                since="?" if ask.since is None else str(ask.since),
                minutes=for_print(ask.minutes, side="up") if ask.minutes else "",
            )
            for ask in asks
        ),
        proofs=tuple(proof.says for proof in built.proofs),
        hours=for_print(built.minutes / _HOUR_MINUTES, side="up", digits=2),
    )
