"""What is crimped to each end of a new wire: which barrel, how far to strip, which die, which seal, what pull?

In: the job with what was decided filled in. Out: an `EndCrimp` for every end that names a terminal. Its figures are
those of the job's own sheet `crimps`; where that has no row, those of the plain family the terminal is of
(`tables.crimp_terminals`), and it is said. In a sealed connector the seal that closes on the insulation is proposed.
What is missing or does not fit is told in words.

Source: per row; the pull of a terminal whose row has none: `tables.crimp_pull`; diameters from memory: ISO 6722-1.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass

from loomwright.job.crimp_fits import EndFit, end_fits
from loomwright.job.job import Job
from loomwright.job.rows import Crimp, Wire
from loomwright.refusals import OutOfReach
from loomwright.sizing.fit_findings import range_says
from loomwright.tables.conductors import outside_mm
from loomwright.tables.crimp_pull import least_pull_n
from loomwright.tables.crimp_terminals import wire_seals

__all__ = ["EndCrimp", "end_crimps", "pull_of_table", "seal_closing"]


@dataclass(frozen=True, slots=True, kw_only=True)
class EndCrimp:
    """One crimp. end: from or to.   barrel: of the plain families; empty where the job's own row counts.

    strip_mm: bare length. [mm]   pull_n: it must stand. [N]   proposed_seal: where none is named and one is needed.
    source: of strip and die: sheet crimps, or a key.   told: what is missing or does not fit.
    """

    wire: str
    end: str
    point: str
    terminal: str
    seal: str
    size_mm2: float | None
    barrel: str
    strip_mm: float | None
    die: str
    pull_n: float | None
    pull_source: str
    proposed_seal: str
    source: str
    told: tuple[str, ...]


def end_crimps(job: Job) -> tuple[EndCrimp, ...]:
    """Every crimp on new wires, in the order of the sheet wires, start before end.

    Args:
        job: with what was decided filled in.
    Example:
        >>> wire = Wire(id="W1", from_="body", to="L1.1", size_mm2=1.5, terminal_from="M6 ring", fitted="new")
        >>> one, = end_crimps(Job(wires=(wire,)))
        >>> one.barrel, one.strip_mm, one.die, one.source
        ('ring, 1.5 to 2.5 mm²', 6.0, 'indent, 1.5 to 2.5 mm²', 'from-memory')
    """
    fits = {(fit.wire, fit.end): fit for each in end_fits(job).values() for fit in each}
    own = {row.terminal: row for row in job.crimps}
    return tuple(
        _crimp(wire, end, point, terminal, seal, own.get(terminal), fits.get((wire.id, end)))
        for wire in job.wires
        if wire.fitted == "new"
        for end, point, terminal, seal in _ends(wire)
    )


def _ends(wire: Wire) -> Iterator[tuple[str, str, str, str]]:
    if wire.terminal_from:
        yield "from", wire.from_, wire.terminal_from, wire.seal_from
    if wire.terminal_to:
        yield "to", wire.to, wire.terminal_to, wire.seal_to


def _crimp(
    wire: Wire, end: str, point: str, terminal: str, seal: str, row: Crimp | None, fit: EndFit | None
) -> EndCrimp:
    size_mm2 = wire.size_mm2
    barrel = fit.barrel(size_mm2) if fit is not None and size_mm2 is not None else None
    pull_n, pull_source = (None, "") if row is None or row.pull_n is None else (row.pull_n, "sheet crimps")
    if pull_n is None and size_mm2:
        pull_n, pull_source = pull_of_table(size_mm2)
    proposed = "" if seal or (row is not None and row.seal) else _seal_for(fit, size_mm2)
    return EndCrimp(
        wire=wire.id,
        end=end,
        point=point,
        terminal=terminal,
        seal=seal,
        size_mm2=size_mm2,
        barrel="" if barrel is None else barrel.terminal,
        strip_mm=row.strip_mm if row is not None else None if barrel is None else barrel.strip_mm,
        die=row.die if row is not None else "" if barrel is None else barrel.die,
        pull_n=pull_n,
        pull_source=pull_source,
        proposed_seal=proposed,
        source="sheet crimps" if row is not None else "" if barrel is None else barrel.source,
        told=tuple(_told(terminal, seal, size_mm2, row, fit)),
    )


def _told(terminal: str, seal: str, size_mm2: float | None, row: Crimp | None, fit: EndFit | None) -> Iterator[str]:
    if row is None and (fit is None or not fit.barrels):
        yield f"{terminal} has no row in the sheet crimps and is of no plain family: write its strip, die and sizes"
    if row is not None:
        yield from (f"no {word} in its row" for word, cell in (("strip", row.strip_mm), ("die", row.die)) if not cell)
    if fit is not None and size_mm2 is not None and not fit.takes(size_mm2):
        yield f"it takes {range_says(fit)}, not {size_mm2:g}: another terminal, or another size"
    if row is not None and seal and row.seal and seal != row.seal:
        yield f"{row.seal} goes with it, not {seal}"


def _seal_for(fit: EndFit | None, size_mm2: float | None) -> str:
    """The seal that closes on a wire in a sealed connector; empty where none is needed or none does."""
    if fit is None or not fit.is_sealed or size_mm2 is None:
        return ""
    return seal_closing({one.width_mm for one in fit.barrels if one.width_mm is not None}, size_mm2)


def seal_closing(widths_mm: Collection[float], size_mm2: float | None) -> str:
    """The seal behind contacts of some widths that closes on a wire; empty where none does.

    Args:
        widths_mm: of the contacts. [mm]
        size_mm2: of the conductor. [mm2]
    """
    if size_mm2 is None or not widths_mm:
        return ""
    try:
        over_mm = outside_mm(size_mm2)
    except OutOfReach:
        return ""
    return next((one.seal for one in wire_seals() if one.width_mm in widths_mm and one.closes_on(over_mm)), "")


def pull_of_table(size_mm2: float) -> tuple[float | None, str]:
    """What a crimp on a conductor must stand by the table, and the key of its source; None where it has no row.

    Args:
        size_mm2: of the conductor. [mm2]
    """
    try:
        return least_pull_n(size_mm2), "crimp-sheets"
    except OutOfReach:
        return None, ""
