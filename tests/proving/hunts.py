"""Faults put into cars by hand, and the hunt for them: readings the tool asks for, six at most, then who stands first.

A hunt begins as it does in a workshop, with what was noticed: the volts at the part that does not do as it should, in
the state in which that is seen. Nobody hunts a fault that shows at no part.

A group of faults counts as right only where the true one is in it and all of it lies in one wire or part, a wire with
what is crimped to its ends, at one terminal, in one connector, or on the net behind one fuse: what chafes through
anywhere there blows that fuse, and no volts tell where.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fnmatch import fnmatchcase
from itertools import pairwise
from re import findall

import networkx as nx
import numpy as np
from numpy.typing import NDArray

from loomwright.car import Car
from loomwright.job.conditions import parse_condition
from loomwright.job.rows import Reading
from loomwright.network.records import Short
from loomwright.proving.fitting import ReadAs
from loomwright.proving.locate import NextPoint, SuspectGroup, locate
from tests.proving.faulty_car import FaultyCar

Fault = tuple[str, dict[str, object]]
READINGS = 6
FAR = 99
SURE = 0.995
SMALL_A, MADE_A = 1.0, (1.0, 2.0, 3.0, 4.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 60.0, 80.0, 100.0)
"""The fuses at hand when the right one was not."""
LEAST_V = 1.2
"""A tenth of the car's volts: who sees less go missing at a part."""


@dataclass(frozen=True, kw_only=True)
class Hunt:
    """How a hunt ended. place: where the true fault stands, 0 first.   named: the same where a group may be wide."""

    name: str
    wrong: str
    place: int
    named: int
    readings: int
    told: str


def reading(point: str, when: str, volts: float, measure: str = "volts") -> Reading:
    return Reading(point=point, when=parse_condition(when), measure=measure, value=volts)


def taken_at(faulty: FaultyCar, best: NextPoint) -> Reading:
    """The reading the tool asks for, taken on the faulty car."""
    state = dict(piece.split("=") for piece in best.state.split(", ")) if best.state else {}
    if best.measure == "clamp":
        value = faulty.clamp(best.point, state, best.off, best.to)
    elif best.measure == "ohms":
        value = faulty.ohms(best.point, best.to, state, best.off)
    elif best.to:
        value = faulty.drop(best.point, best.to, state, best.off)
    else:
        value = faulty.volts(best.point, state, best.off)
    return Reading(
        point=best.point,
        to=best.to,
        when=parse_condition(best.state),
        measure=best.measure,
        off=best.off,
        value=value,
        unit=best.unit,
    )


def faults_put_in(car: Car) -> list[Fault]:
    """Faults as a person makes them: named by the sheets, not by the tool's own list."""
    found: list[Fault] = []
    for wire in car.filled.wires:
        found.append((wire.id, {"opened": (wire.id,)}))
        found.append((wire.id, {"series": ((wire.id, 2.0),)}))
        found.append((wire.id, {"touching": ((wire.id, "body", 0.05),)}))
    found += [(part.id, {"pulled": (part.id,)}) for part in car.filled.parts if part.kind == "fuse"]
    return found


def every_fault(car: Car) -> list[Fault]:
    """The same; wires in cavities side by side, earths, contacts, loads, coils, relays, fuses that are too small."""
    live = next(part.id for part in car.filled.parts if part.kind == "battery") + ".+"
    found = faults_put_in(car)
    for wire in car.filled.wires:
        found.append((wire.id, {"touching": ((wire.id, live, 0.05),)}))
        found += [(wire.id, {"series": ((wire.id, ohm),)}) for ohm in (0.5, 6.0)]
    kinds = {part.id: part.kind for part in car.filled.parts}
    silent: dict[str, list[str]] = {}
    for element in car.compiled.network.elements:
        kind = kinds.get(element.part, "")
        if kind == "earth_point" or element.load or (kind == "relay" and element.type == "coil"):
            silent.setdefault(element.part, []).append(element.name)
        elif element.type in ("contact", "switch"):
            found.append((element.part, {"silent": (element.name,)}))
    for part, names in silent.items():
        found.append((part, {"silent": tuple(names)}))
        if kinds[part] == "earth_point":
            found += [(part, {"weak": tuple((name, ohm) for name in names)}) for ohm in (0.5, 2.0, 6.0)]
    for part, kind in kinds.items():
        if kind == "relay":
            found += [(part, {"stuck": (part,)}), (part, {"lame": (part,)})]
    for part in car.filled.parts:
        rating = float(part.settings.get("rating_a") or 0.0)
        if part.kind == "fuse" and rating >= 3 * SMALL_A:
            found.append((part.id, {"rerated": ((part.id, max(a for a in MADE_A if 3 * a <= rating)),)}))
    for (one, here), (other, there) in _side_by_side(car):
        found.append((one, {"shorts": (Short(here, there, 1.0),)}))
        found.append((one, {"crossed": ((one, here, other, there),)}))
    return found


def bare_on_the_body(car: Car) -> list[Fault]:
    """A busbar, a splice, and each terminal of a part that a wire goes to, on the body."""
    found: list[Fault] = []
    kinds = {part.id: car.kinds[part.kind] for part in car.filled.parts}
    for end in dict.fromkeys(end for wire in car.filled.wires for end in (wire.from_, wire.to)):
        kind = kinds.get(end.split(".")[0])
        if kind is None or kind.id in ("earth_point", "battery"):
            continue
        name = end.split(".")[0] if kind.duty == "join" else end
        if name not in {one for one, _ in found}:
            found.append((name, {"shorts": (Short(end, "body", 0.05),)}))
    return found


def _side_by_side(car: Car) -> Iterator[tuple[tuple[str, str], tuple[str, str]]]:
    """Two wires in cavities that follow each other: the wire and the point of each."""
    ends = [(end, wire.id) for wire in car.filled.wires for end in (wire.from_, wire.to)]
    wires_at: dict[str, list[str]] = {}
    for end, wire in ends:
        wires_at.setdefault(end, []).append(wire)
    for row in car.filled.connectors:
        named = [f"{row.part}.{pattern}" for pattern in row.terminals]
        points = dict.fromkeys(
            end
            for pattern in named
            for end in sorted((end for end, _ in ends if fnmatchcase(end, pattern)), key=_cavity)
        )
        cavities = sorted(points, key=_cavity)
        for here, there in pairwise(cavities):
            if len(wires_at[here]) == len(wires_at[there]) == 1 and wires_at[here] != wires_at[there]:
                yield (wires_at[here][0], here), (wires_at[there][0], there)


def _cavity(point: str) -> tuple[tuple[int, str], ...]:
    """Cavities in the order in which they are counted: A2 before A10."""
    pieces = findall(r"[0-9]+|[^0-9]+", point.split(".", 1)[1])
    return tuple((int(piece), "") if piece.isdigit() else (-1, piece) for piece in pieces)


def sort_of(fault: Fault) -> str:
    """What sort of fault it is, by what is done to the car: `opened`, `series 2`, `touching body`."""
    what, where = next(iter(fault[1].items()))
    if what in ("series", "weak"):
        return f"{what} {where[0][1]:g}"
    return f"{what} {where[0][1].split('.')[0]}" if what == "touching" else what


def spread_over_sorts(pool: Sequence[Fault], seed: int) -> list[int]:
    """All of them, drawn within each sort, so that whatever number is taken of them holds each sort by its share."""
    rng = np.random.default_rng(seed)
    sorts: dict[str, list[int]] = {}
    for k, fault in enumerate(pool):
        sorts.setdefault(sort_of(fault), []).append(k)
    placed = [
        ((place + 0.5) / len(some), int(k)) for some in sorts.values() for place, k in enumerate(rng.permutation(some))
    ]
    return [k for _, k in sorted(placed)]


def hunts(car: Car, pool: Sequence[Fault], order: Iterable[int], seed: int) -> Iterator[Hunt]:
    """Each fault of the pool that shows at a part, hunted; the draws of one do not hang on those before it."""
    sound = FaultyCar(car, {}, np.random.default_rng(seed), 0.0)
    holders, states, points = _holders(car), _looked_at(car), _noticed_at(car)
    for k in order:
        name, wrong = pool[k]
        rng = np.random.default_rng([seed, k])
        broken = FaultyCar(car, wrong, rng, 0.0)
        away_v, point, number = max(
            (abs(broken.shown(point, state) - sound.shown(point, state)), point, number)
            for number, state in enumerate(states)
            for point in points
        )
        if away_v < LEAST_V:
            continue  # nothing that a person would notice
        faulty = FaultyCar(car, wrong, rng)
        if abs(faulty.shown(point, states[number]) - sound.shown(point, states[number])) < LEAST_V:
            continue  # this car's own figures keep it from showing: a fuse that just holds
        when = ", ".join(f"{variable}={value}" for variable, value in states[number].items())
        noticed = reading(point, when, faulty.volts(point, states[number]))
        yield _hunted(car, name, wrong, faulty, noticed, holders)


def _noticed_at(car: Car) -> list[str]:
    """The wired terminals of what does something: loads, controllers, gauges, sensors."""
    ends = dict.fromkeys(end for wire in car.filled.wires for end in (wire.from_, wire.to))
    does = {part.id for part in car.filled.parts if car.kinds[part.kind].duty in ("load", "controller", "gauge")}
    return [end for end in ends if end.split(".")[0] in does]


def _looked_at(car: Car) -> tuple[dict[str, str], ...]:
    """The states in which a person would see that something is wrong: at rest, running hot, cranking; each switch and
    lever moved as it runs; and main beam, the lights on."""
    coolant = next((one.values for one in car.variables if one.name == "coolant_c"), ())
    hot = {"coolant_c": max(coolant, key=float)} if coolant else {}
    run = {"key": "run", "engine": "running"}
    moved = [
        {**run, one.name: value}
        for one in car.variables
        if one.name not in {*run, "battery", "phase"} and not one.numeric
        for value in one.values
        if value != one.rest
    ]
    places = {one.name: one.values for one in car.variables}
    beams = {"light": "head", "dip": "main"}
    main = [{**run, **beams}] if all(value in places.get(name, ()) for name, value in beams.items()) else []
    return {}, {**run, **hot}, {"key": "start", "engine": "cranking"}, *moved, *main


def _hunted(
    car: Car,
    name: str,
    wrong: dict[str, object],
    faulty: FaultyCar,
    noticed: Reading,
    holders: dict[str, set[str]],
) -> Hunt:
    taken: list[Reading] = [noticed]
    table, kept = car.faults_read(), dict[ReadAs, NDArray[np.float64]]()
    while True:
        located = locate(car.scene, taken, table, kept=kept, ask=len(taken) <= READINGS)
        if not located.next or (located.groups[0].odds > SURE and _at_one(located.groups[0], holders)):
            break
        taken.append(taken_at(faulty, located.next[0]))
    groups = located.groups
    named = [any(name in one.at for one in group.suspects) for group in groups]
    right = [has and _at_one(group, holders) for has, group in zip(named, groups, strict=True)]
    return Hunt(
        name=name,
        wrong=next(iter(wrong)),
        place=right.index(True) if True in right else FAR,
        named=named.index(True) if True in named else FAR,
        readings=len(taken) - 1,
        told=groups[0].says,
    )


def _at_one(group: SuspectGroup, holders: dict[str, set[str]]) -> bool:
    """Whether a group lies in one wire or part, at one terminal, in one connector, or behind one fuse."""
    where = [set().union(*(holders.get(name, {name}) for name in one.at)) for one in group.suspects]
    return bool(set.intersection(*where))


def _holders(car: Car) -> dict[str, set[str]]:
    """Wire, part or terminal -> itself, the terminals and connectors it ends in, the wires crimped to it, and the net
    behind a fuse that it is of."""
    job = car.filled
    found = {part.id: {part.id} for part in job.parts} | {wire.id: {wire.id} for wire in job.wires}
    for row in job.connectors:
        found[row.part].add(row.id)
        patterns = [f"{row.part}.{pattern}" for pattern in row.terminals]
        for wire in job.wires:
            if any(fnmatchcase(end, pattern) for end in (wire.from_, wire.to) for pattern in patterns):
                found[wire.id].add(row.id)
    crimped: dict[str, list[str]] = {}
    for wire in job.wires:
        found[wire.id] |= {f"at {end}" for end in (wire.from_, wire.to)}
        for end in (wire.from_, wire.to):
            crimped.setdefault(end, []).append(wire.id)
    nets = _fused_nets(car)
    for number, net in enumerate(nets):
        for name in net & found.keys():
            found[name].add(f"net {number}")
    for end, wires in crimped.items():
        plugs = {row.id for row in job.connectors for name in row.terminals if fnmatchcase(end, f"{row.part}.{name}")}
        behind = {f"net {number}" for number, net in enumerate(nets) if net & set(wires)}
        found[end] = {f"at {end}", *wires, *plugs, *behind}
    return found


def _fused_nets(car: Car) -> list[set[str]]:
    """Wires, relays and fuses that hang together without a fuse, a load, a switch or metal between."""
    job, kinds = car.filled, {part.id: car.kinds[part.kind] for part in car.filled.parts}
    graph: nx.Graph[str] = nx.Graph()
    for wire in job.wires:
        for end in (wire.from_, wire.to):
            part = end.split(".")[0]
            joined = part in kinds and (kinds[part].duty == "join" or kinds[part].group == "relays")
            coil = end.rsplit(".", 1)[-1] in ("85", "86")
            metal = part not in kinds or kinds[part].id in ("earth_point", "battery")
            graph.add_edge(wire.id, f"{wire.id} {end}" if metal else part if joined and not coil else end)
    nets = []
    for some in nx.connected_components(graph):
        fuses = {
            end.split(".")[0] for end in some if kinds.get(end.split(".")[0]) and "fuse" in kinds[end.split(".")[0]].id
        }
        if fuses:
            nets.append({name.split(".")[0] for name in some} | fuses)
    return nets
