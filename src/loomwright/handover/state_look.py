"""What is energised in one state, what feeds each point, and how does the current get back?

In: a compiled network and a state. Out: a `StateLook`: the answer of the solver, which elements act in it, and for each
point the parts on its shortest way from the supply and back to the earthed post. Unlike the drawings, which take every
contact as closed, a way goes only through what is closed in this state, and rather along the current than against it.

A wire is *energised* where it carries a milliampere, or either end is above the most volts at which a point is dead.

Source: `dead_v`, `live_frac` in `constants.csv`, common practice; a milliampere as the least that counts is our choice.
"""

from __future__ import annotations

import heapq
from collections.abc import Container, Iterable, Iterator, Mapping
from dataclasses import dataclass

from loomwright.handover.outage import Loads, loads_of, working
from loomwright.job.job import Job
from loomwright.job.rows import Wire
from loomwright.job.vehicle import vehicle_of
from loomwright.network.arrays import type_b, type_i
from loomwright.network.compiled import Compiled
from loomwright.network.records import Element, Guard
from loomwright.network.solve import Batch, Solved, before_of, solve_many, solved_from, values_of
from loomwright.tables.constants import constant

__all__ = ["CARRIES_A", "StateLook", "Way", "is_energised", "loads_working", "look_at", "wire_volts"]

CARRIES_A = 0.001
"""The least current that counts as carried. [A]"""

_WIRE, _CONTACT, _LOAD, _AGAINST, _MACHINE = 1, 1_000, 10_000, 30_000, 35_000
"""How far each takes a way: no row of wires is as far as a contact, and what a machine feeds is not fed by a battery
through a load and against the current [-]."""
_FLOWS_A = 1e-6
"""The least current against which a way is not taken: an input of a controller takes micro-amperes. [A]"""
_JOINTS = ("joint", "bolted", "bond", "case")
_CONTACTS = ("fuse", "link", "breaker", "switch", "contact", "diode")
_MACHINES = ("battery", "alternator", "trio", "source")
_MOST_STEPS = 400

_Near = list[list[tuple[int, int, int, float]]]
"""Node -> its neighbours: (node, steps, the element between, amps through it towards the neighbour)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """How a point is joined to the supply, or to the earthed post.

    steps: how far it is. [-]   parts: from there to the point, wires left out.
    """

    steps: int
    parts: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StateLook:
    """One state, looked at closely.

    batch: the answer as arrays.   earlier: value indices of the state before, where that matters. [-]
    contacts: two points -> whether a contact, switch or fuse joins them in this state.
    fed_by, back_by: point -> the parts on its way from the supply, and back to the earthed post.
    system_v: what the car is made for. [V]
    """

    compiled: Compiled
    batch: Batch
    earlier: type_i | None
    solved: Solved
    contacts: Mapping[frozenset[str], bool]
    fed_by: Mapping[str, Way]
    back_by: Mapping[str, Way]
    system_v: float

    @property
    def dead_v(self) -> float:
        """Most volts at which a point is dead. [V]"""
        return constant("dead_v")

    def feeds(self, *points: str) -> tuple[str, ...]:
        """The parts on the shortest way from the supply to any of some points; none where it reaches none."""
        return _shortest(self.fed_by, (self.compiled.network.aliases.get(point, point) for point in points))

    def leads_back(self, *points: str) -> tuple[str, ...]:
        """The parts on the shortest way from any of some points back to the earthed post, in that order."""
        back = _shortest(self.back_by, (self.compiled.network.aliases.get(point, point) for point in points))
        return tuple(reversed(back))

    def standing(self, point: str) -> str:
        """A point in one word: live, dead, between, floating; empty where it is none of the car's.

        Live and dead are told by the volts against the battery's earthed post.
        """
        point = self.compiled.network.aliases.get(point, point)
        if point not in self.solved.volts:
            return ""
        volts = self.solved.volts[point]
        if volts is None:
            return "floating"
        if abs(volts) >= constant("live_frac") * self.system_v:
            return "live"
        return "dead" if abs(volts) <= self.dead_v else "between"


def look_at(
    job: Job, compiled: Compiled, state: Mapping[str, str | float], before: Mapping[str, str | float] | None = None
) -> StateLook:
    """A state of the car, looked at closely.

    Args:
        job: for the volts of its system.
        before: the state it came from; variables it does not name are as in `state`.
    Raises:
        OutOfReach: an unknown variable or value.
    """
    values = values_of(compiled, state)
    earlier = values_of(compiled, {**state, **before}) if before else before_of(compiled, values)
    start = None if earlier is None else solve_many(compiled, earlier[None, :]).devices
    batch = solve_many(compiled, values[None, :], start)
    acts = _acting(compiled, batch)
    names = _names(compiled)
    return StateLook(
        compiled=compiled,
        batch=batch,
        earlier=earlier,
        solved=solved_from(compiled, batch, 0),
        contacts=_contacts(compiled, acts, names),
        **_ways(compiled, acts, names, batch.amps[0].tolist()),
        system_v=vehicle_of(job).system_v,
    )


def _shortest(ways: Mapping[str, Way], points: Iterable[str]) -> tuple[str, ...]:
    known = [ways[point] for point in points if point in ways]
    return min(known, key=lambda way: way.steps).parts if known else ()


def wire_volts(look: StateLook, wire: Wire) -> tuple[float | None, float | None]:
    """Volts at both ends of a wire; None where an end floats, is free, or is no point of the car. [V]"""
    aliases = look.compiled.network.aliases
    one, other = (look.solved.volts.get(aliases.get(end, end)) if end else None for end in (wire.from_, wire.to))
    return one, other


def is_energised(look: StateLook, wire: Wire) -> bool:
    """Whether a wire carries current, or has volts at either end."""
    if abs(look.solved.amps.get(wire.id, 0.0)) >= CARRIES_A:
        return True
    return any(volts is not None and abs(volts) > look.dead_v for volts in wire_volts(look, wire))


def loads_working(look: StateLook) -> tuple[Loads, tuple[float, ...], tuple[bool, ...]]:
    """The loads of the car, the amps each draws, and whether it works."""
    loads = loads_of(look.compiled)
    amps = look.batch.amps[0]
    drawn = tuple(float(abs(amps[list(places)].sum())) for places in loads.places)
    return loads, drawn, tuple(bool(one) for one in working(loads, look.batch.amps)[0])


def _names(compiled: Compiled) -> list[str]:
    """The name of each node."""
    names = [""] * (compiled.arrays.nodes + 1)
    for name, node in compiled.node_of.items():
        names[node] = name
    return names


def _acting(compiled: Compiled, batch: Batch) -> list[bool]:
    """Which elements act in the state."""
    values, devices = batch.values[0].tolist(), batch.devices[0]
    return [_acts(element, values, devices) for element in compiled.network.elements]


def _acts(element: Element, values: list[int], devices: type_b) -> bool:
    return (not element.guards or any(_holds(guard, values) for guard in element.guards)) and all(
        bool(devices[device]) == on for device, on in element.needs
    )


def _holds(guard: Guard, values: list[int]) -> bool:
    return all(values[variable] in allowed for variable, allowed in guard.holds)


def _contacts(compiled: Compiled, acts: list[bool], names: list[str]) -> Mapping[frozenset[str], bool]:
    arrays = compiled.arrays
    found: dict[frozenset[str], bool] = {}
    for k, element in enumerate(compiled.network.elements):
        if element.type in _CONTACTS:
            pair = frozenset({names[arrays.a[k]], names[arrays.b[k]]})
            found[pair] = found.get(pair, False) or acts[k]
    return found


def _ways(compiled: Compiled, acts: list[bool], names: list[str], amps: list[float]) -> dict[str, Mapping[str, Way]]:
    elements, arrays = compiled.network.elements, compiled.arrays
    near: _Near = [[] for _ in names]
    ground = arrays.nodes
    a, b = arrays.a.tolist(), arrays.b.tolist()
    roots: dict[int, str] = {}
    supplies: list[tuple[int, int]] = []
    for k, element in enumerate(elements):
        if element.type in _MACHINES:
            roots |= dict.fromkeys((a[k], b[k]), element.part)
            far = 0 if element.type == "battery" else _MACHINE
            supplies += [(far, node) for node in (a[k], b[k]) if acts[k] and node != ground and _is_point(names[node])]
        elif acts[k] and not _is_open(element):
            steps = _steps(element)
            near[a[k]].append((b[k], steps, k, amps[k]))
            near[b[k]].append((a[k], steps, k, -amps[k]))
    earthed = frozenset(node for node, steps in _reached(near, [(0, ground)], (), -1)[0].items() if steps < _CONTACT)
    # neither way goes on from where the other has its root: what lies behind earth is not fed by it
    supplied, came = _reached(near, [one for one in supplies if one[1] not in earthed], earthed, 1)
    live = frozenset(node for node, steps in supplied.items() if steps < _CONTACT)
    back, came_back = _reached(near, [(0, ground)], live, -1)
    return {
        word: {
            names[node]: Way(steps=steps[node], parts=_told(way, elements, node, roots))
            for node in steps
            if _is_point(names[node])
        }
        for word, way, steps in (("fed_by", came, supplied), ("back_by", came_back, back))
    }


def _is_point(name: str) -> bool:
    """Whether a node is a point of the sheets, not one inside a part."""
    return "._" not in name


def _is_open(element: Element) -> bool:
    """Whether a wire is cut: its conductance is nothing."""
    return element.is_wire and all(row[0] == 0.0 for row in element.figures)


def _steps(element: Element) -> int:
    if element.is_wire or element.type in _JOINTS:
        return _WIRE
    return _CONTACT if element.type in _CONTACTS and not element.load else _LOAD


def _reached(
    near: _Near, roots: Iterable[tuple[int, int]], stops: Container[int], along: int
) -> tuple[dict[int, int], dict[int, tuple[int, int]]]:
    """Steps to every node that can be reached; the element and the node each was reached by. [-]

    Args:
        along: 1 where current comes from the roots, -1 where it goes to them. [-]
    """
    steps: dict[int, int] = {}
    came: dict[int, tuple[int, int]] = {}
    waiting = [(count, node, -1, -1) for count, node in roots]
    heapq.heapify(waiting)
    while waiting:
        count, node, via, before = heapq.heappop(waiting)
        if node in steps:
            continue
        steps[node] = count
        if via >= 0:
            came[node] = (via, before)
        if node in stops:
            continue
        for other, more, element, amps in near[node]:
            if other not in steps:
                against = _AGAINST if amps * along < -_FLOWS_A else 0
                heapq.heappush(waiting, (count + more + against, other, element, node))
    return steps, came


def _told(
    came: Mapping[int, tuple[int, int]], elements: tuple[Element, ...], node: int, roots: Mapping[int, str]
) -> tuple[str, ...]:
    """The parts on the way to a node, first the one it comes from; none twice."""
    found = [part for part in _back(came, elements, node, roots) if part]
    return tuple(dict.fromkeys(reversed(found)))


def _back(
    came: Mapping[int, tuple[int, int]], elements: tuple[Element, ...], node: int, roots: Mapping[int, str]
) -> Iterator[str]:
    for _ in range(_MOST_STEPS):
        if node not in came:
            break
        via, node = came[node]
        yield elements[via].part
    yield roots.get(node, "")
