"""Do the wires go into the crimp terminals and seals at their ends?

    FIT-1  a conductor outside what the terminal at its end takes: too thin it pulls out, too thick it does not go in
    FIT-2  an insulation outside what its seal closes on, or a terminal in a sealed connector and no seal named

New wires whose size is typed or decided. What an end takes: `job.crimp_fits`. A terminal that is named is a warning;
the width of a connector's contact, which is typical, a note. Insulation as thick as thin-walled wire of its size.

Source: the row's of `crimp_terminals.csv`, `wire_seals.csv`, `contact_widths.csv`; diameters from memory: ISO 6722-1.
"""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.findings import Finding
from loomwright.job.cells_read import all_looked_at
from loomwright.job.crimp_fits import EndFit, end_fits
from loomwright.job.decided import with_decided
from loomwright.job.job import Job
from loomwright.job.points import split_point
from loomwright.job.rows import Wire
from loomwright.refusals import OutOfReach
from loomwright.tables.conductors import outside_mm

__all__ = ["fit_findings", "range_says"]

_EQUAL_MM = 1e-9


def fit_findings(job: Job, filled: Job | None = None) -> Iterator[Finding]:
    """FIT-1 and FIT-2.

    Args:
        job: as the sheets have it; kept decisions give sizes where the sheets give none.
        filled: the job with what is decided filled in, where it is known already.
    """
    filled = with_decided(job) if filled is None else filled
    fits = end_fits(filled)
    for wire in all_looked_at(filled.wires, ("id", "fitted", "from_", "to", "size_mm2")):
        if wire.fitted != "new" or wire.size_mm2 is None:
            continue
        for fit in fits.get(wire.id, ()):
            if not fit.takes(wire.size_mm2):
                yield _no_fit(wire, wire.size_mm2, fit)
            yield from _seal(wire, wire.size_mm2, fit)


def range_says(fit: EndFit) -> str:
    """What an end takes, in words.

    Example:
        >>> from loomwright.job.rows import Wire
        >>> wire = Wire(id="W1", from_="body", to="L1.1", terminal_to="2.8 mm blade")
        >>> range_says(end_fits(Job(wires=(wire,)))["W1"][0])
        '0.5 to 1 or 1.5 to 2.5 mm²'
    """
    if fit.barrels:
        pairs = dict.fromkeys((one.size_from_mm2, one.size_to_mm2) for one in fit.barrels)
    else:
        pairs = {(fit.size_from_mm2, fit.size_to_mm2): None}
    words = []
    for least, most in pairs:
        if least == most:
            words.append(f"{least:g}")
        elif most == float("inf"):
            words.append(f"{least:g} or more")
        else:
            words.append(f"{least:g} to {most:g}")
    return " or ".join(words) + " mm²"


def _no_fit(wire: Wire, size_mm2: float, fit: EndFit) -> Finding:
    is_thin = size_mm2 < fit.size_from_mm2
    allowed_mm2 = fit.size_from_mm2 if size_mm2 < fit.size_to_mm2 else fit.size_to_mm2
    return Finding(
        rule="FIT-1",
        severity="note" if fit.by == "connector" else "warning",
        at=(wire.id,),
        touches=_touches(fit),
        label=_label(wire),
        wrong=f"the {fit.called} does not take it: {'too thin' if is_thin else 'too thick'} for {range_says(fit)}",
        found=size_mm2,
        allowed=allowed_mm2,
        unit="mm²",
        source=fit.source,
        mend="Another terminal or another size; the maker's own figures, typed in the sheet crimps, go before this",
    )


def _seal(wire: Wire, size_mm2: float, fit: EndFit) -> Iterator[Finding]:
    """FIT-2; a seal that no row knows is not judged."""
    if fit.terminal and fit.is_sealed and not fit.seal and not (fit.own is not None and fit.own.seal):
        yield Finding(
            rule="FIT-2",
            severity="warning",
            at=(wire.id,),
            touches=_touches(fit),
            label=_label(wire),
            wrong=f"{fit.point} sits in a sealed connector, and no seal is named for its {fit.terminal}",
            mend=f"Write the seal in seal_{fit.end} of the sheet wires",
        )
        return
    if not fit.seals:
        return
    try:
        over_mm = outside_mm(size_mm2)
    except OutOfReach:
        return
    if any(seal.closes_on(over_mm + _EQUAL_MM) or seal.closes_on(over_mm - _EQUAL_MM) for seal in fit.seals):
        return
    least_mm = min(seal.insulation_from_mm for seal in fit.seals)
    most_mm = max(seal.insulation_to_mm for seal in fit.seals)
    is_thin = over_mm < least_mm
    yield Finding(
        rule="FIT-2",
        severity="warning",
        at=(wire.id,),
        touches=_touches(fit),
        label=_label(wire),
        wrong=f"its insulation is too {'thin for the' if is_thin else 'thick for the'} {fit.seal}"
        + (": water gets past it" if is_thin else ": it tears, or does not pass the cavity"),
        found=over_mm,
        allowed=least_mm if is_thin else most_mm,
        unit="mm",
        source=fit.seals[0].source,
        mend="The seal of the next range, or wire with another wall; measured over the insulation it is certain",
    )


def _touches(fit: EndFit) -> tuple[str, ...]:
    part = split_point(fit.point)[0]
    return (part,) if part else ()


def _label(wire: Wire) -> str:
    return f"{wire.id} (wire, {wire.from_ or 'free'} to {wire.to or 'free'})"
