"""What does a car do, what is lost on the way, what protects what: by brute force, no rule asked.

    function    each load in each state: its share of its rated amps, with the sign; amps of gauges, sensors, coils;
                each input of a controller: its volts; which controller pin each terminal of a part leads to; wired pins
    drop        volts lost between the source and each load, there and back, with the engine running and as little as
                can be else switched on
    protection  each wire: can a source reach it over fuses that are all too large for it; a dead short at its far end
                against the fuse before it; the amps it carries; fuses of a rating that is not made

`differences` says where two tables part; what counts is typed here. A fuse opens within half a second at 3.5 times its
rating (the published gate of blade fuses). Protection: `guarding`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import networkx as nx
import numpy as np

from loomwright.car import Car
from loomwright.network.solve import Batch
from tests.trials.one_row.guarding import Guarding, guarding_of
from tests.trials.one_row.states import State, solved, states_of

__all__ = ["Difference", "Table", "differences", "table_of"]

WORKS, SEEN, MUCH = 0.5, 0.2, 1.5
"""Shares of rated amps: works, is seen (a lamp), is overdriven."""
INPUT_V = 0.5
SENSE_SHARE, SENSE_A = 0.25, 0.0005
DROP_STEP_V = 0.15
DROP_LIMIT_V = {
    "charging": 0.5,
    "starting": 1.0,
    "supply": 0.5,
    "ignition": 0.9,
    "injection": 0.9,
    "lighting": 0.9,
    "fuel": 1.2,
    "cooling": 1.2,
    "gearbox": 1.2,
    "signalling": 1.2,
    "wiping": 1.2,
    "gauges": 1.2,
    "warning": 1.2,
    "accessories": 1.2,
}
CLEARS = 3.5
_WIRING = ("wire", "joint")
_INPUTS = ("analog_input", "temperature_input", "hall_input", "switch_to_earth", "key_input", "vr_input", "supply_5v")
_SENSING = ("sensor", "map", "gauge", "sender", "stabiliser", "relay")
_FELT = ("coil", "resistor", "law_resistor", "ntc", "constant_current", "diode")


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """One cell that moved. name: load, pin or wire. part: whose it is. what: how it moved. killed: no longer works."""

    what: str
    name: str
    part: str
    where: str
    killed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Table:
    """The table of one car, a row a state."""

    states: tuple[State, ...]
    away: np.ndarray
    loads: Mapping[str, np.ndarray]
    parts: Mapping[str, str]
    lamps: frozenset[str]
    turning: frozenset[str]
    across: Mapping[str, np.ndarray]
    supply_v: np.ndarray
    limit_v: Mapping[str, float]
    sensed: Mapping[str, np.ndarray]
    inputs: Mapping[str, np.ndarray]
    leads: Mapping[str, frozenset[str]]
    carried: Mapping[str, np.ndarray]
    guarding: Guarding


def table_of(car: Car, states: tuple[State, ...] | None = None) -> Table:
    """The table of a car.

    Args:
        states: those of another table, so that both can be held against each other.
    """
    compiled = car.compiled
    states = states or states_of(compiled)
    batch = solved(compiled, states)
    elements = compiled.network.elements
    kinds = {part.id: part.kind for part in car.job.parts}
    circuits = {part.id: part.circuit for part in car.job.parts}
    loads: dict[str, np.ndarray] = {}
    across: dict[str, np.ndarray] = {}
    sensed: dict[str, np.ndarray] = {}
    parts: dict[str, str] = {}
    for k, element in enumerate(elements):
        if element.load and element.rated_a:
            loads[element.name] = loads.get(element.name, 0.0) + batch.amps[:, k] / element.rated_a
            across[element.name] = np.abs(_volts(batch, compiled.arrays.a[k]) - _volts(batch, compiled.arrays.b[k]))
            parts[element.name] = element.part
        elif element.type in _FELT and kinds[element.part].startswith(_SENSING):
            sensed[element.name] = batch.amps[:, k]
            parts[element.name] = element.part
    classes = {circuit.id: circuit for circuit in car.job.circuits}
    limit_v = {}
    for name in loads:
        circuit = classes.get(circuits.get(parts[name]) or "")
        if circuit is not None and circuit.class_ in DROP_LIMIT_V:
            limit_v[name] = circuit.drop_limit_v or DROP_LIMIT_V[circuit.class_]
    inputs = {
        f"{pin.part}.{pin.terminal}": _volts(batch, compiled.node_of[f"{pin.part}.{pin.terminal}"])
        for pin in car.job.controller_pins
        if set(pin.abilities) & set(_INPUTS) and f"{pin.part}.{pin.terminal}" in compiled.node_of
    }
    return Table(
        states=states,
        away=np.array([len(state) for state in states]),
        loads=loads,
        parts=parts,
        lamps=frozenset(e.name for e in elements if e.type == "lamp"),
        turning=frozenset(
            e.name for e in elements if (e.type == "motor" or e.polar) and kinds[e.part] not in _EITHER_WAY
        ),
        across=across,
        supply_v=_volts(batch, compiled.node_of["BAT.+"]),
        limit_v=limit_v,
        sensed=sensed,
        inputs=inputs,
        leads=_leads(car),
        carried={e.name: np.abs(batch.amps[:, k]) for k, e in enumerate(elements) if e.is_wire},
        guarding=guarding_of(car),
    )


def differences(sound: Table, other: Table) -> tuple[Difference, ...]:
    """Where a car's table parts from that of the sound one."""
    found = (*_function(sound, other), *_sensing(sound, other), *_drops(sound, other), *_protection(sound, other))
    return tuple(found)


def _volts(batch: Batch, node: int) -> np.ndarray:
    return np.where(batch.floating[:, node] == 1, np.nan, batch.v[:, node])


def _at(table: Table, hit: np.ndarray) -> str:
    return " ".join(f"{name}={value}" for name, value in table.states[int(np.flatnonzero(hit)[0])].items())


def _function(sound: Table, other: Table) -> Iterator[Difference]:
    for name, was in sound.loads.items():
        part = sound.parts[name]
        now = other.loads.get(name)
        if now is None:
            yield Difference(what="is gone", name=name, part=part, where="", killed=True)
            continue
        size_was, size_now = np.abs(was), np.abs(now)
        dead = (size_was >= WORKS) & (size_now < WORKS) & (size_now < 0.7 * size_was)
        seen = SEEN if name in sound.lamps else WORKS
        wrongly = (size_was < SEEN) & (size_now >= seen) & (size_now > 2.0 * size_was)
        over = (size_now > MUCH) & (size_now > MUCH * size_was)
        turned = (size_was >= WORKS) & (size_now >= WORKS) & (was * now < 0.0) & (name in sound.turning)
        for what, hit in (("dead", dead), ("wrongly live", wrongly), ("overdriven", over), ("turned", turned)):
            if hit.any():
                yield Difference(what=what, name=name, part=part, where=_at(sound, hit), killed=what == "dead")


def _sensing(sound: Table, other: Table) -> Iterator[Difference]:
    for name, was in sound.sensed.items():
        now = other.sensed.get(name)
        if now is None:
            continue
        far = np.abs(now - was)
        hit = (far > SENSE_A) & (far > SENSE_SHARE * np.maximum(np.abs(now), np.abs(was)))
        if hit.any():
            yield Difference(what="senses otherwise", name=name, part=sound.parts[name], where=_at(sound, hit))
    for name, was in sound.inputs.items():
        now = other.inputs.get(name)
        if now is None:
            continue
        hit = (np.isnan(was) != np.isnan(now)) | (np.abs(now - was) > INPUT_V)
        if hit.any():
            yield Difference(what="input moved", name=name, part=name, where=_at(sound, hit))
    for name, pins in sound.leads.items():
        if other.leads.get(name, frozenset()) != pins:
            yield Difference(what="leads to other pins", name=name, part=name.split(".")[0], where=" ".join(pins))


def _drops(sound: Table, other: Table) -> Iterator[Difference]:
    turning = np.array([state["engine"] == "running" and state["key"] == "run" for state in sound.states])
    for name, limit in sound.limit_v.items():
        if name not in other.loads:
            continue
        on = turning & (np.abs(sound.loads[name]) >= WORKS) & (np.abs(other.loads[name]) >= WORKS)
        if not on.any():
            continue
        on &= sound.away == sound.away[on].min()
        was = sound.supply_v - sound.across[name]
        now = other.supply_v - other.across[name]
        hit = on & (now > limit) & (now - was > DROP_STEP_V)
        if hit.any():
            yield Difference(what="loses volts", name=name, part=sound.parts[name], where=_at(sound, hit))


def _protection(sound: Table, other: Table) -> Iterator[Difference]:
    for name in sorted(other.guarding.unguarded - sound.guarding.unguarded):
        yield Difference(what="no fuse small enough", name=name, part=name, where="")
    for name in sorted(other.guarding.not_made - sound.guarding.not_made):
        yield Difference(what="is a fuse nobody makes", name=name, part=name, where="")
    for name, times in other.guarding.short_times.items():
        if times < CLEARS <= sound.guarding.short_times.get(name, math.inf):
            yield Difference(what="a short does not clear", name=name, part=name, where=f"{times:.1f} times")
    steady = np.array([state["key"] != "start" for state in sound.states])
    for name, amps in other.carried.items():
        was = sound.carried.get(name)
        hit = steady & (amps > other.guarding.stands[name])
        if was is not None:
            hit &= ~(was > sound.guarding.stands[name])
        if hit.any():
            yield Difference(what="carries too much", name=name, part=name, where=_at(sound, hit))


def _leads(car: Car) -> dict[str, frozenset[str]]:
    """Which controller pins each terminal of a part leads to over wires and joints alone; which pins are wired."""
    network = car.compiled.network
    graph = nx.Graph()
    graph.add_nodes_from(network.nodes)
    for element in network.elements:
        if element.type in _WIRING:
            graph.add_edge(network.nodes[element.a], network.nodes[element.b])
    pins = {f"{pin.part}.{pin.terminal}" for pin in car.job.controller_pins}
    kinds = {part.id: part.kind for part in car.job.parts}
    found = {}
    for group in nx.connected_components(graph):
        reached = frozenset(pins & group)
        found.update({pin: frozenset({"a wire"}) for pin in reached if len(group) > 1})
        for point in group if reached else ():
            part = point.split(".")[0]
            if "._" not in point and point not in pins and part in kinds and kinds[part] not in _JOINS:
                name = part if kinds[part] in _EITHER_WAY else point
                found[name] = found.get(name, frozenset()) | reached
    return found


_EITHER_WAY = (
    "sensor_ntc",
    "injector",
    "solenoid",
    "solenoid_linear",
    "idle_valve_2wire",
    "lamp",
    "lamp_case",
    "switch",
    "pressure_switch",
    "crash_switch",
)
"""Two terminals, and no matter which is which."""
_JOINS = ("splice", "busbar", "earth_point", "fuse")
