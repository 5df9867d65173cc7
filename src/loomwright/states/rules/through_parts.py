"""Is a part that passes its feed on wired the wrong way through? NET-4.

A stabiliser takes the feed at B and gives the gauges theirs at I; an electronic flasher takes it at 49 and gives the
lamps theirs at 49a; a converter and a switch box take it at `supply` and give it on at `out`. Which end of it a feed
can reach, the part itself taken out, tells which way it is wired: exchanged where a feed reaches the way out and none
the way in. The network shows such a part as resistors, clamps and contacts, and what it then shows (a clamp that opens
the fuse) is a consequence: it lies beneath, with the wires exchanged on trial.
"""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.findings import Finding
from loomwright.states.asking.folding import Told
from loomwright.states.asking.scene import Scene
from loomwright.states.paths.tracing import Ways
from loomwright.states.rules.bridges import turned

__all__ = ["exchanged_findings"]

_THROUGH = {
    "stabiliser": ("B", "I"),
    "flasher_electronic": ("49", "49a"),
    "dc_dc": ("supply", "out"),
    "power_module": ("supply", "out"),
}
"""Kinds that pass a feed on: the terminal it comes in at, the one it goes out at."""


def exchanged_findings(scene: Scene, ways: Ways) -> Iterator[Told]:
    """Parts whose feed comes in at their way out."""
    for part in scene.parts.values():
        way_in, way_out = (f"{part.id}.{name}" for name in _THROUGH.get(part.kind, ("", "")))
        if way_in not in scene.wires_at or way_out not in scene.wires_at:
            continue
        own = frozenset(scene.elements_of.get(part.id, ()))
        fed = [ways.region(scene.node(point), own).reaches_plus for point in (way_in, way_out)]
        if fed == [False, True]:
            yield _told(scene, part.id, way_in, way_out)


def _told(scene: Scene, part: str, way_in: str, way_out: str) -> Told:
    finding = Finding(
        rule="NET-4",
        severity="fault",
        at=(part, way_in, way_out),
        touches=tuple(wire.id for point in (way_in, way_out) for wire in scene.wires_at.get(point, ())),
        label=f"{part} ({scene.title(part)})",
        wrong=f"its feed comes in at {way_out}, where it should go out, and what it feeds hangs on {way_in}",
        mend=f"Exchange the wires at {way_in} and {way_out}",
    )
    return Told(finding, None, turned(scene, way_in, way_out))
