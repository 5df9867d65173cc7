"""What goes on the ends of new wires whose terminal nobody named, as far as the place they go to tells?

In: the job with what was decided filled in. Out: an `EndCrimp` for every such end whose place tells, and the others
counted by what they go to, so that none is forgotten when terminals are ordered.

    in a connector whose family has one width of contact     the barrel of that width that takes the wire
    on an earth point, a bar or a metal                      a ring; which stud, the sheets do not tell
    in a splice                                              nothing: its barrel holds all its wires
    anywhere else                                            open

A connector of two widths is open: which of them a cavity has, the sheets do not tell. All of it is a proposal, and the
maker's part for the place goes before it. Source: per row of `crimp_terminals.csv`; a ring under a stud: common
practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from loomwright.job.crimp_fits import EndFit, end_fits
from loomwright.job.job import Job
from loomwright.job.points import split_point
from loomwright.job.rows import Wire
from loomwright.job.wire_ends import ENDS, point_at, terminal_at
from loomwright.loom.end_crimps import EndCrimp, pull_of_table, seal_closing
from loomwright.tables.crimp_terminals import CrimpTerminal, crimp_terminals

__all__ = ["OpenEnds", "ProposedCrimps", "proposed_crimps"]

_RINGS = ("earth_point", "busbar")
_SPLICE = "splice"


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenEnds:
    """Ends nothing can be proposed for. at: the kind of part they go to, in words.   ends: wire and end."""

    at: str
    ends: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ProposedCrimps:
    """What is proposed, in the order of the sheet wires, start before end; and what is open, by what it goes to."""

    crimps: tuple[EndCrimp, ...]
    open_ends: tuple[OpenEnds, ...]


def proposed_crimps(job: Job) -> ProposedCrimps:
    """A barrel for every end whose place tells, and the ends left open.

    Args:
        job: with what was decided filled in.
    Example:
        >>> from loomwright.job.rows import Part
        >>> wire = Wire(id="W1", from_="E1.1", to="L1.1", size_mm2=1.5, fitted="new")
        >>> made = proposed_crimps(Job(wires=(wire,), parts=(Part(id="E1", kind="earth_point"),)))
        >>> [one.terminal for one in made.crimps], [one.ends for one in made.open_ends]
        (['ring, 1.5 to 2.5 mm²'], [('W1 to',)])
    """
    fits = {(fit.wire, fit.end): fit for each in end_fits(job).values() for fit in each}
    kinds = {part.id: part.kind for part in job.parts}
    made: list[EndCrimp] = []
    left: dict[str, list[str]] = {}
    for wire, end, point in _unnamed(job, kinds):
        fit = fits.get((wire.id, end))
        barrel = _barrel(wire.size_mm2, fit, _is_on_stud(point, kinds))
        if barrel is None:
            kind = kinds.get(split_point(point)[0], "")
            left.setdefault(kind.replace("_", " ") or "another place", []).append(f"{wire.id} {end}")
        else:
            made.append(_proposed(wire, end, point, barrel, is_sealed=fit is not None and fit.is_sealed))
    return ProposedCrimps(
        crimps=tuple(made),
        open_ends=tuple(OpenEnds(at=at, ends=tuple(ends)) for at, ends in sorted(left.items())),
    )


def _unnamed(job: Job, kinds: Mapping[str, str]) -> Iterator[tuple[Wire, str, str]]:
    """The ends of new wires that name no terminal and are no part of a splice."""
    for wire in job.wires:
        for end in ENDS if wire.fitted == "new" else ():
            point = point_at(wire, end)
            if point and not terminal_at(wire, end) and kinds.get(split_point(point)[0]) != _SPLICE:
                yield wire, end, point


def _is_on_stud(point: str, kinds: Mapping[str, str]) -> bool:
    part, terminal = split_point(point)
    return not terminal or kinds.get(part) in _RINGS


def _barrel(size_mm2: float | None, fit: EndFit | None, is_on_stud: bool) -> CrimpTerminal | None:
    if size_mm2 is None:
        return None
    able = [one for one in crimp_terminals() if one.takes(size_mm2)]
    if fit is not None:
        able = [one for one in able if one.width_mm in fit.widths_mm] if len(fit.widths_mm) == 1 else []
    elif is_on_stud:
        able = [one for one in able if one.family == "ring"]
    else:
        able = []
    return min(able, key=lambda one: one.size_to_mm2 - one.size_from_mm2, default=None)


def _proposed(wire: Wire, end: str, point: str, barrel: CrimpTerminal, *, is_sealed: bool) -> EndCrimp:
    pull_n, pull_source = pull_of_table(wire.size_mm2) if wire.size_mm2 else (None, "")
    widths_mm = {barrel.width_mm} if is_sealed and barrel.width_mm is not None else set()
    return EndCrimp(
        wire=wire.id,
        end=end,
        point=point,
        terminal=barrel.terminal,
        seal="",
        size_mm2=wire.size_mm2,
        barrel=barrel.terminal,
        strip_mm=barrel.strip_mm,
        die=barrel.die,
        pull_n=pull_n,
        pull_source=pull_source,
        proposed_seal=seal_closing(widths_mm, wire.size_mm2),
        source=barrel.source,
        told=(),
    )
