"""Which wires does a crimp terminal of a plain family take, and which insulation does a seal close on?

In: what a person calls the terminal or the seal. Out: the rows of `crimp_terminals.csv` or `wire_seals.csv` that are
meant. A row's own name means that row; else a width (`2.8 mm`) means every barrel of that width, a ring's stud (`M8
ring`) every barrel made for that stud, `ferrule` and `splice sleeve` with a colour theirs. What is in no family is not
judged: there is no row, and nothing is guessed.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from loomwright.refusals import TableFault
from loomwright.tables.contact_widths import widths_in
from loomwright.tables.load import read_rows

__all__ = ["CrimpTerminal", "WireSeal", "crimp_terminals", "seals_named", "terminals_named", "wire_seals"]

_TERMINALS, _SEALS = "crimp_terminals", "wire_seals"
_STUD = re.compile(r"\bm\s?(\d{1,2})\b")
_FAMILY: Mapping[str, tuple[str, ...]] = {
    "ring": ("ring", "eyelet", "lug"),
    "ferrule": ("ferrule",),
    "splice": ("splice", "butt"),
}
_SAME_MM2 = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class CrimpTerminal:
    """One barrel of a family. family: blade, contact, ring, ferrule, splice.   width_mm: of a blade or contact. [mm]

    studs: a ring is made for.   size_from_mm2, size_to_mm2: conductors. [mm2]   insulation_from_mm, insulation_to_mm:
    outside diameters; None where nothing holds the insulation. [mm]   strip_mm: bare length. [mm]
    die: what presses it.   most_a: of one alone at 80 degC; None where nobody says. [A]
    """

    terminal: str
    family: str
    width_mm: float | None
    studs: tuple[str, ...]
    size_from_mm2: float
    size_to_mm2: float
    insulation_from_mm: float | None
    insulation_to_mm: float | None
    strip_mm: float
    die: str
    most_a: float | None
    source: str
    place: str
    grade: str

    def takes(self, size_mm2: float) -> bool:
        """Whether its barrel takes a conductor.

        Args:
            size_mm2: of the conductor. [mm2]
        """
        return self.size_from_mm2 - _SAME_MM2 <= size_mm2 <= self.size_to_mm2 + _SAME_MM2


@dataclass(frozen=True, slots=True, kw_only=True)
class WireSeal:
    """A seal for one wire. width_mm: of the contact it sits behind. [mm]

    insulation_from_mm, insulation_to_mm: outside diameters it closes on. [mm]
    """

    seal: str
    width_mm: float
    insulation_from_mm: float
    insulation_to_mm: float
    source: str

    def closes_on(self, outside_mm: float) -> bool:
        """Whether it closes on an insulation.

        Args:
            outside_mm: its diameter. [mm]
        """
        return self.insulation_from_mm <= outside_mm <= self.insulation_to_mm


@cache
def crimp_terminals() -> tuple[CrimpTerminal, ...]:
    """Every barrel there are figures for, in the table's order.

    Raises:
        TableFault: a row whose ends are the wrong way round.
    Example:
        >>> next(row for row in crimp_terminals() if row.width_mm == 2.8).strip_mm
        4.5
    """
    found = tuple(
        CrimpTerminal(
            terminal=row["terminal"],
            family=row["family"],
            width_mm=_figure(row["width_mm"]),
            studs=tuple(row["studs"].split()),
            size_from_mm2=float(row["size_from_mm2"]),
            size_to_mm2=float(row["size_to_mm2"]),
            insulation_from_mm=_figure(row["insulation_from_mm"]),
            insulation_to_mm=_figure(row["insulation_to_mm"]),
            strip_mm=float(row["strip_mm"]),
            die=row["die"],
            most_a=_figure(row["most_a"]),
            source=row["source"],
            place=row["place"],
            grade=row["grade"],
        )
        for row in read_rows(_TERMINALS)
    )
    for number, one in enumerate(found, start=2):
        if not 0.0 < one.size_from_mm2 <= one.size_to_mm2:
            raise TableFault(_TERMINALS, number, "size_from_mm2", f"{one.size_from_mm2:g} to {one.size_to_mm2:g}")
    return found


@cache
def wire_seals() -> tuple[WireSeal, ...]:
    """Every seal there are figures for, in the table's order.

    Raises:
        TableFault: a row whose ends are the wrong way round.
    """
    found = tuple(
        WireSeal(
            seal=row["seal"],
            width_mm=float(row["width_mm"]),
            insulation_from_mm=float(row["insulation_from_mm"]),
            insulation_to_mm=float(row["insulation_to_mm"]),
            source=row["source"],
        )
        for row in read_rows(_SEALS)
    )
    for number, one in enumerate(found, start=2):
        if not 0.0 < one.insulation_from_mm < one.insulation_to_mm:
            raise TableFault(_SEALS, number, "insulation_from_mm", one.seal)
    return found


@cache
def terminals_named(words: str) -> tuple[CrimpTerminal, ...]:
    """The barrels that a cell means, the thinnest first; none where no family has its words.

    Args:
        words: as a person wrote them.
    Example:
        >>> [row.terminal for row in terminals_named("eyelet M12")][0], terminals_named("crimp of the old car")
        ('ring, 4 to 6 mm²', ())
    """
    own = [row for row in crimp_terminals() if row.terminal == words.strip()]
    if own:
        return tuple(own)
    said = set(re.findall(r"[a-z]+", words.lower()))
    family = next((name for name, called in _FAMILY.items() if said & {*called, *(f"{each}s" for each in called)}), "")
    rows = [row for row in crimp_terminals() if row.family == family]
    if family == "ring":
        stud = _STUD.search(words.lower())
        return tuple(row for row in rows if stud is None or f"M{stud[1]}" in row.studs)
    if family == "splice":
        coloured = [row for row in rows if row.terminal.rpartition(" ")[2] in said]
        return tuple(coloured or rows)
    if family:
        return tuple(rows)
    widths = widths_in(words)
    return tuple(row for row in crimp_terminals() if row.width_mm in widths) if len(widths) == 1 else ()


@cache
def seals_named(words: str) -> tuple[WireSeal, ...]:
    """The seals that a cell means; none where no row has its words.

    Args:
        words: as a person wrote them.
    Example:
        >>> len(seals_named("seal for 1.5 mm")), seals_named("green one")
        (2, ())
    """
    own = [row for row in wire_seals() if row.seal == words.strip()]
    if own:
        return tuple(own)
    widths = widths_in(words) if "seal" in words.lower() else ()
    return tuple(row for row in wire_seals() if row.width_mm in widths) if len(widths) == 1 else ()


def _figure(text: str) -> float | None:
    return float(text) if text else None
