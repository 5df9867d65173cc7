"""Would a wire be protected if it had another size?

The questions of `protection`, asked of one wire and one size that is only tried, the rest of the car as it is: PRO-2,
PRO-4 and PRO-3 by each fuse it lies behind, PRO-2 and PRO-4 by the fuse it alone feeds and by that before a motor whose
current it carries on, and PRO-1 where a source that
gives only so much reaches it past no fuse (then it must stand what that gives).

In a dead short the tried size changes the loop by its own resistance; other ways round it are left out until the whole
is asked again with what was chosen.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from loomwright.findings import Severity
from loomwright.network.records import Element
from loomwright.sizing.fused import Fuse, Fused, Reach, fused_with
from loomwright.sizing.guarding import (
    EQUAL,
    allowed_a,
    has_margin,
    is_too_thin,
    longest_overload,
    overload_c,
    short_end_of,
    starts,
)
from loomwright.sizing.motor_returns import motor_returns
from loomwright.sizing.shorts import HotWays, Loop, loop_of, short_a
from loomwright.sizing.taps import fuses_at_its_end, is_short, only_wire_before, stands_its_fuses, starter_cables
from loomwright.states.asking.scene import Scene
from loomwright.states.paths.conduction import Conduction
from loomwright.states.ratings.wire_limits import WireLimit, carries_a
from loomwright.tables.conductors import hot_factor, ohm_per_m_20c
from loomwright.tables.constants import constant

__all__ = ["Guarding", "Unguarded", "guarding_of", "stands", "unguarded"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Unguarded:
    """A rule of protection that a size would break.

    by: the fuse, or the source of PRO-1. found, allowed: in `unit`.
    """

    rule: str
    severity: Severity
    by: str
    found: float
    allowed: float
    unit: str

    @property
    def used_frac(self) -> float:
        """Share of the limit that is used; above 1 it is broken. [0..1]"""
        return self.found / self.allowed if self.allowed > 0.0 else float("inf")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Guarding:
    """What the questions look at.

    limits: of the wires as they are. fused: what protects what then. feeds: fuse -> wires that alone feed it.
    cables: the starter's. returns: wires beyond a motor -> fuses before it.
    """

    scene: Scene
    conduction: Conduction
    reach: Reach
    limits: Mapping[str, WireLimit]
    fused: Fused
    feeds: Mapping[str, tuple[str, ...]]
    cables: frozenset[str]
    returns: Mapping[str, tuple[str, ...]]
    _loops: dict[str, tuple[Loop, ...]] = field(default_factory=dict)
    _ways: list[HotWays] = field(default_factory=list)
    _taps: dict[tuple[str, str], tuple[Element, ...]] = field(default_factory=dict)

    def loops(self, fuse: Fuse) -> tuple[Loop, ...]:
        """The loops of a dead short behind a fuse, worked out once."""
        if fuse.part not in self._loops:
            if not self._ways:
                self._ways.append(HotWays(scene=self.scene, conduction=self.conduction, limits=self.limits))
            self._loops[fuse.part] = loop_of(self.scene, self.conduction, self.limits, fuse, self._ways[0])
        return self._loops[fuse.part]

    def tap_fuses(self, fuse: Fuse, wire: str) -> tuple[Element, ...]:
        """The fuses a short wire behind a fuse ends in, worked out once."""
        if (fuse.part, wire) not in self._taps:
            opens = {other.element for other in self.reach.fuses.values()}
            self._taps[fuse.part, wire] = fuses_at_its_end(self.scene, self.conduction, opens, fuse, wire)
        return self._taps[fuse.part, wire]


def guarding_of(scene: Scene, conduction: Conduction, reach: Reach, limits: Mapping[str, WireLimit]) -> Guarding:
    """What the questions look at, in the car as the scene has it.

    Args:
        limits: of all wires whose size is known or chosen.
    """
    fused = fused_with(reach, limits)
    return Guarding(
        scene=scene,
        conduction=conduction,
        reach=reach,
        limits=limits,
        fused=fused,
        feeds={part: only_wire_before(scene, conduction, fused, fuse) for part, fuse in reach.fuses.items()},
        cables=starter_cables(scene, conduction, fused),
        returns=motor_returns(scene, fused),
    )


def stands(guarding: Guarding, limit: WireLimit) -> bool:
    """Whether a wire of a size breaks no rule of protection, a warning included."""
    return not any(one.severity != "note" and one.used_frac > EQUAL for one in unguarded(guarding, limit))


def unguarded(guarding: Guarding, limit: WireLimit) -> Iterator[Unguarded]:
    """Every rule of protection that a wire of a size is held against, with what it finds and allows."""
    yield from _by_sources(guarding, limit)
    for part in guarding.reach.fuses_before(limit.wire, limit):
        fuse = guarding.reach.fuses[part]
        tap = guarding.tap_fuses(fuse, limit.wire)
        if not stands_its_fuses(limit, tap):
            yield from _overloads(guarding, fuse, limit)
            yield from _far_short(guarding, fuse, limit)
        elif all(other.rating_a is not None for other in tap):
            yield _tap(fuse, limit, tap)
    for part, wires in guarding.feeds.items():
        if limit.wire in wires and guarding.reach.fuses[part].what != "link":
            yield from _overloads(guarding, guarding.reach.fuses[part], limit)
    for part in guarding.returns.get(limit.wire, ()):
        if guarding.reach.fuses[part].what != "link":
            yield from _overloads(guarding, guarding.reach.fuses[part], limit)


def _by_sources(guarding: Guarding, limit: WireLimit) -> Iterator[Unguarded]:
    """PRO-1 by sources that give only so much; a battery's is not mended by any size."""
    wire = guarding.scene.wires[limit.wire]
    if wire.fitted == "kept" or limit.wire in guarding.cables or is_short(guarding.scene, limit.wire):
        return
    for source in guarding.reach.unfused(limit.wire, None):
        if source.most_a is not None:
            yield Unguarded(
                rule="PRO-1",
                severity="fault",
                by=source.part,
                found=source.most_a,
                allowed=carries_a(limit),
                unit="A",
            )


def _tap(fuse: Fuse, limit: WireLimit, tap: tuple[Element, ...]) -> Unguarded:
    """What a tap must stand: 135 % of the fuses it ends in."""
    sum_a = constant("overload_factor") * sum(other.rating_a or 0.0 for other in tap)
    return Unguarded(
        rule="PRO-2", severity="fault", by=tap[0].part, found=sum_a, allowed=carries_a(limit), unit="A"
    )  # fmt: skip


def _overloads(guarding: Guarding, fuse: Fuse, limit: WireLimit) -> Iterator[Unguarded]:
    """PRO-2, and PRO-4 where that holds."""
    scene = guarding.scene
    if fuse.what == "link":
        if fuse.size_mm2 is not None:
            # equal is too thin already
            found = fuse.size_mm2 * (1.0 + 2.0 * (EQUAL - 1.0))
            yield Unguarded(
                rule="PRO-2", severity="fault", by=fuse.part, found=found, allowed=limit.size_mm2, unit="mm²"
            )
        return
    if fuse.rating_a is not None:
        yield Unguarded(
            rule="PRO-2",
            severity="fault",
            by=fuse.part,
            found=fuse.rating_a,
            allowed=allowed_a(scene, limit),
            unit="A",
        )
    overload = longest_overload(fuse)
    if overload is None or starts(scene, limit.wire) or is_too_thin(scene, fuse, limit):
        return
    yield Unguarded(
        rule="PRO-4",
        severity="note" if has_margin(limit, overload) else "warning",
        by=fuse.part,
        found=overload_c(limit, overload),
        allowed=limit.insulation_c,
        unit="°C",
    )


def _far_short(guarding: Guarding, fuse: Fuse, limit: WireLimit) -> Iterator[Unguarded]:
    """PRO-3 with the loop as it would be."""
    if fuse.rating_a is None:
        return
    scene = guarding.scene
    ends = scene.ends(scene.compiled.elements_of[limit.wire][0])
    more_ohm = _more_ohm(guarding, limit)
    amps = [
        _with_ohm(loop, found, more_ohm) for loop in guarding.loops(fuse) if (found := short_a(loop, ends)) is not None
    ]
    short = short_end_of(fuse, limit, min(amps)) if amps else None
    if short is not None:
        yield Unguarded(
            rule="PRO-3", severity="fault", by=fuse.part, found=short.end_c, allowed=short.stands_c, unit="°C"
        )


def _with_ohm(loop: Loop, amps: float, more_ohm: float) -> float:
    """A short's current with some ohms more in its loop. [A]"""
    return loop.emf_v / max(loop.emf_v / amps + more_ohm, 1e-6)


def _more_ohm(guarding: Guarding, limit: WireLimit) -> float:
    """What a size adds to the resistance a wire has now, hot. [ohm]"""
    wire, now = guarding.scene.wires[limit.wire], guarding.limits.get(limit.wire)
    if now is None or wire.length_mm is None or wire.ohm_per_m is not None:
        return 0.0
    hot = hot_factor(max(constant("hot_wire_c"), limit.ambient_c))
    return (ohm_per_m_20c(limit.size_mm2) - ohm_per_m_20c(now.size_mm2)) * wire.length_mm / 1000.0 * hot
