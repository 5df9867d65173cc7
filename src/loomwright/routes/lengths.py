"""How long is a wire beyond the runs it follows?

    length = (runs + near + twist + 2 * allowance), up to the next step

*Runs* together; *near* is a typical distance where both ends are at one place, or to the bolt where one end is at a
metal; *allowance* is what each end takes beyond its place: strip, reach to the cavity, and once more; *twist* is what a
core of a cable with a known lay takes by going round the others:

    twist = runs * (sqrt(1 + (pi d / lay)^2) - 1)

with d its outside diameter, which for two cores is the diameter of the circle their middles go round on; three or more
go round on a wider one and take more. A twist whose lay nobody has written takes nothing here.

Source: the typical figures are common practice, no source (`constants.csv`); the sheet `vehicle` may give its own. The
twist is the length of a helix; outside diameters from memory: ISO 6722-1.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import ceil, pi, sqrt

from loomwright.job.job import Job
from loomwright.job.rows import Wire
from loomwright.job.vehicle import LENGTHS, vehicle_of
from loomwright.refusals import OutOfReach
from loomwright.tables.conductors import outside_mm
from loomwright.tables.constants import constant
from loomwright.tables.limits import least_size_mm2

__all__ = ["SIZED_BY", "LengthFigures", "core_mm", "length_figures", "rounded_mm", "twist_mm"]

SIZED_BY = ("id", "circuit", "size_mm2")
"""What of a wire its name and its diameter (`core_mm`) are read from."""
_DUST = 6
_PLAIN_CLASS = "supply"


@dataclass(frozen=True, slots=True, kw_only=True)
class LengthFigures:
    """What lengths are worked out with.

    end_allowance_mm: beyond its place, at each end. [mm]   length_step_mm: lengths are rounded up to it. [mm]
    within_place_mm: between two ends at one place. [mm]   earth_stud_mm: to a bolt on a metal near by. [mm]
    typical: names of those that the job does not give.
    """

    end_allowance_mm: float
    length_step_mm: float
    within_place_mm: float
    earth_stud_mm: float
    typical: frozenset[str]


def length_figures(job: Job) -> LengthFigures:
    """The figures of a job: its own from the sheet `vehicle`, else typical ones.

    Raises:
        OutOfReach: a property that cannot be what it says; a job that was read has none.
    """
    vehicle = vehicle_of(job)
    own = {name: getattr(vehicle, name) for name in LENGTHS}
    figures = {name: constant(name) if value is None else value for name, value in own.items()}
    return LengthFigures(**figures, typical=frozenset(name for name, value in own.items() if value is None))


def rounded_mm(length_mm: float, *, step_mm: float) -> float:
    """A length up to the next step, one step at least. [mm]

    Args:
        length_mm: before rounding. [mm]
        step_mm: what it shall be a multiple of. [mm]
    Example:
        >>> rounded_mm(1360.0, step_mm=10.0), rounded_mm(1360.2, step_mm=10.0), rounded_mm(0.0, step_mm=10.0)
        (1360.0, 1370.0, 10.0)
    """
    return max(1, ceil(round(length_mm / step_mm, _DUST))) * step_mm


def twist_mm(*, along_mm: float, core_mm: float, lay_mm: float) -> float:
    """What a core takes more than its cable is long. [mm]

    Args:
        along_mm: length of the cable. [mm]
        core_mm: outside diameter of the core. [mm]
        lay_mm: length in which it goes round once. [mm]
    Source:
        geometry: a helix of circumference pi d and pitch `lay_mm`.
    Example:
        >>> round(twist_mm(along_mm=1000.0, core_mm=2.0, lay_mm=30.0), 2)
        21.7
    """
    return along_mm * (sqrt(1.0 + (pi * core_mm / lay_mm) ** 2) - 1.0)


def core_mm(wire: Wire, classes: Mapping[str, str]) -> tuple[float | None, bool]:
    """A wire's outside diameter, thin walled, and whether its size had to be taken as the thinnest of its class. [mm]

    None where no table covers the size.

    Args:
        classes: circuit -> its class.
    Source:
        from-memory: ISO 6722-1, see `tables.conductors.outside_mm`.
    """
    size_mm2 = wire.size_mm2
    if size_mm2 is None:
        size_mm2 = least_size_mm2(classes.get(wire.circuit, "") or _PLAIN_CLASS)
    try:
        return outside_mm(size_mm2), wire.size_mm2 is None
    except OutOfReach:
        return None, wire.size_mm2 is None
