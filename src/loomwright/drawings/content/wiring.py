"""Who is joined to whom, how far is each point from the supply and from earth, and which drawing does a part belong to?

In: a job. Out: `Wiring`, worked out once for all drawings. Distances are steps, found by the shortest way: a wire
counts 1, a contact or a fuse 10, anything that uses current 100. A point with few steps to the supply and many to
earth is drawn high, the other way round low; that is all that "the way down" rests on, so that a drawing needs no
state of the car.

Assumptions: every contact may be closed; a controller gives supply to its outputs towards earth and earth to its
drivers.
"""

from __future__ import annotations

import heapq
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations
from types import MappingProxyType
from typing import TypeVar

from loomwright.job.job import Job
from loomwright.job.points import Kinds, all_terminals, canonical_point, kinds_of, split_point
from loomwright.job.rows import Part, SwitchContact, Wire
from loomwright.job.variables import rest_state, variables_of
from loomwright.job.vehicle import BUILT_IN_METALS, metals_of, vehicle_of
from loomwright.tables.kinds import Kind, KindElement

__all__ = ["FAR", "Wiring", "case_metal", "wiring_of"]

FAR = 1_000_000
"""Steps to what cannot be reached. [-]"""

_WIRE, _CONTACT, _DIODE, _SMALL, _LOAD = 1, 10, 12, 60, 100
_METAL, _OWN_METAL, _OLD_FEED, _MACHINE = 2, 6, 20, 5000
_STEPS: Mapping[str, int] = MappingProxyType(
    {
        "joined": 1,
        "pair": 1,
        "fuse": _CONTACT,
        "link": _CONTACT,
        "breaker": _CONTACT,
        "switch": _CONTACT,
        "contact": _CONTACT,
        "diode": _DIODE,
    }
)
_NO_WAY = ("battery", "alternator", "trio", "capacitor", "source")
_HIGH = ("high_side", "supply_5v", "half_bridge")
_LOW = ("low_side", "injector", "pwm", "main_relay", "ignition", "half_bridge", "sensor_earth")

Near = dict[str, list[tuple[str, int, str]]]
Thing = TypeVar("Thing")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Wiring:
    """The car as its drawings look at it.

    wires: those that are fitted, by id.   ends: the two points of each, empty where an end is free.
    at: point -> its wires, in the sheet's order.   supply_steps, earth_steps: how far a point is from each. [-]
    came: point -> (the wire or part, the point before it) on its way from the supply.
    home: part -> the circuit whose drawing shows it whole.   live_post: the battery's terminal that is not earthed.
    pins: part -> terminal -> what the pin does.   plugs: part -> terminal -> its connector.
    rest: the state of the car when nobody touches anything.   of_circuit: the wires of each circuit.
    contacts: part -> its rows of the sheet `contacts`.
    """

    job: Job
    kinds: Kinds
    parts: Mapping[str, Part]
    metals: tuple[str, ...]
    terminals: Mapping[str, tuple[str, ...]]
    wires: Mapping[str, Wire]
    ends: Mapping[str, tuple[str, str]]
    at: Mapping[str, tuple[str, ...]]
    supply_steps: Mapping[str, int]
    earth_steps: Mapping[str, int]
    came: Mapping[str, tuple[str, str]]
    home: Mapping[str, str]
    live_post: str
    pins: Mapping[str, Mapping[str, str]]
    plugs: Mapping[str, Mapping[str, str]]
    rest: Mapping[str, str | float]
    of_circuit: Mapping[str, tuple[str, ...]]
    contacts: Mapping[str, tuple[SwitchContact, ...]]

    def depth(self, point: str) -> int:
        """How far down a point belongs: steps from the supply less steps to earth. [-]"""
        return self.supply_steps.get(point, FAR) - self.earth_steps.get(point, FAR)

    def is_above(self, part: str, one: str, other: str) -> bool:
        """Whether the current of a part comes in at one terminal and goes out at the other.

        What the supply reaches through the part itself is below what it reaches from outside; else the depths decide.
        """
        points = (f"{part}.{one}", f"{part}.{other}")
        through = [self.came.get(point, ("", ""))[0] == part for point in points]
        if through[0] != through[1]:
            return through[1]
        return self.depth(points[0]) <= self.depth(points[1])

    def leads_away(self, point: str, circuit: str) -> bool:
        """Whether the circuit's wires at a point only lead on, away from the supply."""
        steps = self.supply_steps.get(point, FAR)
        others = (self.other_end(wire, point) for wire in self.at[point] if self.wires[wire].circuit == circuit)
        return all(self.supply_steps.get(other, FAR) > steps for other in others)

    def kind(self, part: str) -> Kind:
        """The kind of a part."""
        return self.kinds[self.parts[part].kind]

    def other_end(self, wire: str, point: str) -> str:
        """The point at a wire's other end."""
        one, other = self.ends[wire]
        return other if one == point else one


def wiring_of(job: Job, kinds: Kinds) -> Wiring:
    """What all drawings of a job look at.

    Args:
        kinds: those of the library; the job's own are added.
    """
    known = kinds_of(job, kinds)
    parts = {part.id: part for part in job.parts if part.fitted != "removed" and part.kind in known}
    metals, terminals = metals_of(job), all_terminals(job, kinds)
    wires = {wire.id: wire for wire in job.wires if wire.fitted != "removed"}
    ends = {
        wire.id: (_end(wire.from_, terminals, metals, parts), _end(wire.to, terminals, metals, parts))
        for wire in wires.values()
    }
    at: dict[str, list[str]] = {}
    for wire_id, pair in ends.items():
        for point in pair:
            if point:
                at.setdefault(point, []).append(wire_id)
    live_post = vehicle_of(job).live_post
    pins = _pins(job)
    near = _near(job, known, parts, ends)
    from_supply = _with_controllers(near, pins, down=True)
    to_earth = _with_controllers(near, pins, down=False)
    grounds = list(_earths(parts, metals, live_post))
    earthed = _hard(_reached(to_earth, grounds)[0])
    supply_steps, came = _reached(from_supply, _supplies(parts, known, live_post), stops=earthed)
    earth_steps, _ = _reached(to_earth, grounds, stops=_hard(supply_steps))
    return Wiring(
        job=job,
        kinds=known,
        parts=parts,
        metals=metals,
        terminals=terminals,
        wires=wires,
        ends=ends,
        at={point: tuple(found) for point, found in at.items()},
        supply_steps=supply_steps,
        earth_steps=earth_steps,
        came=came,
        home=_homes(parts, wires, ends),
        live_post=live_post,
        pins=pins,
        plugs=_plugs(job, terminals),
        rest=rest_state(variables_of(job, known)),
        of_circuit=_grouped((wire.circuit, wire.id) for wire in wires.values()),
        contacts=_grouped((row.part, row) for row in job.contacts),
    )


def case_metal(part: Part, kind: Kind) -> str:
    """The metal that a part's case is bolted to; empty where it has none or hangs free."""
    metal = part.settings.get("bolted_to", "") or kind.case
    return "" if metal == "none" else metal


def _grouped(pairs: Iterable[tuple[str, Thing]]) -> dict[str, tuple[Thing, ...]]:
    """Things by the name before them, in their order."""
    found: dict[str, list[Thing]] = {}
    for name, thing in pairs:
        found.setdefault(name, []).append(thing)
    return {name: tuple(things) for name, things in found.items()}


def _end(
    point: str, terminals: Mapping[str, tuple[str, ...]], metals: tuple[str, ...], parts: Mapping[str, Part]
) -> str:
    if not point:
        return ""
    full = canonical_point(point, terminals, metals)
    return full if full in metals or split_point(full)[0] in parts else ""


def _pins(job: Job) -> dict[str, dict[str, str]]:
    """What each pin of a controller does: the ability its need uses, else the first it has."""
    found: dict[str, dict[str, str]] = {}
    by_id = {}
    for pin in job.controller_pins:
        found.setdefault(pin.part, {})[pin.terminal] = pin.abilities[0] if pin.abilities else ""
        by_id[pin.id] = pin
    for need in job.needs:
        wanted = by_id.get(need.pin)
        if wanted is not None and need.ability in wanted.abilities:
            found[wanted.part][wanted.terminal] = need.ability
    return found


def _plugs(job: Job, terminals: Mapping[str, tuple[str, ...]]) -> dict[str, dict[str, str]]:
    """Which connector each terminal sits in; of two that go together, the side on the loom."""
    found: dict[str, dict[str, str]] = {}
    for row in sorted(job.connectors, key=lambda row: row.side != "pin"):
        held = found.setdefault(row.part, {})
        for name in row.terminals:
            if name.endswith("*"):
                held.update({one: row.id for one in terminals.get(row.part, ()) if one.startswith(name[:-1])})
            else:
                held[name] = row.id
    return found


def _homes(parts: Mapping[str, Part], wires: Mapping[str, Wire], ends: Mapping[str, tuple[str, str]]) -> dict[str, str]:
    """The circuit a part belongs to: its own if a wire of it reaches the part, else the one with most wires there."""
    counts: dict[str, dict[str, int]] = {}
    for wire_id, pair in ends.items():
        for part in dict.fromkeys(split_point(point)[0] for point in pair):
            if part in parts:
                of = counts.setdefault(part, {})
                of[wires[wire_id].circuit] = of.get(wires[wire_id].circuit, 0) + 1
    homes = {}
    for part_id, of in counts.items():
        own = parts[part_id].circuit
        homes[part_id] = own if own in of else max(of, key=lambda circuit: of[circuit])
    return homes


def _near(job: Job, kinds: Kinds, parts: Mapping[str, Part], ends: Mapping[str, tuple[str, str]]) -> Near:
    """Every point's neighbours: (point, steps, the wire or part between)."""
    near: Near = {}
    used: dict[str, dict[str, None]] = {}
    for wire_id, (one, other) in ends.items():
        for point in (one, other):
            owner, terminal = split_point(point)
            if terminal:
                used.setdefault(owner, {})[terminal] = None
        if one and other:
            _join(near, one, other, _WIRE, wire_id)
    for bond in job.bonds:
        _join(near, bond.from_, bond.to, _WIRE, "")
    for part_id, part in parts.items():
        kind = kinds[part.kind]
        for one, other, steps in _inside(part, kind, tuple(used.get(part_id, ()))):
            # a case on its metal is a joint of its own, not an element of the part
            _join(near, one, other, steps, "" if "." not in other else part_id)
    for row in job.contacts:
        if row.part in parts:
            for group in row.joins:
                for one, other in combinations(group, 2):
                    _join(near, f"{row.part}.{one}", f"{row.part}.{other}", _CONTACT, row.part)
    return near


def _inside(part: Part, kind: Kind, used: tuple[str, ...]) -> Iterator[tuple[str, str, int]]:
    """The ways through a part, from node to node."""
    for element in kind.elements:
        if element.type in _NO_WAY or element.params.get("suppressor") is True:
            continue
        steps = _SMALL if element.type == "resistor" and kind.duty == "passive" else _STEPS.get(element.type, _LOAD)
        if element.type == "contact" and kind.duty == "load":
            steps = _LOAD  # a contact that a load works for others, as a starter feeds a coil, is nobody's usual supply
        nodes = element.between
        if any(node.startswith("@") for node in nodes):
            steps = _WIRE  # a joint to metal is no load, whatever its element is
        if kind.numbered and any("*" in node for node in nodes):
            yield from _numbered(part.id, nodes, used)
        elif len(nodes) == 2:
            yield _node(part, kind, nodes[0]), _node(part, kind, nodes[1]), steps
    metal = case_metal(part, kind)
    if metal:
        yield f"{part.id}._case", metal, _WIRE
        yield f"{part.id}.case", metal, _WIRE


def _numbered(part: str, nodes: tuple[str, ...], used: tuple[str, ...]) -> Iterator[tuple[str, str, int]]:
    if len(nodes) == 1:
        yield from ((f"{part}.{name}", f"{part}.*", 1) for name in used)
        return
    for name in used:
        if name.endswith(nodes[0][1:]):
            yield f"{part}.{name}", f"{part}.{name.removesuffix(nodes[0][1:])}{nodes[1][1:]}", 1


def _node(part: Part, kind: Kind, node: str) -> str:
    if node.startswith("@$"):
        default = next((one.default for one in kind.settings if one.name == node[2:]), "")
        return part.settings.get(node[2:], "") or str(default)
    return node[1:] if node.startswith("@") else f"{part.id}.{node}"


def _join(near: Near, one: str, other: str, steps: int, via: str) -> None:
    near.setdefault(one, []).append((other, steps, via))
    near.setdefault(other, []).append((one, steps, via))


def _with_controllers(near: Near, pins: Mapping[str, Mapping[str, str]], *, down: bool) -> Near:
    """The same with the ways inside controllers: from supply pins to what they feed, or from earth pins to drivers."""
    found = dict(near)
    far = _LOAD if down else 2 * _LOAD  # an input's pull-up is nearer to the supply than to earth
    for part, does in pins.items():
        star = f"{part}.*{'s' if down else 'e'}"
        roots = ("supply",) if down else ("power_earth",)
        ends = _HIGH if down else _LOW
        for terminal, ability in does.items():
            steps = _CONTACT if ability in ends else 1 if ability in roots else far
            for one, other in ((f"{part}.{terminal}", star), (star, f"{part}.{terminal}")):
                if (one == star) != (ability in roots):
                    found[one] = [*found.get(one, ()), (other, steps, part)]
    return found


def _hard(steps: Mapping[str, int]) -> frozenset[str]:
    """The points that are joined to a root by nothing but wires and joints."""
    return frozenset(point for point, count in steps.items() if count < _CONTACT)


def _reached(
    near: Near, roots: Iterable[tuple[str, int]], stops: Collection[str] = ()
) -> tuple[dict[str, int], dict[str, tuple[str, str]]]:
    """Steps from the roots to every point that can be reached, and from where the shortest way came.

    A way never takes two elements of one part in a row: two contacts of a change-over are not closed together, and no
    current that matters goes up one filament and down the other. Nor does it go on from where it `stops`: what lies
    behind earth is not fed by it.
    """
    steps: dict[str, int] = {}
    came: dict[str, tuple[str, str]] = {}
    waiting = [(count, point, "", "") for point, count in roots]
    heapq.heapify(waiting)
    while waiting:
        count, point, via, before = heapq.heappop(waiting)
        if point in steps:
            continue
        steps[point] = count
        if before:
            came[point] = (via, before)
        if point in stops:
            continue
        for other, more, between in near.get(point, ()):
            if other not in steps and not (between and between == via and not _is_inner(point)):
                heapq.heappush(waiting, (count + more, other, between, point))
    return steps, came


def _is_inner(node: str) -> bool:
    """Whether a node lies inside a part: a joint's middle, a controller's star, a case."""
    return "." in node and node.partition(".")[2][:1] in ("*", "_")


def _supplies(parts: Mapping[str, Part], kinds: Kinds, live_post: str) -> Iterator[tuple[str, int]]:
    for part in parts.values():
        for element in kinds[part.kind].elements:
            if element.type == "battery":
                yield f"{part.id}.{live_post}", 0
            elif element.type == "source":
                yield from ((point, _OLD_FEED) for point in _sources(part, element))
            elif element.type == "alternator":
                yield f"{part.id}.{element.between[0]}", _MACHINE


def _sources(part: Part, element: KindElement) -> Iterator[str]:
    """An end of the old car that is fed, unless its setting says it goes to earth."""
    words = element.only_if.get("to", ())
    if not words or part.settings.get("to", "earth") in words:
        yield f"{part.id}.{element.between[0]}"


def _earths(parts: Mapping[str, Part], metals: Iterable[str], live_post: str) -> Iterator[tuple[str, int]]:
    earthed = "+" if live_post == "-" else "-"
    for part in parts.values():
        if part.kind == "battery":
            yield f"{part.id}.{earthed}", 0
    for metal in metals:
        yield metal, _METAL if metal in BUILT_IN_METALS else _OWN_METAL
