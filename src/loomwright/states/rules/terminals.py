"""Is every terminal wired that must be, no wire end free, no terminal doubled, every metal strapped? NET-1 and NET-2.

Read off the sheets alone. A terminal that its kind marks `required`, one of each group of which one is needed, a wire
with a blank end (unless a need waits for its pin there), a metal that carries current and that nothing joins to the
battery's earthed post but controllers and control cables: NET-1. More wires than the terminal takes: NET-2; controller
pins and connector cavities take one. Each open end brings the bridge that would cure it.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from fnmatch import fnmatchcase

from loomwright.findings import Finding
from loomwright.job.rows import Part, Wire
from loomwright.job.vehicle import metals_of
from loomwright.network.records import Changes, Short
from loomwright.states.folding import Told
from loomwright.states.rules.bridges import bridge, earthed_post, first_four, meant_side, plain_side
from loomwright.states.scene import Scene
from loomwright.states.tracing import Ways, is_tied
from loomwright.tables.kinds import Kind, terminal_of

__all__ = ["terminal_findings"]


def terminal_findings(scene: Scene, ways: Ways) -> Iterator[Told]:
    """What is open, doubled or not strapped."""
    yield from _lost_metals(scene)
    for part in scene.parts.values():
        yield from _open_terminals(scene, ways, part)
    for wire in scene.wires.values():
        if not wire.from_ or not wire.to:
            yield from _free_end(scene, ways, wire)
    yield from _half_ways(scene)
    yield from _doubled(scene)


def _open_terminals(scene: Scene, ways: Ways, part: Part) -> Iterator[Told]:
    kind = scene.kinds[part.kind]
    required = [
        f"{part.id}.{terminal.name}" for terminal in kind.terminals if terminal.required and "*" not in terminal.name
    ]
    if len(required) > 1 and not any(point.startswith(f"{part.id}.") for point in scene.wires_at):
        yield _unwired(scene, part, required)
        return
    for terminal in kind.terminals:
        point = f"{part.id}.{terminal.name}"
        if terminal.required and "*" not in terminal.name and point not in scene.wires_at:
            # a switch to its own metal is open to neither side: what it works with cannot be told
            side = meant_side(ways, scene.node(point)) if ways.region(scene.node(point)).is_lost else ""
            finding = Finding(
                rule="NET-1",
                severity="fault",
                at=(point,),
                touches=(part.id,),
                label=f"{point} ({scene.title(part.id)})",
                wrong="no wire ends here, and it cannot work without one",
                mend=f"Wire {point} to {'its ' + plain_side(side) if side else 'what it works with'}",
            )
            yield Told(finding, None, bridge(scene, point, side))
    yield from _open_groups(scene, kind, part)


def _unwired(scene: Scene, part: Part, required: list[str]) -> Told:
    finding = Finding(
        rule="NET-1",
        severity="fault",
        at=first_four((part.id, *required)),
        touches=tuple(required[3:]),
        label=f"{part.id} ({scene.title(part.id)})",
        wrong="not one wire ends at it",
        mend=f"Wire {' '.join(required[:4])}, or mark the part as removed",
    )
    return Told(finding, None, None)


def _open_groups(scene: Scene, kind: Kind, part: Part) -> Iterator[Told]:
    for group in kind.needs_one_of:
        points = tuple(f"{part.id}.{name}" for name in group)
        if not any(point in scene.wires_at for point in points):
            finding = Finding(
                rule="NET-1",
                severity="fault",
                at=points[:4],
                touches=(part.id,),
                label=f"{part.id} ({scene.title(part.id)})",
                wrong=f"none of its terminals {' '.join(group)} has a wire, and it needs one of them",
                mend=f"Wire {' or '.join(points)}",
            )
            yield Told(finding, None, None)


def _free_end(scene: Scene, ways: Ways, wire: Wire) -> Iterator[Told]:
    other = wire.from_ or wire.to
    if other and any(f"{need.part}.{need.terminal}" == scene.point(other) for need in scene.job.needs):
        return  # it goes to the pin of that need, which allocation gives it
    end = "to" if wire.from_ else "from"
    trial = None
    mend = f"Fill in both ends of {wire.id}, or take the wire out"
    if other:
        side = meant_side(ways, scene.node(other))
        trial = bridge(scene, scene.point(other), side)
        mend = f"Join the free end of {wire.id} to its {plain_side(side)}, or cut the wire back and take its row out"
    finding = Finding(
        rule="NET-1",
        severity="fault",
        at=first_four((wire.id, other) if other else (wire.id,)),
        label=f"{wire.id} (wire{', from ' + other if other else ''})",
        wrong=f"its end `{end}` is free" if other else "both its ends are free",
        mend=mend,
    )
    yield Told(finding, None, trial)


def _half_ways(scene: Scene) -> Iterator[Told]:
    """Ways of a connector wired on one side only, and splices with one wire: ends that lead nowhere."""
    for part in scene.parts.values():
        kind = scene.kinds[part.kind]
        if not kind.numbered or kind.duty != "join":
            continue
        start = f"{part.id}."
        wired = {point.removeprefix(start): wires for point, wires in scene.wires_at.items() if point.startswith(start)}
        if any(terminal.name == "*p" for terminal in kind.terminals):
            for terminal, wires in wired.items():
                far = terminal[:-1] + ("s" if terminal.endswith("p") else "p")
                if far not in wired:
                    yield _dead_end(scene, part, f"{part.id}.{terminal}", wires, f"{part.id}.{far}")
        elif part.kind == "splice" and sum(len(wires) for wires in wired.values()) == 1:
            terminal, wires = next(iter(wired.items()))
            yield _dead_end(scene, part, f"{part.id}.{terminal}", wires, part.id)


def _dead_end(scene: Scene, part: Part, point: str, wires: tuple[Wire, ...], missing: str) -> Told:
    finding = Finding(
        rule="NET-1",
        severity="warning",
        at=(point,),
        touches=(part.id, *(wire.id for wire in wires)),
        label=f"{point} ({scene.title(part.id)})",
        wrong=f"a wire ends here and nothing goes on from {missing}",
        mend=f"Wire {missing}, or take {' '.join(wire.id for wire in wires)} out",
    )
    return Told(finding, None, None)


def _doubled(scene: Scene) -> Iterator[Told]:
    cavities = [f"{row.part}.{pattern}" for row in scene.job.connectors for pattern in row.terminals]
    for point, wires in scene.wires_at.items():
        part = scene.parts.get(point.split(".", 1)[0])
        most = None if part is None else _most_wires(scene, part, point, cavities)
        if most is None or len(wires) <= most:
            continue
        ids = tuple(wire.id for wire in wires)
        finding = Finding(
            rule="NET-2",
            severity="fault",
            at=(point,),
            touches=(*ids, part.id if part else ""),
            label=f"{point} ({scene.title(point.split('.', 1)[0])})",
            wrong=f"more wires than the terminal takes: {' '.join(ids)}",
            found=float(len(ids)),
            allowed=float(most),
            unit="wires" if most > 1 else "wire",
            mend=f"Splice them outside and bring one wire to {point}, or give one of them its own cavity",
        )
        yield Told(finding, None, None)


def _most_wires(scene: Scene, part: Part, point: str, cavities: list[str]) -> int | None:
    kind = scene.kinds[part.kind]
    terminal = terminal_of(kind, point.split(".", 1)[1])
    if terminal is not None and terminal.max_wires is not None:
        return terminal.max_wires
    is_pin = kind.duty == "controller" or any(fnmatchcase(point, cavity) for cavity in cavities)
    return 1 if is_pin else None


def _lost_metals(scene: Scene) -> Iterator[Told]:
    """Metals that carry current and that no strap, bond, bolt or earth wire joins to the battery's earthed post."""
    near = _metal_joints(scene)
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


def _metal_joints(scene: Scene) -> dict[int, list[int]]:
    """What earth may come by: straps, bonds, bolts, cases and wires; no electronics and no control cable."""
    near: dict[int, list[int]] = {}
    for index, element in enumerate(scene.compiled.network.elements):
        if element.type == "pin" or not is_tied(scene, element) or _is_linkage(scene, element.name):
            continue
        a, b = scene.ends(index)
        near.setdefault(a, []).append(b)
        near.setdefault(b, []).append(a)
    return near


def _is_linkage(scene: Scene, name: str) -> bool:
    wire = scene.wires.get(name)
    circuit = scene.circuits.get(wire.circuit or "") if wire else None
    return circuit is not None and circuit.class_ == "linkage"


def _walk(near: dict[int, list[int]], start: int) -> set[int]:
    seen = {start}
    waiting = deque([start])
    while waiting:
        for other in near.get(waiting.popleft(), ()):
            if other not in seen:
                seen.add(other)
                waiting.append(other)
    return seen
