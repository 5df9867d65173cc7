"""Is every wire protected by its fuse, and where is there none?

    PRO-1  no fuse between a wire and a source
    PRO-2  the fuse's rating is above what the wire behind it carries for ever
    PRO-3  a dead short at the wire's far end harms it before the fuse opens
    PRO-4  135 % of the rating, for as long as the fuse may last, is too hot for the wire

Read off the sheets: who lies behind whom is a matter of ways (`fused`), not of states. One finding a fuse and rule,
told at its worst wire, the others in `touches`; one finding an unfused wire. A wire whose size nobody knows, and a fuse
whose rating nobody chose, are not judged. Taps and starter cables: `taps`. Wires of starting circuits are judged by
what warms them to their class in the time cranking is judged for. Method and limits: docs/method/protection.md.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import isfinite

from loomwright.findings import Finding, Severity
from loomwright.refusals import OutOfReach
from loomwright.sizing.fused import Fuse, Fused, fused_of
from loomwright.sizing.guarding import (
    EQUAL,
    ShortEnd,
    allowed_a,
    has_margin,
    is_too_thin,
    longest_overload,
    overload_c,
    short_end_of,
    starts,
)
from loomwright.sizing.motor_returns import motor_returns
from loomwright.sizing.shorts import HotWays, loop_of, short_a
from loomwright.sizing.spoilt_taps import SpoiltTap, spoilt_taps, with_spoilt
from loomwright.sizing.taps import is_tap, only_wire_before
from loomwright.sizing.unfused import tap_findings, unfused_findings
from loomwright.states.asking.folding import Told
from loomwright.states.asking.scene import Scene
from loomwright.states.paths.conduction import Conduction, conduction_of
from loomwright.states.ratings.wire_limits import WireLimit, limits_of
from loomwright.tables.ampacity import ampacity
from loomwright.tables.constants import constant
from loomwright.tables.fuses import families

__all__ = ["ProtectionGround", "fuse_findings", "protection_ground", "sheet_findings"]

_MELT_C = 1083.0
"""Copper melts: a steady figure beyond is told as this. [C]"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ProtectionGround:
    """The car, its ways, what its wires stand, what protects what.

    spoilt: wires that would be taps but for the fuses they end in, left out before; those fuses are told instead.
    """

    scene: Scene
    conduction: Conduction
    limits: Mapping[str, WireLimit]
    fused: Fused
    spoilt: Mapping[str, SpoiltTap] = field(default_factory=dict)
    _taps: dict[tuple[str, str], bool] = field(default_factory=dict, repr=False)
    _returns: list[Mapping[str, tuple[str, ...]]] = field(default_factory=list, repr=False)

    def beyond_motors(self, fuse: Fuse) -> list[str]:
        """Wires that carry on what a motor behind a fuse draws."""
        if not self._returns:
            self._returns.append(motor_returns(self.scene, self.fused))
        return [name for name, parts in self._returns[0].items() if fuse.part in parts]

    def is_tap(self, fuse: Fuse, limit: WireLimit) -> bool:
        """Whether a wire behind a fuse is a tap that stands the fuses it ends in."""
        place = (fuse.part, limit.wire)
        if place not in self._taps:
            self._taps[place] = is_tap(self.scene, self.conduction, self.fused, fuse, limit)
        return self._taps[place]


def sheet_findings(scene: Scene) -> tuple[Told, ...]:
    """PRO-1 to PRO-4, read off the sheets."""
    ground = protection_ground(scene)
    ground = replace(ground, spoilt=spoilt_taps(scene, ground.conduction, ground.fused, ground.limits))
    found = list(unfused_findings(scene, ground.conduction, ground.fused))
    found.extend(tap_findings(scene, ground.fused, ground.limits, ground.is_tap))
    found.extend(with_spoilt(scene, fuse_findings(ground), ground.spoilt))
    return tuple(Told(finding, None, None) for finding in found)


def fuse_findings(ground: ProtectionGround, only: Collection[str] | None = None) -> Iterator[Finding]:
    """PRO-2 to PRO-4 of every fuse.

    Args:
        only: these fuses; None: all.
    """
    ways = HotWays(scene=ground.scene, conduction=ground.conduction, limits=ground.limits)
    for fuse in ground.fused.fuses.values():
        if only is None or fuse.part in only:
            yield from _overloads(ground, fuse)
            yield from _far_short(ground, fuse, ways)


def protection_ground(scene: Scene) -> ProtectionGround:
    """What these rules look at, worked out once."""
    conduction, limits = conduction_of(scene), limits_of(scene)
    return ProtectionGround(
        scene=scene, conduction=conduction, limits=limits, fused=fused_of(scene, conduction, limits)
    )


def _overloads(ground: ProtectionGround, fuse: Fuse) -> Iterator[Finding]:
    """PRO-2 or, where it holds, PRO-4."""
    if fuse.what == "link":
        yield from _thin_behind_link(ground, fuse)
        return
    if fuse.rating_a is None:
        return
    judged = [limit for limit in _behind(ground, fuse) if not ground.is_tap(fuse, limit)]
    judged += [ground.limits[name] for name in _before(ground, fuse) if name in ground.limits]
    judged += [ground.limits[name] for name in ground.beyond_motors(fuse) if name in ground.limits]
    thin = [limit for limit in judged if is_too_thin(ground.scene, fuse, limit)]
    if thin:
        yield _too_large(ground, fuse, fuse.rating_a, thin)
        return
    yield from _long_overload(ground, fuse, [one for one in judged if not starts(ground.scene, one.wire)])


def _too_large(ground: ProtectionGround, fuse: Fuse, rating_a: float, thin: Sequence[WireLimit]) -> Finding:
    worst = min(thin, key=lambda limit: (allowed_a(ground.scene, limit), limit.wire))
    return _told(
        ground,
        fuse,
        [worst, *thin],
        rule="PRO-2",
        severity="fault",
        wrong=f"its rating is above what {worst.wire} behind it carries for ever",
        found=rating_a,
        allowed=allowed_a(ground.scene, worst),
        unit="A",
        source=ampacity(worst.size_mm2, worst.insulation_c, worst.ambient_c).source,
        mend=f"Fit a fuse of no more than that, or thicker wire from {fuse.part} on",
    )


def _thin_behind_link(ground: ProtectionGround, fuse: Fuse) -> Iterator[Finding]:
    """A fusible link protects what is clearly thicker than itself."""
    size_mm2 = fuse.size_mm2
    thin = [one for one in _behind(ground, fuse) if is_too_thin(ground.scene, fuse, one)]
    thin = [one for one in thin if not ground.is_tap(fuse, one)]
    if not thin or size_mm2 is None:
        return
    worst = min(thin, key=lambda limit: (limit.size_mm2, limit.wire))
    yield _told(
        ground,
        fuse,
        [worst, *thin],
        rule="PRO-2",
        severity="fault",
        wrong=f"the link is no thinner than {worst.wire}, which it is to guard",
        found=size_mm2,
        allowed=worst.size_mm2,
        unit="mm²",
        source="common-practice",
        mend="Fit a link two gauge numbers thinner than the thinnest wire behind it, or a fuse",
    )


def _long_overload(ground: ProtectionGround, fuse: Fuse, judged: Sequence[WireLimit]) -> Iterator[Finding]:
    """PRO-4: the overload the fuse may stand longest."""
    overload = longest_overload(fuse)
    if overload is None:
        return
    hot = {limit.wire: overload_c(limit, overload) for limit in judged}
    broken = [limit for limit in judged if hot[limit.wire] > limit.insulation_c * EQUAL]
    if not broken:
        return
    worst = max(broken, key=lambda limit: (hot[limit.wire] - limit.insulation_c, limit.wire))
    yield _told(
        ground,
        fuse,
        [worst, *broken],
        rule="PRO-4",
        severity="note" if all(has_margin(limit, overload) for limit in broken) else "warning",
        wrong=f"an overload that it may stand for long makes {worst.wire} behind it too hot",
        found=hot[worst.wire],
        allowed=worst.insulation_c,
        unit="°C",
        source="" if fuse.what == "breaker" else _gate_source(fuse, overload.rating_a),
        mend="Fit the next smaller fuse if its loads allow, or the next thicker wire",
    )


def _far_short(ground: ProtectionGround, fuse: Fuse, ways: HotWays) -> Iterator[Finding]:
    """PRO-3: the dead short at the far end of each wire behind the fuse."""
    if fuse.rating_a is None:
        return
    scene = ground.scene
    loops = loop_of(scene, ground.conduction, ground.limits, fuse, ways)
    ends_of: dict[str, ShortEnd] = {}
    for limit in _behind(ground, fuse):
        if ground.is_tap(fuse, limit):
            continue
        ends = scene.ends(scene.compiled.elements_of[limit.wire][0])
        found = [amps for loop in loops if (amps := short_a(loop, ends)) is not None]
        short = short_end_of(fuse, limit, min(found)) if found else None
        if short is not None:
            ends_of[limit.wire] = short
    broken = [ground.limits[name] for name, short in ends_of.items() if short.harms]
    if not broken:
        return
    worst = max(broken, key=lambda limit: (ends_of[limit.wire].end_c, limit.wire))
    short = ends_of[worst.wire]
    how = "before it opens" if isfinite(short.time_s) else "and nothing obliges it to open"
    yield _told(
        ground,
        fuse,
        [worst, *broken],
        rule="PRO-3",
        severity="fault",
        wrong=f"a dead short at the far end of {worst.wire} harms the wire {how}",
        found=min(short.end_c, _MELT_C),
        allowed=short.stands_c,
        unit="°C",
        source="k-factor",
        mend="Fit a smaller fuse, or a thicker wire: that lets more current flow and stands more of it",
    )


def _told(
    ground: ProtectionGround,
    fuse: Fuse,
    wires: Sequence[WireLimit],
    *,
    rule: str,
    severity: Severity,
    wrong: str,
    found: float,
    allowed: float,
    unit: str,
    source: str,
    mend: str,
) -> Finding:
    names = tuple(dict.fromkeys(limit.wire for limit in wires))
    return Finding(
        rule=rule,
        severity=severity,
        at=(fuse.part, names[0]),
        touches=names[1:],
        label=f"{fuse.part} ({ground.scene.title(fuse.part)})",
        wrong=wrong,
        found=found,
        allowed=allowed,
        unit=unit,
        source=source,
        mend=mend,
    )


def _behind(ground: ProtectionGround, fuse: Fuse) -> list[WireLimit]:
    names = ground.fused.behind[fuse.part]
    return [ground.limits[name] for name in names if name in ground.limits and name not in ground.spoilt]


def _before(ground: ProtectionGround, fuse: Fuse) -> tuple[str, ...]:
    return only_wire_before(ground.scene, ground.conduction, ground.fused, fuse)


def _gate_source(fuse: Fuse, rating_a: float) -> str:
    """Where the gate at 135 % of a fuse's rating is from; empty where none is known for it."""
    family = families().get(fuse.family)
    try:
        gates = family.gates_for(rating_a) if family is not None else ()
    except OutOfReach:
        return ""
    return next((gate.source for gate in gates if gate.multiple == constant("overload_factor")), "")
