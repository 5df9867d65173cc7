"""What does one fuse ask of one wire behind it, and does the wire stand it?

Three questions, the same for a wire that is there (`protection`) and for a size that is only tried (`fuse_asks`):

    PRO-2  the rating          <= what the wire carries for ever (`allowed_a`); a link must be thinner than the wire
    PRO-4  135 % of the rating, for as long as the family's gate allows: at most its class (`overload_c`)
    PRO-3  a dead short at the far end: the fuse opens before the wire passes what it stands (`short_end_of`)

Method and limits: docs/method/protection.md.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, isfinite

from loomwright.sizing.fused import Fuse
from loomwright.sizing.shorts import clearing_s, short_c
from loomwright.states.asking.scene import Scene
from loomwright.states.ratings.wire_limits import WireLimit, after_c, carries_a, damage_c, short_time_a, steady_c
from loomwright.tables.constants import constant

__all__ = [
    "EQUAL",
    "Overload",
    "ShortEnd",
    "allowed_a",
    "has_margin",
    "is_too_thin",
    "longest_overload",
    "overload_c",
    "short_end_of",
    "starts",
]

EQUAL = 1.0 + 1e-9
"""A figure this much above a limit is still equal to it [-]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Overload:
    """The overload a fuse may stand longest: 135 % of its rating, a breaker's trip. time_s: `inf` for ever. [s]

    amps: through it. [A]   rating_a: what flowed before. [A]
    """

    amps: float
    rating_a: float
    time_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ShortEnd:
    """How a dead short at a wire's far end ends.

    end_c: its copper then. [C]   stands_c: what it stands for a moment. [C]
    time_s: until the fuse opens; `inf`: nothing obliges it to. [s]
    """

    end_c: float
    stands_c: float
    time_s: float

    @property
    def harms(self) -> bool:
        """Whether the wire is harmed."""
        return self.end_c > self.stands_c * EQUAL


def starts(scene: Scene, wire: str) -> bool:
    """Whether a wire belongs to a starting circuit, whose currents pass in seconds."""
    circuit = scene.circuits.get(scene.wires[wire].circuit or "")
    return circuit is not None and circuit.class_ == "starting"


def allowed_a(scene: Scene, limit: WireLimit) -> float:
    """What a wire carries for ever; in a starting circuit, what it stands for as long as cranking is judged. [A]"""
    if starts(scene, limit.wire):
        at_c = limit.ambient_c
        return max(carries_a(limit), short_time_a(limit, ambient_c=at_c, time_s=constant("cranking_s")))
    return carries_a(limit)


def is_too_thin(scene: Scene, fuse: Fuse, limit: WireLimit) -> bool:
    """PRO-2: whether a fuse is too large for a wire, or a link no thinner than it; False where that is not known."""
    if fuse.what == "link":
        return fuse.size_mm2 is not None and limit.size_mm2 <= fuse.size_mm2
    return fuse.rating_a is not None and fuse.rating_a > allowed_a(scene, limit) * EQUAL


def longest_overload(fuse: Fuse) -> Overload | None:
    """The overload a fuse may stand longest; None where nobody printed how long, or nobody chose the fuse."""
    if fuse.rating_a is None or fuse.what == "link":
        return None
    factor = fuse.trips_at if fuse.what == "breaker" else constant("overload_factor")
    amps = factor * fuse.rating_a
    # just below its trip a breaker stays closed for ever
    time_s = inf if fuse.what == "breaker" else clearing_s(fuse, amps)
    return None if time_s is None else Overload(amps=amps, rating_a=fuse.rating_a, time_s=time_s)


def overload_c(limit: WireLimit, overload: Overload) -> float:
    """How hot a wire is once its fuse opens, having carried the rating before. [C]"""
    if not isfinite(overload.time_s):
        return steady_c(limit, amps=overload.amps, ambient_c=limit.ambient_c)
    start_c = steady_c(limit, amps=overload.rating_a, ambient_c=limit.ambient_c)
    return after_c(limit, amps=overload.amps, ambient_c=limit.ambient_c, start_c=start_c, time_s=overload.time_s)


def has_margin(limit: WireLimit, overload: Overload) -> bool:
    """Whether a fuse is rated with margin for a wire: then a long overload is worth a note only."""
    return overload.rating_a <= constant("protection_margin_frac") * carries_a(limit)


def short_end_of(fuse: Fuse, limit: WireLimit, amps: float) -> ShortEnd | None:
    """PRO-3: how a dead short ends; None where nobody printed how soon such a fuse opens.

    Args:
        amps: that flow in the short.
    """
    time_s = clearing_s(fuse, amps)
    if time_s is None:
        return None
    end_c = short_c(limit, amps=amps, time_s=time_s)
    return ShortEnd(end_c=end_c, stands_c=damage_c(limit.insulation_c), time_s=time_s)
