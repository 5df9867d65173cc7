"""By what is the car with one thing wrong judged?

    loads        what works, and what has started; gauges that read
    wires        for ever, while cranking, and with the starter stalled: amps each carries where it lies
    not meant    conductors that have no business with a load's current: sensor earths, bonds between metals that are
                 a control cable or a hinge, wires of sensor and data circuits
    engine       what it needs to fire
    fuses        those that have a rating

Everything is numbers of elements, so that it can be sent to another process.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loomwright.network.arrays import type_f, type_i
from loomwright.states.asking.answers import Answers, type_bool
from loomwright.states.asking.scene import Scene
from loomwright.states.paths.firing import firing_of, is_pump
from loomwright.states.paths.joined import joined_of
from loomwright.states.ratings.rating_ground import FED_A
from loomwright.states.ratings.wire_limits import carries_a, damage_c, limits_of, steady_c
from loomwright.states.ratings.wire_ratings import limit_table
from loomwright.states.signals.earth_nets import earth_nets
from loomwright.tables.constants import constant
from loomwright.trials.loads import Loads, loads_in

__all__ = ["NotMeant", "Yardstick", "can_fire", "over_limit", "yardstick_of"]

_SIGNALS = ("sensor", "data")
_LEAST_NOT_MEANT_A = 1.0
"""What a sensor earth, a sensor's wire or a control cable carries at most without a word: our choice. [A]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class NotMeant:
    """A conductor that is not there for a load's current. what: its word. most_a: allowed. [A]"""

    element: int
    name: str
    what: str
    most_a: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Yardstick:
    """What outcomes are judged by.

    wires: names.   wire_places: their elements.   limits: allowed amps by wire, moment, ambient and engine. [A]
    harmed_a: by wire, the steady current that takes its insulation beyond what it stands for a moment. [A]
    firing: what the engine needs, by class: elements with their rated amps, or devices.
    """

    loads: Loads
    wires: tuple[str, ...]
    wire_places: type_i
    limits: NDArray[np.float64]
    harmed_a: type_f
    carries_a: type_f
    not_meant: tuple[NotMeant, ...]
    starters: tuple[int, ...]
    pumps: tuple[str, ...]
    coils: tuple[str, ...]
    firing: tuple[tuple[str, tuple[tuple[tuple[int, ...], float], ...], tuple[int, ...]], ...]
    fuses: tuple[tuple[str, int, float], ...]


def yardstick_of(scene: Scene, sound_a: type_f) -> Yardstick:
    """The yardstick of a car.

    Args:
        sound_a: what every element carries while nothing is wrong, one row a state. [A]
    """
    elements = scene.compiled.network.elements
    found = limits_of(scene)
    named = [name for name in found if scene.compiled.elements_of.get(name)]
    firing = firing_of(scene, joined_of(scene))
    classes = dict.fromkeys(one.what for one in firing)
    return Yardstick(
        loads=loads_in(scene.compiled, _gauges(scene, sound_a)),
        wires=tuple(named),
        wire_places=np.array([scene.compiled.elements_of[name][0] for name in named], np.int64),
        limits=np.array([limit_table(scene, found[name]) for name in named]),
        harmed_a=np.array([_harmed_a(scene, name) for name in named], float),
        carries_a=np.array([carries_a(found[name]) for name in named], float),
        not_meant=_not_meant(scene),
        starters=tuple(k for k, element in enumerate(elements) if element.type == "starter_motor"),
        pumps=tuple(sorted(part for part in scene.parts if is_pump(scene, part))),
        coils=tuple(sorted({one.part for one in firing if one.what == "coil"})),
        firing=tuple(
            (
                what,
                tuple((one.elements, one.rated_a) for one in firing if one.what == what and one.device < 0),
                tuple(one.device for one in firing if one.what == what and one.device >= 0),
            )
            for what in classes
        ),
        fuses=tuple(
            (e.part, k, e.rating_a) for k, e in enumerate(elements) if e.type in ("fuse", "breaker") and e.rating_a
        ),
    )


def _gauges(scene: Scene, sound_a: type_f) -> dict[str, float]:
    """The first element of every gauge that carries anything, with the most it carries in the sound car. [A]"""
    found: dict[str, float] = {}
    for part, row in scene.parts.items():
        if scene.kind(part).duty != "gauge" or row.fitted == "removed":
            continue
        for k in scene.elements_of.get(part, ()):
            most_a = float(np.abs(sound_a[:, k]).max(initial=0.0))
            if most_a > 0.0 and scene.element(k).type != "joined":
                found[scene.element(k).name] = most_a
                break
    return found


def _harmed_a(scene: Scene, wire: str) -> float:
    """The steady current at which a wire is as hot as its insulation stands for a moment. [A]"""
    limit = limits_of(scene)[wire]
    most_a = carries_a(limit)
    if most_a <= 0.0:
        return 0.0
    rise_k = steady_c(limit, amps=most_a, ambient_c=limit.ambient_c) - limit.ambient_c
    return float(most_a * np.sqrt((damage_c(limit.insulation_c) - limit.ambient_c) / rise_k))


def _not_meant(scene: Scene) -> tuple[NotMeant, ...]:
    found: dict[int, NotMeant] = {}
    elements = scene.compiled.network.elements
    for net in earth_nets(scene, "sensor_earth"):
        for wire in net.wires:
            for k in scene.compiled.elements_of.get(wire, ()):
                found[k] = NotMeant(element=k, name=wire, what="sensor earth", most_a=_LEAST_NOT_MEANT_A)
    cable_ohm = constant("cable_linkage_ohm")
    for k, element in enumerate(elements):
        if element.type == "bond" and element.figures[0][0] <= 2.0 / cable_ohm:
            found[k] = NotMeant(element=k, name=element.name, what="control cable or hinge", most_a=_LEAST_NOT_MEANT_A)
        elif element.is_wire and element.name in scene.wires and k not in found:
            circuit = scene.circuits.get(scene.wires[element.name].circuit or "")
            if circuit is not None and circuit.class_ in _SIGNALS:
                found[k] = NotMeant(element=k, name=element.name, what="signal wire", most_a=_LEAST_NOT_MEANT_A)
    return tuple(found.values())


def over_limit(yard: Yardstick, answers: Answers) -> tuple[type_f, type_bool]:
    """What each wire carries, and where that is over what it stands; one row a state. [A]"""
    amps = np.abs(answers.batch.amps[:, yard.wire_places])
    if not len(yard.wires):
        return amps, amps > 0.0
    fed = np.abs(answers.batch.amps[:, list(yard.starters)]).sum(axis=1) > FED_A
    moment = np.where(fed, np.where(answers.at("engine", "stopped"), 2, 1), 0)
    where = answers.compiled.variable_of
    values = answers.batch.values
    allowed = yard.limits[:, moment, values[:, where["ambient_c"]], values[:, where["engine"]]].T
    return amps, np.asarray(amps > allowed * (1.0 + 1e-4))


def can_fire(yard: Yardstick, answers: Answers) -> type_bool:
    """Where the engine can fire: of controllers, injectors, coils and pumps one each is alive, or fed and driven."""
    if not yard.firing:
        return np.zeros(answers.count, bool)
    found = np.ones(answers.count, bool)
    for _, loads, devices in yard.firing:
        one = np.zeros(answers.count, bool)
        for places, rated_a in loads:
            one |= np.abs(answers.batch.amps[:, list(places)].sum(axis=1)) >= constant("fires_frac") * rated_a
        for device in devices:
            one |= answers.on(device)
        found &= one
    return found
