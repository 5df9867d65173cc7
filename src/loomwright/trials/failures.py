"""What can go wrong with one thing in the car?

    missing   a wire, strap, earth, fuse or bond that is open; a connector that is off
    stuck     a relay that stays in, one contact of a switch that stays closed, a driver of a controller that conducts
    shorted   a 5 V, signal or lamp line to the body or to the battery's live post; two neighbouring cavities

In: a `Scene`. Out: `Failure` records, in the order of ids. What lies in one row, with nothing branching off between,
carries one current: open anywhere it is the same failure, told once with all its names. Neighbours are the cavities of
a connector that follow each other by number, since the sheets do not say how every plug is laid out.

Source: ohms between neighbouring cavities and of a dead short: `constants.csv`, common practice.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise

import networkx as nx

from loomwright.findings import id_order
from loomwright.network.build import METALS, points_off
from loomwright.network.records import Changes, Short
from loomwright.states.asking.scene import Scene
from loomwright.states.signals.earth_nets import pins_with, wired_nodes
from loomwright.tables.constants import constant

__all__ = ["PARTS", "Failure", "failures_of"]

PARTS = ("missing", "stuck", "shorted")
_FUSES = ("fuse", "breaker", "link")
_OPENS = ("wire", "bond", *_FUSES)
_INPUTS = ("temperature", "analog", "frequency", "vr", "hall", "knock")
_LINES = {"supply_5v": "5 V line", **dict.fromkeys((f"{word}_input" for word in _INPUTS), "signal line")}
_UNPLUGS = (*_FUSES, "resistor")
_NEIGHBOUR = ("neighbour_short_low_ohm", "neighbour_short_middle_ohm", "neighbour_short_high_ohm")


@dataclass(frozen=True, slots=True, kw_only=True)
class Failure:
    """One thing that is wrong.

    part: missing, stuck or shorted.   what: the thing, in a word.   at: ids or points, where to put a hand first.
    to: what it is shorted to, with the ohms.   circuits: it belongs to.   unplug: what takes the same off on the car.
    opened, closed: elements, by number.   held: devices, by number.   changes: the same for the network, where needed.
    cut: the wires that a connector takes along.
    """

    part: str
    what: str
    at: tuple[str, ...]
    to: str = ""
    circuits: tuple[str, ...] = ()
    unplug: tuple[str, ...] = ()
    opened: tuple[int, ...] = ()
    closed: tuple[int, ...] = ()
    held: tuple[int, ...] = ()
    changes: Changes | None = None
    cut: tuple[str, ...] = ()

    @property
    def says(self) -> str:
        """The failure in words."""
        return f"{', '.join(self.at)} {self.part}" + (f" to {self.to}" if self.to else "")


def failures_of(scene: Scene) -> tuple[Failure, ...]:
    """Everything that can be wrong by itself: missing, then stuck, then shorted, each by id."""
    found = [*_missing(scene), *_unplugged(scene), *_stuck(scene), *_shorted(scene), *_neighbours(scene)]
    return tuple(sorted(found, key=lambda one: (PARTS.index(one.part), id_order(one.at[0]), one.to)))


def _missing(scene: Scene) -> Iterator[Failure]:
    for row in _rows(scene):
        opens = [k for k in row if _can_open(scene, k)]
        if opens:
            named = sorted({_name(scene, k) for k in opens}, key=id_order)
            fuses = [_name(scene, k) for k in opens if scene.element(k).type in _FUSES]
            what = _word(scene, opens)
            yield Failure(
                part="missing",
                what=what,
                at=(*fuses, *(name for name in named if name not in fuses)),
                circuits=_circuits(scene, named),
                unplug=tuple(_name(scene, k) for k in opens if scene.element(k).type in _UNPLUGS)[:1],
                opened=(opens[0],),
            )


def _can_open(scene: Scene, k: int) -> bool:
    element = scene.element(k)
    return element.type in _OPENS or (element.part in scene.parts and scene.parts[element.part].kind == "earth_point")


def _rows(scene: Scene) -> Iterator[list[int]]:
    """Elements that carry one current: each row, and each of those that lie side by side."""
    arrays = scene.compiled.arrays
    pairs: dict[tuple[int, int], list[int]] = {}
    at: dict[int, set[tuple[int, int]]] = {}
    for k in range(len(scene.compiled.network.elements)):
        a, b = sorted(scene.ends(k))
        if a != b:
            pairs.setdefault((a, b), []).append(k)
            at.setdefault(a, set()).add((a, b))
            at.setdefault(b, set()).add((a, b))
    watched = _watched(scene)
    rows: nx.Graph[tuple[int, int]] = nx.Graph()
    rows.add_nodes_from(pairs)
    for node, beside in at.items():
        if len(beside) == 2 and node not in watched and node != arrays.nodes:
            rows.add_edge(*beside)
    for row in nx.connected_components(rows):
        yield sorted(pairs[pair][0] for pair in row if len(pairs[pair]) == 1)
    yield from ([k] for beside in pairs.values() if len(beside) > 1 for k in beside)


def _watched(scene: Scene) -> set[int]:
    """Nodes whose volts a relay, a controller or an igniter looks at: open on either side is not the same there."""
    arrays = scene.compiled.arrays
    found: set[int] = set()
    for k, device in enumerate(scene.compiled.network.devices):
        if device.what != "motor":
            for sense in range(arrays.sense_ptr[k], arrays.sense_ptr[k + 1]):
                found |= {int(arrays.sense_a[sense]), int(arrays.sense_b[sense]), int(arrays.sense_beside[sense])}
    return found


def _name(scene: Scene, k: int) -> str:
    element = scene.element(k)
    return element.part or element.name


def _word(scene: Scene, opens: Iterable[int]) -> str:
    words = {scene.element(k).type for k in opens}
    if words & set(_FUSES):
        return "fuse"
    if words == {"bond"}:
        return "bond"
    ends = [_where(scene, node) for k in opens for node in scene.ends(k)]
    metals = sum(end == "metal" for end in ends)
    wires = [k for k in opens if scene.element(k).is_wire]
    if len(wires) == 1 and all(_where(scene, node) in ("metal", "post") for node in scene.ends(wires[0])):
        return "strap"
    return "earth" if metals else "wire"


def _where(scene: Scene, node: int) -> str:
    name = scene.name_of(node)
    if name in METALS or name in {metal.id for metal in scene.job.metals}:
        return "metal"
    if node == scene.compiled.arrays.nodes:
        return "post"
    part = scene.parts.get(name.split(".")[0])
    return "metal" if part is not None and part.kind == "earth_point" else ""


def _circuits(scene: Scene, names: Iterable[str]) -> tuple[str, ...]:
    """The circuits of wires and parts, those of the wires at a part with them."""
    found: dict[str, None] = {}
    for name in names:
        row = scene.wires.get(name) or scene.parts.get(name)
        if row is not None and row.circuit:
            found[row.circuit] = None
        elif name in scene.parts:
            ends = [wires for point, wires in scene.wires_at.items() if point.split(".")[0] == name]
            found.update((wire.circuit, None) for wires in ends for wire in wires if wire.circuit)
    return tuple(found)


def _unplugged(scene: Scene) -> Iterator[Failure]:
    for row in scene.job.connectors:
        changes = Changes(unplugged=(row.id,))
        off = points_off(scene.job, scene.kinds, changes)
        wires = sorted({wire.id for point in off for wire in scene.wires_at.get(point, ())}, key=id_order)
        if wires:
            yield Failure(
                part="missing",
                what="connector",
                at=(row.id,),
                circuits=_circuits(scene, wires),
                unplug=(row.id,),
                changes=changes,
                cut=tuple(wires),
            )
    for part in scene.parts.values():
        if any(element.type == "pair" for element in scene.kind(part.id).elements):
            names = (part.id,)
            wires = sorted(
                {w.id for p, ws in scene.wires_at.items() if p.split(".")[0] == part.id for w in ws}, key=id_order
            )
            yield Failure(
                part="missing",
                what="connector",
                at=names,
                circuits=_circuits(scene, names),
                unplug=names,
                changes=Changes(unplugged=names),
                cut=tuple(wires),
            )


def _stuck(scene: Scene) -> Iterator[Failure]:
    for k, device in enumerate(scene.compiled.network.devices):
        part = device.name.split(".")[0]
        if device.what == "relay":
            yield Failure(part="stuck", what="relay", at=(part,), circuits=_circuits(scene, (part,)), held=(k,))
    for k, element in enumerate(scene.compiled.network.elements):
        if element.type == "switch" and element.guards:
            point = element.name
            what = "switch"
        elif element.type == "pin" and element.name.endswith(".drive"):
            point = element.name.removesuffix(".drive")
            what = "driver"
        else:
            continue
        ends = [scene.name_of(node) for node in scene.ends(k)]
        wires = [wire.id for end in ends for wire in scene.wires_at.get(end, ())]
        yield Failure(
            part="stuck",
            what=what,
            at=(element.part or point.split(".")[0], point),
            circuits=_circuits(scene, wires),
            closed=(k,),
        )


def _shorted(scene: Scene) -> Iterator[Failure]:
    dead_ohm = constant("dead_short_ohm")
    post = _live_post(scene)
    for point, what in _lines(scene).items():
        wires = [wire.id for wire in scene.wires_at.get(point, ())]
        for to in ("body", post):
            if scene.node(point) != scene.compiled.node_of.get(to, -1):
                yield Failure(
                    part="shorted",
                    what=what,
                    at=(point, *wires),
                    to="earth" if to == "body" else "supply",
                    circuits=_circuits(scene, wires),
                    changes=Changes(shorts=(Short(point, to, dead_ohm),)),
                )


def _lines(scene: Scene) -> Mapping[str, str]:
    """One point of every 5 V, signal and lamp line: the controller's pin, the lamp's live terminal."""
    found: dict[str, str] = {}
    taken: set[int] = set()
    pins = pins_with(scene, *_LINES)
    lamps = {
        end: "lamp line"
        for k, element in enumerate(scene.compiled.network.elements)
        if element.type == "lamp" and element.part in scene.parts
        for end in map(scene.name_of, scene.ends(k))
    }
    for point, what in {**{point: _LINES[ability] for point, ability in pins.items()}, **lamps}.items():
        if point not in scene.compiled.node_of or not scene.wires_at.get(point):
            continue
        nodes, meets = wired_nodes(scene, (scene.node(point),))
        if not meets and not nodes & taken and not nodes & _always_tied(scene):
            found[point] = what
        taken |= nodes
    return found


def _always_tied(scene: Scene) -> set[int]:
    post = _live_post(scene)
    return {scene.compiled.arrays.nodes, scene.compiled.node_of[post], scene.compiled.node_of.get("body", -1)}


def _live_post(scene: Scene) -> str:
    battery = next(part.id for part in scene.parts.values() if part.kind == "battery")
    return f"{battery}.{'-' if scene.vehicle.earth == 'positive' else '+'}"


def _neighbours(scene: Scene) -> Iterator[Failure]:
    for row in scene.job.connectors:
        off = points_off(scene.job, scene.kinds, Changes(unplugged=(row.id,)))
        points = sorted((point for point in off if scene.wires_at.get(point)), key=id_order)
        for a, b in pairwise(points):
            if a not in scene.compiled.node_of or b not in scene.compiled.node_of or not _follow(a, b):
                continue
            wires = [wire.id for end in (a, b) for wire in scene.wires_at[end]]
            for ohm in map(constant, _NEIGHBOUR):
                yield Failure(
                    part="shorted",
                    what="neighbour",
                    at=(a, b),
                    to=f"each other through {ohm:g} ohm",
                    circuits=_circuits(scene, wires),
                    changes=Changes(shorts=(Short(a, b, ohm),)),
                )


def _follow(a: str, b: str) -> bool:
    """Whether two cavities follow each other: their last figures are one apart; names without figures do not count."""
    first, second = (id_order(point.split(".", 1)[1]) for point in (a, b))
    if len(first) != len(second) or not first or first[-1][0] != 0 or second[-1][0] != 0:
        return False
    return first[:-1] == second[:-1] and second[-1][1] - first[-1][1] == 1
