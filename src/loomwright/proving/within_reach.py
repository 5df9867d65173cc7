"""Where can a person put a probe, two probes or a clamp?

One probe, the other at the battery's earthed post: every terminal, no splice inside the loom, no inside of a part. Two
probes: along a wire, across a fuse, a contact, a coil or a load, over the bolt of an earth, and from the battery's live
post to a terminal. A clamp: round any wire.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from loomwright.network.arrays import type_i
from loomwright.states.asking.scene import Scene

__all__ = ["WithinReach", "within_reach"]

_ACROSS = ("fuse", "breaker", "link", "contact", "switch", "coil")
_METAL = ("earth_point",)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WithinReach:
    """What can be read. nodes: with `names`. [-]   first, second: nodes of two probes, with `pairs`. [-]

    wires: elements a clamp goes round, with `clamped`. [-]
    """

    nodes: type_i
    names: tuple[str, ...]
    first: type_i
    second: type_i
    pairs: tuple[tuple[str, str], ...]
    wires: type_i
    clamped: tuple[str, ...]


def within_reach(scene: Scene) -> WithinReach:
    """Everything a person can put a probe to or a clamp round."""
    names = {scene.compiled.node_of[name]: name for name in _points(scene)}
    nodes = sorted(names)
    pairs = dict.fromkeys((a, b) for a, b in _pairs(scene) if a != b and a in names and b in names)
    wires = [k for k, one in enumerate(scene.compiled.network.elements) if one.is_wire]
    return WithinReach(
        nodes=np.array(nodes, np.int64),
        names=tuple(names[node] for node in nodes),
        first=np.array([a for a, _ in pairs], np.int64),
        second=np.array([b for _, b in pairs], np.int64),
        pairs=tuple((names[a], names[b]) for a, b in pairs),
        wires=np.array(wires, np.int64),
        clamped=tuple(scene.element(k).name for k in wires),
    )


def _points(scene: Scene) -> list[str]:
    hidden = {part for part, row in scene.parts.items() if row.kind == "splice"}
    names = [name for name in scene.compiled.node_of if "._" not in name and not name.startswith("~")]
    return [name for name in names if name.split(".")[0] not in hidden]


def _pairs(scene: Scene) -> Iterator[tuple[int, int]]:
    for k, element in enumerate(scene.compiled.network.elements):
        if element.is_wire or element.type in _ACROSS or element.load:
            yield scene.ends(k)
    for part, row in scene.parts.items():
        if row.kind in _METAL:
            for k in scene.elements_of.get(part, ()):
                yield scene.ends(k)
    live = _live_post(scene)
    if live is not None:
        for point in scene.wires_at:
            if point in scene.compiled.node_of:
                yield live, scene.compiled.node_of[point]


def _live_post(scene: Scene) -> int | None:
    post = "-" if scene.vehicle.earth == "positive" else "+"
    battery = next((part for part, row in scene.parts.items() if row.kind == "battery"), None)
    return None if battery is None else scene.compiled.node_of.get(f"{battery}.{post}")
