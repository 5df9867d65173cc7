"""How warm does what it carries make a wire of some size, at the hottest place it passes?

The limit is that of RAT-2 (`states.ratings.wire_limits`): the ampacity table for ever; while a starter is fed, what
warms the wire to its class in the time cranking, or a starter held fast, is judged for. The place is the hottest of its
two ends and, where the wire is led along the runs, of all places it passes.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from loomwright.job.air import air_at_places_c
from loomwright.job.rows import Wire
from loomwright.routes.records import Routes
from loomwright.sizing.demand import CRANKING, STALLED, Worst
from loomwright.states.asking.scene import Scene
from loomwright.states.ratings.wire_limits import WireLimit, after_c, carries_a, limit_of, short_time_a, steady_c
from loomwright.tables.constants import constant

__all__ = ["Heat", "heat_of", "hottest_limit", "warmest_c"]

_SECONDS = {CRANKING: "cranking_s", STALLED: "stall_s"}
_ANY_MM2 = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Heat:
    """The kind of state that uses most of what a wire may carry.

    worst: the current and its state. allowed_a: what it may carry there. [A]   at_c: around it there. [C]
    conductor_c: of its copper, by the square law. [C]
    """

    worst: Worst
    allowed_a: float
    at_c: float
    conductor_c: float

    @property
    def used_frac(self) -> float:
        """Share of what it may carry; above 1 it is too thin. [0..1]"""
        return self.worst.amps / self.allowed_a if self.allowed_a > 0.0 else float("inf")


def hottest_limit(scene: Scene, wire: Wire, routes: Routes) -> tuple[WireLimit, str] | None:
    """What a wire stands by its hottest place, and that place; None where its insulation is not known.

    The size is any, for the sizes tried to take its place, where the wire has none.
    """
    limit = limit_of(scene, wire if wire.size_mm2 is not None else replace(wire, size_mm2=_ANY_MM2))
    if limit is None:
        return None
    design_c = scene.vehicle.design_ambient_c
    route = routes.wires.get(wire.id)
    passed = route.places if route is not None else ()
    known = air_at_places_c(scene.job)
    ends = [scene.parts[part].place for part in _end_parts(scene, wire) if part in scene.parts]
    places = {name: known[name] for name in (*passed, *ends) if name in known}
    hottest = max(places, key=lambda name: places[name], default="")
    hottest_c = max(limit.ambient_c, places.get(hottest, design_c))
    return replace(limit, ambient_c=hottest_c, excess_k=hottest_c - design_c), hottest


def heat_of(limit: WireLimit, worsts: Iterable[Worst]) -> Heat | None:
    """What warms a wire of a size most, against what it may carry; None where nothing flows.

    Args:
        worsts: the most that flows in each kind of state.
    """
    found = [_heat(limit, worst) for worst in worsts if worst.amps > 0.0]
    return max(found, key=lambda heat: heat.used_frac, default=None)


def warmest_c(limit: WireLimit, worsts: Iterable[Worst]) -> float | None:
    """How warm the copper of a wire of a size gets in the warmest of all states, by the square law. [C]

    Args:
        worsts: the most that flows in each kind of state.
    """
    return max((_heat(limit, worst).conductor_c for worst in worsts), default=None)


def _heat(limit: WireLimit, worst: Worst) -> Heat:
    at_c = worst.ambient_c + (limit.excess_k if worst.turning else 0.0)
    always_a = carries_a(limit, at_c)
    seconds = _SECONDS.get(worst.moment)
    if seconds is None:
        end_c = steady_c(limit, amps=worst.amps, ambient_c=at_c)
        return Heat(worst=worst, allowed_a=always_a, at_c=at_c, conductor_c=end_c)
    time_s = constant(seconds)
    allowed_a = max(always_a, short_time_a(limit, ambient_c=at_c, time_s=time_s))
    end_c = after_c(limit, amps=worst.amps, ambient_c=at_c, start_c=at_c, time_s=time_s)
    return Heat(worst=worst, allowed_a=allowed_a, at_c=at_c, conductor_c=end_c)


def _end_parts(scene: Scene, wire: Wire) -> tuple[str, ...]:
    return tuple(scene.point(end).split(".")[0] for end in (wire.from_, wire.to) if end)
