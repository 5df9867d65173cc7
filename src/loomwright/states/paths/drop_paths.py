"""Which pieces does a load's current pass on its way from the source and back, and what does each of them take?

From a state in which the load is on by itself (`own_states`) its current is followed up to the source and down to the
other post (`current_path`). Wires, joints, contacts and fuses on that way are *pieces* and lose volts; the load's own
part, and what lies in series by design (drivers, ballasts, diodes, other loads), keep their own share.

A starter's solenoid is a load of its own, by the lead to terminal 50: while it goes in, its pull winding draws several
times what it holds itself with, in a moment in which no cable carries the starter's current yet. So of its way only
the lead counts, what carries no more than the solenoid, and may lose so many times less than at that first instant.

In: a `Scene`. Out: one `DropPath` a load, in its worst own state.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from loomwright.network.arrays import type_i
from loomwright.network.records import Law
from loomwright.states.asking.answers import Answers, type_float
from loomwright.states.asking.own_states import OwnStates
from loomwright.states.asking.scene import Scene
from loomwright.states.paths.conduction import Conduction
from loomwright.states.paths.current_path import bringing, taking
from loomwright.states.paths.supply_cells import string_cells
from loomwright.tables.constants import constant
from loomwright.tables.limits import drop_limit_v

__all__ = ["DropPath", "drop_paths", "lost_v", "own_drop_paths", "pull_in_share"]

_NOMINAL_V = 12.0
_LEAD_SHARE = 2.0
"""What carries more than so many times the solenoid's current feeds others as well, and is no lead of its own [-]."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DropPath:
    """What one load's current passes.

    load: its element. part: its part. circuit_class: of its circuit. limit_v: what its circuit may lose. [V]
    pieces: elements that lose volts, from the source to the load and back. each_v: what they lose. [V]
    on_a: current from which the load is on. [A]
    values: the state. away: what is not at rest in it but key and engine.
    at_first: so many times these volts are lost at the first instant, which is what the limit is for. [-]
    """

    load: int
    part: str
    circuit_class: str
    limit_v: float
    pieces: tuple[int, ...]
    each_v: tuple[float, ...]
    on_a: float
    values: type_i
    away: tuple[int, ...]
    at_first: float = 1.0

    @property
    def total_v(self) -> float:
        """What all pieces lose together. [V]"""
        return sum(self.each_v)


def drop_paths(scene: Scene, conduction: Conduction) -> tuple[DropPath, ...]:
    """The ways of all loads whose circuit has a drop limit, and of charging."""
    own = OwnStates(scene.compiled, scene.cones, scene.answers)
    passing = _passing(conduction)
    paths = (_path(scene, own, passing, load, part) for load, part in _judged(scene))
    return tuple(path for path in paths if path is not None)


def own_drop_paths(scene: Scene, conduction: Conduction, own: OwnStates) -> tuple[DropPath, ...]:
    """The same, not in its worst own state only but in every plainest one: another size may make another the worst."""
    passing = _passing(conduction)
    return tuple(path for load, part in _judged(scene) for path in _paths(scene, own, passing, load, part))


def _passing(conduction: Conduction) -> frozenset[int]:
    """The elements that only pass current on."""
    return frozenset(element for found in conduction.at.values() for element, _ in found)


def lost_v(path: DropPath, answers: Answers) -> type_float:
    """Volts lost on the way to the load and back, in each state. [V]"""
    each = (np.nan_to_num(np.abs(answers.across(k))) for k in path.pieces)
    return sum(each, np.zeros(answers.count))


def _judged(scene: Scene) -> Iterator[tuple[int, str]]:
    """Loads, and the battery as the load of each alternator, with the part whose circuit's limit counts."""
    elements = scene.compiled.network.elements
    battery = next(iter(string_cells(scene)[-1:]), None)
    for index, element in enumerate(elements):
        if element.part in scene.parts and (
            (element.load and not _is_other_law(scene, index)) or pull_in_share(scene, index) > 1.0
        ):
            yield index, element.part
        elif element.type == "alternator" and battery is not None:
            yield battery, element.part


def pull_in_share(scene: Scene, index: int) -> float:
    """How many times its own current a solenoid draws while it goes in, with its pull winding; 1 for all else. [-]"""
    element = scene.element(index)
    elements = {scene.element(k).name: scene.element(k) for k in scene.elements_of.get(element.part, ())}
    pull = elements.get(f"{element.part}.pull")
    if element.type != "coil" or pull is None or not any(one.type == "starter_motor" for one in elements.values()):
        return 1.0
    return 1.0 + pull.figures[0][0] / element.figures[0][0]


def _is_other_law(scene: Scene, index: int) -> bool:
    """A motor stands in the network once for each of its laws; the one it runs, or cranks, by is asked."""
    element = scene.element(index)
    if element.type == "motor":
        return element.law == Law.LINEAR
    if element.type != "starter_motor":
        return False
    engine = scene.compiled.variable_of["engine"]
    cranking = scene.compiled.network.variables[engine].values.index("cranking")
    return not any(k == engine and cranking in values for guard in element.guards for k, values in guard.holds)


def _limit_v(scene: Scene, part: str) -> tuple[str, float | None]:
    wires = (wire for point in scene.points_of.get(part, ()) for wire in scene.wires_at[point])
    # a part that names no circuit belongs to that of the first of its wires that does
    names = (scene.parts[part].circuit, *(wire.circuit for wire in wires))
    circuit = scene.circuits.get(next((name for name in names if name), ""))
    if circuit is None or not circuit.class_:
        return "", None
    limit_v = drop_limit_v(circuit.class_, scene.vehicle.system_v)
    return circuit.class_, limit_v if circuit.drop_limit_v is None else circuit.drop_limit_v


def _path(scene: Scene, own: OwnStates, passing: frozenset[int], load: int, part: str) -> DropPath | None:
    """The way of a load in its worst own state."""
    return next(_paths(scene, own, passing, load, part, worst=True), None)


def _paths(
    scene: Scene, own: OwnStates, passing: frozenset[int], load: int, part: str, worst: bool = False
) -> Iterator[DropPath]:
    """The ways of a load in its plainest own states, or in the worst of them only."""
    circuit_class, limit_v = _limit_v(scene, part)
    if limit_v is None:
        return
    element = scene.element(load)
    on_a = max(1e-3, constant("works_frac") * (element.rated_a or 0.0))
    found = own.on(load, on_a)
    if found is None:
        return
    at_first = pull_in_share(scene, load)
    if at_first > 1.0:
        limit_v = constant("solenoid_lead_drop_v") * scene.vehicle.system_v / _NOMINAL_V / at_first
    answers, on = found
    # a battery is a load while it is charged: where the alternator is cut off from it there is no such way
    rows = np.flatnonzero(on & (answers.batch.amps[:, load] > 0.0) if element.type == "battery" else on)
    if not len(rows):
        return
    if worst:
        rows = rows[[np.nan_to_num(np.abs(answers.across(load)))[rows].argmin()]]
    a, b = scene.ends(load)
    for row in (int(number) for number in rows):
        into, out = (a, b) if answers.batch.amps[row, load] > 0.0 else (b, a)
        passed = (*bringing(scene, answers, row, into), *taking(scene, answers, row, out))
        pieces = tuple(k for k in passed if k in passing and not _keeps_its_share(scene, k, element.part))
        if at_first > 1.0:
            most_a = _LEAD_SHARE * abs(float(answers.batch.amps[row, load]))
            pieces = tuple(k for k in pieces if abs(float(answers.batch.amps[row, k])) <= most_a)
        at_v = answers.batch.v[row].item
        yield DropPath(
            load=load,
            part=part,
            circuit_class=circuit_class,
            limit_v=limit_v,
            pieces=pieces,
            each_v=tuple(abs(at_v(one) - at_v(other)) for one, other in map(scene.ends, pieces)),
            on_a=on_a,
            values=answers.batch.values[row].copy(),
            away=own.away(answers.batch.values[row]),
            at_first=at_first,
        )


def _keeps_its_share(scene: Scene, index: int, load_part: str) -> bool:
    """Whether a way takes its volts by design: inside the load itself, a diode, a transistor shown as a contact."""
    element = scene.element(index)
    if element.part == load_part or element.type == "diode":
        return True
    if element.type != "contact":
        return False
    return any(other.type == "coil" and other.params.get("electronic") for other in scene.kind(element.part).elements)
