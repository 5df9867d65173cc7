"""Which wire ends meet at a point, and where does each lead?

In: the job with what was decided filled in. Out: point -> the ends there, in order of wire. Wires that were taken out
are not there.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from loomwright.findings import id_order
from loomwright.job.job import Job
from loomwright.job.points import all_terminals, canonical_point
from loomwright.job.rows import Wire
from loomwright.job.vehicle import metals_of
from loomwright.quantities import for_print
from loomwright.tables.kinds import Kind

__all__ = ["WireEnd", "size_text", "wire_ends"]


@dataclass(frozen=True, slots=True, kw_only=True)
class WireEnd:
    """One end of a wire. here, there: the points at this end and at the other. crimp: terminal and seal at this end.

    size: as printed in mm², empty where it is not decided. fitted: new, kept or donor.
    """

    wire: str
    colour: str
    size: str
    here: str
    there: str
    crimp: str
    circuit: str
    fitted: str


def wire_ends(job: Job, kinds: Mapping[str, Kind]) -> Mapping[str, tuple[WireEnd, ...]]:
    """The wire ends at every point where there are any."""
    terminals, metals = all_terminals(job, kinds), metals_of(job)
    found: dict[str, list[WireEnd]] = {}
    for wire in sorted(job.wires, key=lambda wire: id_order(wire.id)):
        if wire.fitted == "removed":
            continue
        start, end = (canonical_point(one, terminals, metals) if one else "" for one in (wire.from_, wire.to))
        ends = ((start, end, wire.terminal_from, wire.seal_from), (end, start, wire.terminal_to, wire.seal_to))
        for here, there, terminal, seal in ends:
            if here:
                crimp = _joined((terminal, seal))
                found.setdefault(here, []).append(_end(wire, here=here, there=there, crimp=crimp))
    return {point: tuple(ends) for point, ends in found.items()}


def size_text(wire: Wire) -> str:
    """A wire's size as printed in mm², a gauge number beside it; empty where it is not decided.

    Example:
        >>> size_text(Wire(id="W1", size_mm2=2.5))
        '2.5'
    """
    if wire.size_mm2 is None:
        return ""
    typed = wire.written.get("size_mm2", "")
    return for_print(wire.size_mm2) + (f" ({typed})" if "awg" in typed.lower() else "")


def _end(wire: Wire, *, here: str, there: str, crimp: str) -> WireEnd:
    return WireEnd(
        wire=wire.id,
        colour=wire.colour,
        size=size_text(wire),
        here=here,
        there=there,
        crimp=crimp,
        circuit=wire.circuit,
        fitted=wire.fitted,
    )


def _joined(words: Iterable[str]) -> str:
    return " + ".join(word for word in words if word)
