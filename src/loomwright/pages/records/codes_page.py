"""Which square codes are cut out for labels and lids, and what does each lead to?"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from loomwright.drawings.square_code import square_code
from loomwright.job.job import Job
from loomwright.pages.addresses import job_path
from loomwright.worklist.day import Card, cards_of

__all__ = ["CodeCut", "CodesPage", "codes_page"]

_QUIET = 4
"""Light squares round a code: ISO/IEC 18004. [-]"""
_ON_LIDS = ("fuse", "relay", "breaker")


@dataclass(frozen=True, slots=True, kw_only=True)
class CodeCut:
    """One code to cut out. squares: along a side, the light edge among them. [-]   path: of its dark ones, for SVG."""

    id: str
    colour: str
    here: str
    there: str
    says: str
    href: str
    squares: int
    path: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CodesPage:
    """The page. wires: for labels.   lids: fuses and relays.   address: that the codes begin with.

    is_own: it leads to this machine alone, so that no other device finds it.
    """

    wires: tuple[CodeCut, ...]
    lids: tuple[CodeCut, ...]
    address: str
    is_own: bool


def codes_page(name: str, job: Job, address: str, *, is_own: bool) -> CodesPage:
    """The page.

    Args:
        name: of the job.
        job: with what was decided filled in.
        address: of this desk, as devices ask for it, without a stroke at its end.
        is_own: only this machine finds it there.
    """
    kinds = {part.id: part.kind for part in job.parts}
    cards = cards_of(job)
    return CodesPage(
        wires=tuple(_cut(name, card, address) for card in cards if card.sheet == "wires"),
        lids=tuple(
            _cut(name, card, address) for card in cards if card.sheet == "parts" and kinds[card.id].startswith(_ON_LIDS)
        ),
        address=address,
        is_own=is_own,
    )


def _cut(name: str, card: Card, address: str) -> CodeCut:
    href = job_path(name, "wire" if card.sheet == "wires" else "part", card.id)
    squares, path = _drawn(address + href)
    return CodeCut(
        id=card.id,
        colour=card.colour,
        here=card.here,
        there=card.there,
        says=" ".join(card.wires) if card.sheet == "parts" else "",
        href=href,
        squares=squares,
        path=path,
    )


@lru_cache(maxsize=4096)
def _drawn(text: str) -> tuple[int, str]:
    """A code's squares along a side and the path of its dark ones: milliseconds each, and the same for ever."""
    rows = square_code(text)
    return len(rows) + 2 * _QUIET, "".join(_dark(rows))


def _dark(rows: Sequence[Sequence[bool]]) -> Iterator[str]:
    """The dark squares of each row, those beside one another as one bar."""
    for y, row in enumerate(rows):
        x = 0
        while x < len(row):
            many = next((n for n, dark in enumerate(row[x:]) if not dark), len(row) - x)
            if many:
                yield f"M{x + _QUIET} {y + _QUIET}h{many}v1h-{many}z"
            x += max(1, many)
