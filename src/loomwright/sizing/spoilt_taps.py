"""Which short wire would be a tap but for the fuses it ends in? PRO-2, told at those.

A tap may lie behind a fuse far too large for it, since what flows through it for long flows through the fuses it ends
in. It is none where those are more than it stands. Then it is they that are too large, or the wire that is too thin,
and not the fuse before it, which feeds half the car: it is told at the largest fuse at its end, beneath that fuse's own
finding where its rating is above what lies behind it too.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from loomwright.findings import Finding
from loomwright.network.records import Element
from loomwright.sizing.fused import Fuse, Fused
from loomwright.sizing.guarding import is_too_thin
from loomwright.sizing.taps import fuses_at_its_end, stands_its_fuses
from loomwright.states.asking.scene import Scene
from loomwright.states.paths.conduction import Conduction
from loomwright.states.ratings.wire_limits import WireLimit, carries_a
from loomwright.tables.ampacity import ampacity
from loomwright.tables.constants import constant

__all__ = ["SpoiltTap", "spoilt_taps", "with_spoilt"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SpoiltTap:
    """A short wire with the fuses it ends in, the largest first, and the fuse before it that is too large for it."""

    limit: WireLimit
    ends_in: tuple[Element, ...]
    before: str


def spoilt_taps(
    scene: Scene, conduction: Conduction, fused: Fused, limits: Mapping[str, WireLimit]
) -> Mapping[str, SpoiltTap]:
    """Wires that a fuse before them does not protect, and that the fuses at their end would if they were smaller."""
    opens = {fuse.element for fuse in fused.fuses.values()}
    found: dict[str, SpoiltTap] = {}
    for fuse in fused.fuses.values():
        if fuse.rating_a is None:
            continue
        for name in fused.behind[fuse.part]:
            limit = limits.get(name)
            if limit is None or name in found or not is_too_thin(scene, fuse, limit):
                continue
            tap = _spoilt(scene, conduction, opens, fuse, limit)
            if tap is not None:
                found[name] = tap
    return found


def _spoilt(scene: Scene, conduction: Conduction, opens: set[int], fuse: Fuse, limit: WireLimit) -> SpoiltTap | None:
    ends_in = fuses_at_its_end(scene, conduction, opens, fuse, limit.wire)
    if not ends_in or any(one.rating_a is None for one in ends_in) or stands_its_fuses(limit, ends_in):
        return None
    largest = sorted(ends_in, key=lambda one: (-(one.rating_a or 0.0), one.part))
    return SpoiltTap(limit=limit, ends_in=tuple(largest), before=fuse.part)


def with_spoilt(scene: Scene, findings: Iterable[Finding], spoilt: Mapping[str, SpoiltTap]) -> list[Finding]:
    """The findings of fuses, with those of spoilt taps: beneath that of the fuse at their end, or by themselves."""
    told = list(findings)
    for tap in spoilt.values():
        finding = _told(scene, tap)
        parts = {one.part for one in tap.ends_in}
        above = next((k for k, one in enumerate(told) if one.rule == "PRO-2" and one.at[0] in parts), None)
        if above is None:
            told.append(finding)
        else:
            told[above] = replace(told[above], folded=(*told[above].folded, finding))
    return told


def _told(scene: Scene, tap: SpoiltTap) -> Finding:
    limit, part, wire = tap.limit, tap.ends_in[0].part, tap.limit.wire
    others = " ".join(one.part for one in tap.ends_in[1:])
    together = f", together with {others}," if others else ""
    return Finding(
        rule="PRO-2",
        severity="fault",
        at=(part, wire),
        touches=(*(one.part for one in tap.ends_in[1:]), tap.before),
        label=f"{part} ({scene.title(part)})",
        wrong=f"its rating{together} is above what {wire} before it stands, and {tap.before} before that is larger yet",
        found=sum(one.rating_a or 0.0 for one in tap.ends_in),
        allowed=carries_a(limit) / constant("overload_factor"),
        unit="A",
        source=ampacity(limit.size_mm2, limit.insulation_c, limit.ambient_c).source,
        mend=f"Fit a fuse of no more than that, or make {wire} thicker",
    )
