"""What does a sleeve or tape over a bundle add, and does the whole go through a hole?

The words of the sheet `runs` are looked up in `coverings.csv`: the row that shares most words with them counts.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from loomwright.tables.constants import constant
from loomwright.tables.load import read_rows

__all__ = [
    "Covering",
    "bend_radius_mm",
    "covered_mm",
    "covering_named",
    "coverings",
    "goes_through",
    "hole_needed_mm",
    "is_pushed_on",
    "is_sleeved",
]

_SLIT = ("split", "slit")
_WRAPPED = ("tape_pvc", "tape_cloth", "spiral")


@dataclass(frozen=True, slots=True, kw_only=True)
class Covering:
    """A kind of sleeve, tube or tape.

    words: by which the sheets name it.   wall_mm: on each side, as laid. [mm]   hottest_c: what it stands. [C]
    inner_factor: how many times the bundle its inside has to be. [-]   opens_to: times its supplied bore. [-]
    protects: keeps heat, edges and water off.   source, grade: where the figures are from.
    """

    id: str
    words: tuple[str, ...]
    wall_mm: float
    inner_factor: float
    opens_to: float
    hottest_c: float
    protects: bool
    source: str
    grade: str


@cache
def coverings() -> tuple[Covering, ...]:
    """All kinds, in the table's order."""
    return tuple(
        Covering(
            id=row["covering"],
            words=tuple(row["words"].split()),
            wall_mm=float(row["wall_mm"]),
            inner_factor=float(row["inner_factor"]),
            opens_to=float(row["opens_to"]),
            hottest_c=float(row["hottest_c"]),
            protects=row["protects"] == "yes",
            source=row["source"],
            grade=row["grade"],
        )
        for row in read_rows("coverings")
    )


def covering_named(words: str) -> Covering | None:
    """The kind a cell of the sheet `runs` means; None where it is blank or no row has its words.

    Args:
        words: as the sheet has them.
    Example:
        >>> covering_named("braided sleeve").id, covering_named("old hose")
        ('braided', None)
    """
    said = set(re.findall(r"[a-z_-]+", words.lower()))
    best = max(coverings(), key=lambda one: len(said & {one.id, *one.words}))
    return best if said & {best.id, *best.words} else None


def is_pushed_on(words: str) -> bool:
    """Whether a covering is a tube without a slit: it goes on before the ends beyond it are crimped.

    Args:
        words: as the sheet has them.
    Example:
        >>> is_pushed_on("conduit"), is_pushed_on("split conduit"), is_pushed_on("tape"), is_pushed_on("")
        (True, False, False, False)
    """
    kind = covering_named(words)
    return kind is not None and kind.id not in _WRAPPED and not any(word in words.lower() for word in _SLIT)


def is_sleeved(words: str) -> bool:
    """Whether a covering keeps harm off: a sleeve or tube does, tape and an open wrap do not.

    Args:
        words: as the sheet has them; what no row has counts as a sleeve, since somebody wrote it.
    Example:
        >>> is_sleeved("conduit"), is_sleeved("cloth tape"), is_sleeved("")
        (True, False, False)
    """
    found = covering_named(words)
    return found.protects if found is not None else words.strip().lower() not in ("", "none")


def covered_mm(bundle_mm: float, words: str) -> float:
    """Diameter of a bundle with its covering; the bare one where nobody knows what the covering adds. [mm]

    Args:
        bundle_mm: without covering. [mm]
        words: of the covering, as the sheet has them.
    Source:
        per row of `coverings.csv`: common practice, no source.
    Example:
        >>> covered_mm(10.0, "convoluted tube"), covered_mm(10.0, "")
        (13.4, 10.0)
    """
    found = covering_named(words)
    return bundle_mm if found is None else bundle_mm * found.inner_factor + 2.0 * found.wall_mm


def hole_needed_mm(bundle_mm: float, words: str) -> float:
    """The least clear hole, grommet in, that a covered bundle is drawn through. [mm]

    Args:
        bundle_mm: without covering. [mm]
        words: of the covering.
    Source:
        common practice, no source: 2 mm more than what goes through it.
    """
    return covered_mm(bundle_mm, words) + constant("hole_room_mm")


def goes_through(bundle_mm: float, words: str, hole_mm: float) -> bool:
    """Whether a covered bundle goes through a hole.

    Args:
        bundle_mm: without covering. [mm]
        words: of the covering.
        hole_mm: clear width. [mm]
    Limits:
        The wires only: connectors have to be put on behind the hole, or be smaller.
    """
    return hole_needed_mm(bundle_mm, words) <= hole_mm


def bend_radius_mm(thickest_mm: float, *, supported: bool = False) -> float:
    """The tightest bend of a bundle, by the thickest wire in it. [mm]

    Args:
        thickest_mm: outside diameter of its thickest wire. [mm]
        supported: at a breakout or a terminal strip, held.
    Source:
        from-memory: AC 43.13-1B 11-96: ten times, three times where supported.
    Example:
        >>> bend_radius_mm(3.0), bend_radius_mm(3.0, supported=True)
        (30.0, 9.0)
    """
    return constant("bend_supported_factor" if supported else "bend_factor") * thickest_mm
