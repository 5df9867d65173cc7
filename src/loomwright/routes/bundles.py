"""How thick is the bundle in each run, about?

    two wires     D = d1 + d2
    three         the circle round three that touch each other, or D = d1 + d2 where the third fits beside them
    four or more  D = f * sqrt(d1^2 + d2^2 + ...),  f = 1.2, between 1.11 and 1.27

d: outside diameters of the wires, thin walled. The factor is an estimate: 1.11 is as tight as equal wires can lie, 1.27
is loose by hand; a covering comes on top, and so do the jackets of cables and the screens. A wire without a size counts
as the thinnest of its class and is named.

Source: two and three circles are geometry; the factor is common practice, no source, and lies within -2 and +8 % of
the best packings of four to nineteen equal circles. Outside diameters from memory: ISO 6722-1.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

from loomwright.job.cells_read import all_looked_at
from loomwright.job.decided import with_decided
from loomwright.job.job import Job
from loomwright.routes.lengths import SIZED_BY, core_mm
from loomwright.routes.records import Routes
from loomwright.tables.constants import constant

__all__ = ["Bundle", "bundle_mm", "bundles"]

_EXACT = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Bundle:
    """The wires in a run. conductors: one that goes out and back stands twice.

    bundle_mm: estimated diameter without covering; None where there are no wires, or one whose size no table has. [mm]
    least_mm, most_mm: packed as tight as can be, and laid loosely. [mm]
    covering: as the sheet has it.
    thinnest: wires without a size, counted as the thinnest of their class.   unknown: wires no table has.
    """

    run: str
    conductors: tuple[str, ...]
    bundle_mm: float | None
    least_mm: float | None
    most_mm: float | None
    covering: str
    thinnest: tuple[str, ...]
    unknown: tuple[str, ...]


def bundles(job: Job, routes: Routes, filled: Job | None = None) -> dict[str, Bundle]:
    """The bundle in every run, in order of id.

    Args:
        job: as the sheets have it; kept decisions give sizes where the sheets give none.
        routes: from `wire_routes` of the same job.
        filled: the job with what is decided filled in, where it is known already.
    """
    classes = {circuit.id: circuit.class_ for circuit in job.circuits}
    filled = with_decided(job) if filled is None else filled
    cores = {wire.id: core_mm(wire, classes) for wire in all_looked_at(filled.wires, SIZED_BY)}
    coverings = {run.id: run.covering for run in job.runs}
    found = {}
    for run, wires in routes.runs.items():
        thick_mm = [cores[name][0] for name in wires]
        known_mm = [value for value in thick_mm if value is not None]
        whole = bool(wires) and len(known_mm) == len(wires)
        least_mm, middle_mm, most_mm = bundle_mm(known_mm) if whole else (None, None, None)
        found[run] = Bundle(
            run=run,
            conductors=wires,
            bundle_mm=middle_mm,
            least_mm=least_mm,
            most_mm=most_mm,
            covering=coverings[run],
            thinnest=tuple(dict.fromkeys(name for name in wires if cores[name][1])),
            unknown=tuple(dict.fromkeys(name for name in wires if cores[name][0] is None)),
        )
    return found


def bundle_mm(wires_mm: Sequence[float]) -> tuple[float, float, float]:
    """Diameter of the circle round some wires: packed tight, as it comes out, laid loosely. [mm]

    Args:
        wires_mm: outside diameters, one at least. [mm]
    Source:
        up to three wires geometry, the same thrice; from four on `bundle_factor` and its neighbours in `constants.csv`.
    Example:
        >>> bundle_mm([3.0, 2.0]), [round(value, 2) for value in bundle_mm([2.0] * 7)]
        ((5.0, 5.0, 5.0), [5.87, 6.35, 6.72])
    """
    if len(wires_mm) <= _EXACT:
        exact_mm = _touching_mm(sorted(wires_mm, reverse=True))
        return exact_mm, exact_mm, exact_mm
    root_mm = sqrt(sum(value**2 for value in wires_mm))
    least, middle, most = (constant(name) for name in ("bundle_least_factor", "bundle_factor", "bundle_most_factor"))
    return least * root_mm, middle * root_mm, most * root_mm


def _touching_mm(wires_mm: Sequence[float]) -> float:
    """The circle round one, two or three circles, thickest first. [mm]"""
    if len(wires_mm) < _EXACT:
        return sum(wires_mm)
    # four circles that touch each other (Descartes): k4 = k1 + k2 + k3 +- 2 sqrt(k1 k2 + k2 k3 + k3 k1), k = 1/d
    one, two, three = (1.0 / value for value in wires_mm)
    beside = one + two - 1.0 / (wires_mm[0] + wires_mm[1])
    if three >= beside:
        return wires_mm[0] + wires_mm[1]
    return -1.0 / (one + two + three - 2.0 * sqrt(one * two + two * three + three * one))
