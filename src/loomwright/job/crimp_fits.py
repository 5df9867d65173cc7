"""What do the crimp terminals and seals at the ends of a wire take?

In: a job. Out: for every end whose terminal is known an `EndFit`: the conductor areas it takes, and the insulation.

    1. the terminal the sheet wires names, in the job's own sheet `crimps`
    2. the same, in the plain families that ship with the package       `tables.crimp_terminals`
    3. no terminal named: the width of contact in the family of the connector the end sits in

A name that is in neither, and a connector whose family tells no width, say nothing, and nothing is judged. A seal is
looked up the same way; the sheet `crimps` says which goes with a terminal, and nothing of diameters.
Source: per row of `crimp_terminals.csv`, `wire_seals.csv`, `contact_widths.csv`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fnmatch import fnmatchcase

from loomwright.job.cells_read import all_looked_at
from loomwright.job.job import Job
from loomwright.job.points import split_point
from loomwright.job.rows import Crimp, Wire
from loomwright.tables.contact_widths import contact_widths, widths_in
from loomwright.tables.crimp_terminals import CrimpTerminal, WireSeal, seals_named, terminals_named

__all__ = ["EndFit", "end_fits"]

_EQUAL = 1e-9
_LOOKS_AT = ("id", "fitted", "from_", "to", "terminal_from", "terminal_to", "seal_from", "seal_to")

_Families = Mapping[str, tuple[tuple[str, str], ...]]
"""Part -> patterns of its terminals, each with the family of its connector."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EndFit:
    """One end of a wire and what is crimped to it. end: from or to.   point: where.   terminal, seal: as written.

    by: crimps, families or connector.   size_from_mm2, size_to_mm2: conductors it takes. [mm2]
    barrels: of the families, those that may be meant.   widths_mm: of contact in its connector, where that alone tells.
    own: the row of the sheet crimps.   seals: that may be meant.
    is_sealed: the connector it sits in is a sealed one.   source: key of its figures; empty for the job's own.
    """

    wire: str
    end: str
    point: str
    terminal: str
    seal: str
    by: str
    size_from_mm2: float
    size_to_mm2: float
    barrels: tuple[CrimpTerminal, ...]
    own: Crimp | None
    seals: tuple[WireSeal, ...]
    is_sealed: bool
    source: str
    widths_mm: tuple[float, ...] = ()

    @property
    def called(self) -> str:
        """The terminal, or the contact of the connector it sits in."""
        return self.terminal or f"contact at {self.point}"

    def takes(self, size_mm2: float) -> bool:
        """Whether a conductor goes into one of its barrels and is held there.

        Args:
            size_mm2: of the conductor. [mm2]
        """
        if self.barrels:
            return any(barrel.takes(size_mm2) for barrel in self.barrels)
        return self.size_from_mm2 - _EQUAL <= size_mm2 <= self.size_to_mm2 + _EQUAL

    def barrel(self, size_mm2: float) -> CrimpTerminal | None:
        """The barrel for a conductor, of the families; the one of fewest sizes where several take it.

        Args:
            size_mm2: of the conductor. [mm2]
        """
        able = [one for one in self.barrels if one.takes(size_mm2)]
        return min(able, key=lambda one: one.size_to_mm2 - one.size_from_mm2, default=None)


def end_fits(job: Job) -> dict[str, tuple[EndFit, ...]]:
    """Wire -> what is known of its ends; wires of whose ends nothing is known are left out.

    Example:
        >>> job = Job(wires=(Wire(id="W1", from_="L1.1", to="body", terminal_to="M6 ring"),))
        >>> [(fit.end, fit.by, fit.size_from_mm2, fit.size_to_mm2) for fit in end_fits(job)["W1"]]
        [('to', 'families', 0.5, 35.0)]
    """
    own = {row.terminal: row for row in job.crimps}
    families = _families(job)
    wires = all_looked_at(job.wires, _LOOKS_AT)
    found = {wire.id: tuple(_fits(wire, own, families)) for wire in wires if wire.fitted != "removed"}
    return {name: fits for name, fits in found.items() if fits}


def _fits(wire: Wire, own: Mapping[str, Crimp], families: _Families) -> Iterator[EndFit]:
    ends = (
        ("from", wire.from_, wire.terminal_from, wire.seal_from),
        ("to", wire.to, wire.terminal_to, wire.seal_to),
    )
    for end, point, terminal, seal in ends:
        part, pin = split_point(point)
        family = next((words for pattern, words in families.get(part, ()) if fnmatchcase(pin, pattern)), "")
        row = own.get(terminal)
        barrels: tuple[CrimpTerminal, ...] = ()
        widths = widths_in(family)
        if row is not None:
            by, source = "crimps", ""
            least = row.size_from_mm2 or 0.0
            most = row.size_to_mm2 if row.size_to_mm2 is not None else float("inf")
        elif terminal:
            barrels = terminals_named(terminal)
            if not barrels:
                continue
            by, source = "families", barrels[0].source
            least, most = min(one.size_from_mm2 for one in barrels), max(one.size_to_mm2 for one in barrels)
        else:
            known = [contact_widths()[width] for width in widths if width in contact_widths()]
            if not known or len(known) != len(widths):
                continue
            by, source = "connector", known[0].source
            least, most = min(one.from_mm2 for one in known), max(one.to_mm2 for one in known)
        yield EndFit(
            wire=wire.id,
            end=end,
            point=point,
            terminal=terminal,
            seal=seal,
            by=by,
            size_from_mm2=least,
            size_to_mm2=most,
            barrels=barrels,
            own=row,
            seals=seals_named(seal) if seal else (),
            is_sealed=_is_sealed(family),
            source=source,
            widths_mm=tuple(widths) if by == "connector" else (),
        )


def _families(job: Job) -> _Families:
    """Part -> patterns of its terminals, each with the family of the connector they sit in."""
    found: dict[str, list[tuple[str, str]]] = {}
    for row in job.connectors:
        for pattern in row.terminals or ("*",):
            found.setdefault(row.part, []).append((pattern, row.family))
    for part in job.parts:
        family = part.settings.get("family", "") if part.kind == "inline_connector" else ""
        if family:
            found.setdefault(part.id, []).insert(0, ("*", family))
    return {part: tuple(rows) for part, rows in found.items()}


def _is_sealed(family: str) -> bool:
    words = family.lower()
    return "sealed" in words and "unsealed" not in words
