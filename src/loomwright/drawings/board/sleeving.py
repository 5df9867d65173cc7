"""In what order is the loom covered?

A tube that has no slit is pushed on from an open end, over nothing thicker than the wires. So it goes on before the
ends beyond it are crimped, and the run nearest the start of the loom first: once a branch is made, no tube passes it.
Tape and open wrap need no end and go on last, again from the start outward, so that each lap shuts the one before.

Source: common practice, no source. Which coverings are tubes: `tables/coverings.csv`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from loomwright.drawings.board.flattened import Flattened
from loomwright.tables.coverings import is_pushed_on

__all__ = ["Sleeve", "sleeving"]

How = Literal["push on", "wrap", "open"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sleeve:
    """One step. number: its turn. [-]   how: pushed on, wrapped, or nothing over it.   covering: as the sheet has it.

    length_mm: of the run it covers. [mm]   thick_mm: of the bundle with it; None: not known. [mm]
    """

    number: int
    run: str
    how: How
    covering: str
    length_mm: float
    thick_mm: float | None


def sleeving(flat: Flattened, coverings: Mapping[str, str], thick_mm: Mapping[str, float | None]) -> tuple[Sleeve, ...]:
    """The runs in the order in which they are covered.

    Args:
        coverings: run -> as the sheet has it.
        thick_mm: run -> with its covering. [mm]
    """
    depth = _depths(flat)
    found = [
        (_how(coverings.get(one.run, "")), depth[one.end], number, one) for number, one in enumerate(flat.branches)
    ]
    turns: Sequence[How] = ("push on", "wrap", "open")
    found.sort(key=lambda one: (turns.index(one[0]), one[1], one[2]))
    return tuple(
        Sleeve(
            number=number,
            run=one.run,
            how=how,
            covering=coverings.get(one.run, ""),
            length_mm=one.length_mm,
            thick_mm=thick_mm.get(one.run),
        )
        for number, (how, _, _, one) in enumerate(found, start=1)
    )


def _how(covering: str) -> How:
    if is_pushed_on(covering):
        return "push on"
    return "wrap" if covering.strip() else "open"


def _depths(flat: Flattened) -> Mapping[int, int]:
    """How many runs out from the start of its loom each peg lies; branches come in order, nearer ones first."""
    found: dict[int, int] = {}
    for branch in flat.branches:
        found[branch.end] = found.get(branch.start, 0) + 1
    return found
