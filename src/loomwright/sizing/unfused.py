"""Which wires have no fuse before them, or only one that is too large, and is that right?

PRO-1: a fault where a new wire longer than a tap may be has no fuse between it and a source; a note for taps, kept
wires and the starter's cable, so that every length nothing protects is listed. A wire whose length nobody gave is a
warning. Taps behind a larger fuse are listed too, in one note a fuse.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace

from loomwright.findings import Finding, Severity
from loomwright.job.rows import Wire
from loomwright.sizing.fused import Fuse, Fused, fed_without
from loomwright.sizing.taps import is_short, starter_cables
from loomwright.states.asking.scene import Scene
from loomwright.states.paths.conduction import Conduction
from loomwright.states.paths.surroundings import wire_ends, wire_label
from loomwright.states.ratings.wire_limits import WireLimit, carries_a
from loomwright.tables.constants import constant

__all__ = ["tap_findings", "unfused_findings"]

_MOST_PLACES = 4


def unfused_findings(scene: Scene, conduction: Conduction, fused: Fused) -> Iterator[Finding]:
    """PRO-1, one a wire; one that only another such wire feeds lies beneath that one: a fuse there protects both."""
    told = {finding.at[0]: finding for finding in _each(scene, conduction, fused)}
    faults = [name for name, finding in told.items() if finding.severity != "note"]
    above: dict[str, str] = {}
    for wire in faults if len(faults) > 1 else ():
        left = fed_without(scene, conduction, fused, wire)
        above |= {other: wire for other in faults if other != wire and other not in above and other not in left}
    for name, finding in told.items():
        if _first(above, name) == name:
            beneath = tuple(told[other] for other in above if other != name and _first(above, other) == name)
            yield replace(finding, folded=beneath)


def _first(above: Mapping[str, str], wire: str) -> str:
    """The first wire on the way to one, of those with no fuse."""
    seen = {wire}
    while wire in above and above[wire] not in seen:
        wire = above[wire]
        seen.add(wire)
    return wire


def _each(scene: Scene, conduction: Conduction, fused: Fused) -> Iterator[Finding]:
    """PRO-1, one a wire."""
    cables = starter_cables(scene, conduction, fused)
    for name, sources in fused.unfused.items():
        wire = scene.wires[name]
        severity: Severity = "note" if name in cables else _severity(scene, wire)
        parts = tuple(dict.fromkeys(source.part for source in sources))
        unknown = "" if wire.length_mm is not None else "; its length is not given"
        yield Finding(
            rule="PRO-1",
            severity=severity,
            at=(name,),
            touches=tuple(dict.fromkeys((*parts, *wire_ends(scene, name)))),
            label=wire_label(scene, name),
            wrong=f"no fuse between it and {' or '.join(parts)}{unknown}",
            found=wire.length_mm,
            allowed=None if severity == "note" else constant("tap_mm"),
            unit="mm",
            source="" if severity == "note" else "common-practice",
            mend=_mend(severity, is_cable=name in cables),
        )


def _severity(scene: Scene, wire: Wire) -> Severity:
    if wire.fitted == "kept" or is_short(scene, wire.id):
        return "note"
    return "warning" if wire.length_mm is None else "fault"


def _mend(severity: Severity, *, is_cable: bool) -> str:
    if is_cable:
        return "Boots on both ends, and clear of edges and heat: nothing opens if it rubs through"
    if severity == "note":
        return "Sleeve it and keep it clear of edges: nothing opens if it rubs through"
    return "Put a fuse at the end it is fed from, or shorten it to a tap beside its fuse"


def tap_findings(
    scene: Scene, fused: Fused, limits: Mapping[str, WireLimit], is_tap: Callable[[Fuse, WireLimit], bool]
) -> Iterator[Finding]:
    """PRO-1 as a note: the taps behind a fuse that is too large for them, all of one fuse together."""
    for fuse in fused.fuses.values():
        names = tuple(_taps(fused, limits, fuse, is_tap))
        if names:
            yield Finding(
                rule="PRO-1",
                severity="note",
                at=names[:_MOST_PLACES],
                touches=(*names[_MOST_PLACES:], fuse.part),
                label=f"{fuse.part} ({scene.title(fuse.part)}), taps behind it",
                wrong="short wires to fuses of their own that it is too large for",
                mend="Sleeve them and keep them clear of edges",
            )


def _taps(
    fused: Fused, limits: Mapping[str, WireLimit], fuse: Fuse, is_tap: Callable[[Fuse, WireLimit], bool]
) -> Iterator[str]:
    for name in fused.behind[fuse.part]:
        limit = limits.get(name)
        if limit is None or fuse.rating_a is None or fuse.rating_a <= carries_a(limit):
            continue
        if is_tap(fuse, limit):
            yield name
