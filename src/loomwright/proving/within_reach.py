"""Where can a person put a probe, two probes or a clamp?

One probe, the other at the battery's earthed post: every terminal, no splice inside the loom, no inside of a part. Two
probes: along a wire, across a fuse, a contact, a coil or a load, over the bolt of an earth, from bolt to bolt, from the
battery's live post to a terminal. A clamp: round any wire, at either end, or round all wires of one terminal together.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from loomwright.network.arrays import type_i
from loomwright.proving.live_shorts import burns_a
from loomwright.states.asking.scene import Scene

__all__ = ["WithinReach", "within_reach"]

_ACROSS = ("fuse", "breaker", "link", "contact", "switch", "coil")
_METAL = ("earth_point",)
_MOST_BOLTS = 14
"""Earth bolts of which each is read against each other [-]."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WithinReach:
    """What can be read. nodes: with `names`. [-]   first, second: nodes of two probes, with `pairs`. [-]

    wires: elements a clamp goes round, with `clamped` and where each goes to. [-]
    bunches: terminals whose wires go into one clamp together.   into, out_of: the wires that end, begin at each. [-]
    burns_a: what each may carry beyond its share in the sound car. [A]
    """

    nodes: type_i
    names: tuple[str, ...]
    first: type_i
    second: type_i
    pairs: tuple[tuple[str, str], ...]
    wires: type_i
    clamped: tuple[str, ...]
    second_ends: tuple[str, ...]
    bunches: tuple[str, ...]
    into: tuple[type_i, ...]
    out_of: tuple[type_i, ...]
    burns_a: NDArray[np.float64]


def within_reach(scene: Scene) -> WithinReach:
    """Everything a person can put a probe to or a clamp round."""
    names = {scene.compiled.node_of[name]: name for name in _points(scene)}
    nodes = sorted(names)
    pairs = dict.fromkeys((a, b) for a, b in _pairs(scene) if a != b and a in names and b in names)
    wires = [k for k, one in enumerate(scene.compiled.network.elements) if one.is_wire]
    bunches = _bunches(scene)
    ends = [scene.wires.get(scene.element(k).name) for k in wires]
    into, out_of = (
        tuple(np.array([n for n, end in enumerate(side) if end == name], np.int64) for name in bunches)
        for side in (
            ["" if one is None else scene.point(one.to) for one in ends],
            ["" if one is None else scene.point(one.from_) for one in ends],
        )
    )
    return WithinReach(
        nodes=np.array(nodes, np.int64),
        names=tuple(names[node] for node in nodes),
        first=np.array([a for a, _ in pairs], np.int64),
        second=np.array([b for _, b in pairs], np.int64),
        pairs=tuple((names[a], names[b]) for a, b in pairs),
        wires=np.array(wires, np.int64),
        clamped=tuple(scene.element(k).name for k in wires),
        second_ends=tuple(_second_end(scene, scene.element(k).name) for k in wires),
        bunches=tuple(bunches),
        into=into,
        out_of=out_of,
        burns_a=np.array([burns_a(_size_mm2(scene, scene.element(k).name)) for k in wires]),
    )


def _bolts(scene: Scene) -> list[int]:
    """The nodes of the earth bolts that wires go to."""
    points = [point for point in scene.wires_at if point in scene.compiled.node_of]
    kinds = {part: row.kind for part, row in scene.parts.items()}
    return [scene.compiled.node_of[point] for point in points if kinds.get(point.split(".")[0], "") in _METAL]


def _bunches(scene: Scene) -> list[str]:
    """Terminals with more wires than one, no splice: what goes out of one comes in."""
    return [
        point
        for point, wires in scene.wires_at.items()
        if len(wires) > 1 and point.split(".")[0] in scene.parts and scene.parts[point.split(".")[0]].kind != "splice"
    ]


def _second_end(scene: Scene, name: str) -> str:
    wire = scene.wires.get(name)
    return "" if wire is None else wire.to


def _size_mm2(scene: Scene, name: str) -> float | None:
    wire = scene.wires.get(name)
    return None if wire is None else wire.size_mm2


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
    yield from combinations(_bolts(scene)[:_MOST_BOLTS], 2)
    live = _live_post(scene)
    if live is not None:
        for point in scene.wires_at:
            if point in scene.compiled.node_of:
                yield live, scene.compiled.node_of[point]


def _live_post(scene: Scene) -> int | None:
    post = scene.vehicle.live_post
    battery = next((part for part, row in scene.parts.items() if row.kind == "battery"), None)
    return None if battery is None else scene.compiled.node_of.get(f"{battery}.{post}")
