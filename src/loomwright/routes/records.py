"""What is known of the way of each wire: the runs it follows, the places it passes, the length that makes.

A wire is either led along the runs (`WireRoute`) or it is not and the record says why (`Unrouted`); there is no third
case, and no wire is left out but those that are removed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from loomwright.job.fixed_map import FixedMap

__all__ = ["Cause", "Near", "Routes", "Stands", "Unrouted", "WireRoute"]

Stands = Literal["blank", "decided", "typed", "built"]
"""What stands in the cell of a wire's length: nothing, a kept decision beside it, a typed figure, what was cut."""

Near = Literal["", "place", "bolt"]
"""What the distance within a place is for: nothing, two ends at one place, an end at a metal."""

Cause = Literal["free", "need", "place", "metals", "runs", "via", "long"]
"""Why a wire is not led: a free end, a need whose pin is open, a part without a place, metals at both ends, runs that
do not join, a `via` that cannot be followed, a way longer than a wire may be."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WireRoute:
    """The way of one wire, from its first end to its second.

    places: those it passes, the ends' own first and last; one where both ends are at one place.
    runs: those it follows, in order; one stands twice where the wire goes out along it and back.
    along_mm: the runs together. [mm]
    near_mm: within the one place, or to the bolt near by; typical. [mm]
    twisted_mm: what going round the other cores takes. [mm]
    ends_mm: allowance of both ends together. [mm]
    length_mm: all of it, up to the next step. [mm]
    near: what `near_mm` is for.   stands: what stands in the cell.
    follows: the wire whose way it takes since they are twisted, screened or in one cable; empty: its own.
    """

    wire: str
    places: tuple[str, ...]
    runs: tuple[str, ...]
    along_mm: float
    near_mm: float
    twisted_mm: float
    ends_mm: float
    length_mm: float
    near: Near
    stands: Stands
    follows: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Unrouted:
    """A wire that is not led along the runs: why, and what would mend it.

    touches: parts, places and runs that it hangs on.
    """

    wire: str
    cause: Cause
    why: str
    mend: str
    touches: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Routes:
    """Every wire that is not removed, led or not, in order of id.

    wires: wire -> its way.   unrouted: wire -> why it has none.
    runs: run -> wires in it; a wire stands twice where it goes out along the run and back.
    straight: runs whose length is the straight line between their places.
    unmeasured: runs that nothing can be led along, since nobody knows how long they are.
    """

    wires: Mapping[str, WireRoute] = FixedMap()
    unrouted: Mapping[str, Unrouted] = FixedMap()
    runs: Mapping[str, tuple[str, ...]] = FixedMap()
    straight: tuple[str, ...] = ()
    unmeasured: tuple[str, ...] = ()
