"""What are the loads of the car, seen from their terminals?

A load element of the network may have several laws (a motor runs or stands) and may sit behind an inner node (an LED
behind its diode). Here it is one thing with two terminals, a rated current, and the volts and amps of any state.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

import numpy as np

from loomwright.states.asking.answers import Answers, type_bool, type_float
from loomwright.states.asking.cones import LooksAt
from loomwright.states.asking.scene import Scene
from loomwright.states.paths.tracing import Ways
from loomwright.tables.constants import constant

__all__ = ["LoadElement", "behind_ohm", "load_elements", "seen_of"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LoadElement:
    """One load of a part.

    indices: its elements, one a law. a, b: nodes of its terminals. rated_a: design current, None = unknown. [A]
    rated_v: volts it is made for. [V]
    """

    name: str
    part: str
    type: str
    indices: tuple[int, ...]
    a: int
    b: int
    rated_a: float | None
    rated_v: float

    def amps(self, answers: Answers) -> type_float:
        """Size of the current through it in every state. [A]"""
        return answers.once(("amps", self.indices), partial(_amps, self.indices))

    def across(self, answers: Answers) -> type_float:
        """Size of the volts between its terminals in every state, nan where one floats. [V]"""
        return answers.once(("across", self.a, self.b), partial(_across, self.a, self.b))

    def share(self, answers: Answers) -> type_float:
        """Current as a share of the rated one, nothing where that is unknown. [-]"""
        return answers.once(("share", self.indices, self.rated_a), self._share)

    def _share(self, answers: Answers) -> type_float:
        return self.amps(answers) / self.rated_a if self.rated_a else np.zeros(answers.count)

    def percent(self, answers: Answers) -> type_float:
        """The same as it is told. [%]"""
        return answers.once(("share %", self.indices, self.rated_a), self._percent)

    def _percent(self, answers: Answers) -> type_float:
        # less than a hundredth of a percent is what solving leaves over
        return np.round(100.0 * self.share(answers), 2)

    def carries(self, answers: Answers, share_frac: float) -> type_bool:
        """Where it carries at least that share of its rated current."""
        name = ("carries", self.indices, self.rated_a, share_frac)
        return answers.once(name, lambda answers: self.share(answers) >= share_frac)

    def works(self, answers: Answers, behind_ohm: float = 0.0) -> type_bool:
        """Where it has its volts and at least half its rated current.

        Args:
            behind_ohm: resistance in series by design; it is asked for its share only. [ohm]
        """
        share = 1.0
        if behind_ohm and self.rated_a:
            own_ohm = self.rated_v / self.rated_a
            share = own_ohm / (own_ohm + behind_ohm)
        fine = np.ones(answers.count, bool)
        if self.type != "starter_motor":
            # a starter is asked for its current: cranking volts are judged by drop, not here
            fine = self.across(answers) >= constant("live_frac") * self.rated_v * share
        if self.rated_a:
            fine = fine & (self.amps(answers) >= constant("works_frac") * self.rated_a * share)
        return fine


def _amps(indices: tuple[int, ...], answers: Answers) -> type_float:
    total = np.zeros(answers.count)
    for index in indices:
        total = total + answers.amps(index)
    return np.abs(total)


def _across(a: int, b: int, answers: Answers) -> type_float:
    return np.abs(answers.volts(a) - answers.volts(b))


def load_elements(scene: Scene) -> tuple[LoadElement, ...]:
    """Every load of the fitted parts, controllers by what they draw, in the network's order."""
    named: dict[str, list[int]] = {}
    for index, element in enumerate(scene.compiled.network.elements):
        if element.load and element.part in scene.parts:
            named.setdefault(element.name, []).append(index)
    return tuple(_load(scene, name, tuple(indices)) for name, indices in named.items())


def seen_of(scene: Scene, *loads: LoadElement) -> LooksAt:
    """All that says whether some loads work."""
    elements = tuple(index for load in loads for index in load.indices)
    nodes = {node for load in loads for node in (load.a, load.b)}.union(*(scene.ends(index) for index in elements))
    records = [scene.element(index) for index in elements]
    variables = {k for record in records for guard in record.guards for k, _ in guard.holds}
    devices = {device for record in records for device, _ in record.needs}
    return LooksAt(tuple(sorted(nodes)), tuple(sorted(variables)), tuple(sorted(devices)))


def behind_ohm(ways: Ways, load: LoadElement) -> float:
    """Resistance in series by design on the ways of a load: ballasts and series resistors, not its wires. [ohm]"""
    scene = ways.scene
    found = {index for node in (load.a, load.b) for index in ways.region(node).elements()}
    total = 0.0
    for index in found:
        element = scene.element(index)
        if element.type == "resistor" and element.part and scene.kind(element.part).duty == "passive":
            total += 1.0 / max(row[0] for row in element.figures)
    return total


def _load(scene: Scene, name: str, indices: tuple[int, ...]) -> LoadElement:
    first = scene.element(indices[0])
    a, b = scene.ends(indices[0])
    own_v = scene.parts[first.part].rated_v or scene.vehicle.system_v
    return LoadElement(
        name=name,
        part=first.part,
        type=first.type,
        indices=indices,
        a=_outer(scene, first.part, a),
        b=_outer(scene, first.part, b),
        rated_a=first.rated_a or None,
        rated_v=min(own_v, scene.vehicle.system_v),
    )


def _outer(scene: Scene, part: str, node: int) -> int:
    """The terminal behind an inner node of a part; the case stands for itself."""
    seen = {node}
    waiting = [node]
    while waiting:
        here = waiting.pop()
        name = scene.name_of(here)
        if "._" not in name or name.endswith(("._case", "._star")):
            return here
        for index in scene.elements_of[part]:
            element = scene.element(index)
            if element.load or here not in scene.ends(index):
                continue
            a, b = scene.ends(index)
            other = b if a == here else a
            if other not in seen:
                seen.add(other)
                waiting.append(other)
    return node
