"""Is every metal that carries current joined to the battery's earthed post? NET-1, the strap that is not there.

A case, an earth point or a wire on a piece of metal needs that. Straps, bonds, bolted joints and earth wires count;
controllers' earths and control cables (class `linkage`) do not: current that must go that way is what burns them. Each
lost metal brings the bridge that would cure it, so that what follows folds beneath it.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator

from loomwright.findings import Finding
from loomwright.job.cells_read import all_looked_at
from loomwright.job.vehicle import metals_of
from loomwright.network.records import Changes, Short
from loomwright.states.asking.folding import Told
from loomwright.states.asking.scene import Scene
from loomwright.states.paths.tracing import Ways
from loomwright.states.rules.bridges import earthed_post, first_four

__all__ = ["lost_metals"]


def lost_metals(scene: Scene, ways: Ways) -> Iterator[Told]:
    """Metals that carry current and that no strap, bond, bolt or earth wire joins to the battery's earthed post."""
    near = _metal_joints(scene, ways)
    strapped = _walk(near, scene.compiled.arrays.nodes)
    metals = metals_of(scene.job)
    told: set[int] = set()
    for metal in sorted(metals, key=lambda name: (name != "body", name != "engine", name)):
        node = scene.compiled.node_of.get(metal)
        if node is None or node in strapped or node in told:
            continue
        group = _walk(near, node)
        told |= group
        names = [name for name in metals if scene.compiled.node_of.get(name) in group]
        hung = _hung_on(scene, group)
        if not hung:
            continue
        finding = Finding(
            rule="NET-1",
            severity="fault",
            at=first_four(names),
            touches=hung,
            label=f"{names[0]} (metal)",
            wrong="no strap, bond or earth wire joins it to the battery's earthed post, and parts on it need that",
            mend=f"Fit an earth strap from {names[0]} to the body or to {earthed_post(scene)}, bare metal on both ends",
        )
        yield Told(finding, None, Changes(shorts=(Short(metal, earthed_post(scene)),)))


def _hung_on(scene: Scene, group: set[int]) -> tuple[str, ...]:
    """Parts whose case or earth is on a piece of metal, and the wires that end on it."""
    names: dict[str, None] = {}
    for index, element in enumerate(scene.compiled.network.elements):
        if group.intersection(scene.ends(index)) and element.type not in ("bolted", "bond"):
            name = element.name if element.is_wire else element.part
            if name:
                names[name] = None
    return tuple(names)


def _metal_joints(scene: Scene, ways: Ways) -> dict[int, list[int]]:
    """What earth may come by: straps, bonds, bolts, cases and wires; no electronics and no control cable."""
    linkages = {name for name, circuit in scene.circuits.items() if circuit.class_ == "linkage"}
    wires = all_looked_at(scene.wires.values(), ("id", "circuit"))
    cables = {wire.id for wire in wires if wire.circuit in linkages}
    near: dict[int, list[int]] = {}
    for index in sorted(ways.tied):
        element = scene.element(index)
        if element.type == "pin" or element.name in cables:
            continue
        a, b = scene.ends(index)
        near.setdefault(a, []).append(b)
        near.setdefault(b, []).append(a)
    return near


def _walk(near: dict[int, list[int]], start: int) -> set[int]:
    seen = {start}
    waiting = deque([start])
    while waiting:
        for other in near.get(waiting.popleft(), ()):
            if other not in seen:
                seen.add(other)
                waiting.append(other)
    return seen
