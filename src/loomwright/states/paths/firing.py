"""What has to be fed and driven for the engine to fire, and on what does each rest?

    controllers   those that drive injectors or ignition
    injectors, coils, the pump

In: a `Scene` and its `Joined`. Out: `Firing` records. A controller works while it is alive; a load while it carries a
quarter of its rated amps (a coil behind its ballast carries half); it is *fed* from half the system's volts at the end
that contacts feed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from loomwright.network.controller import pin_ability
from loomwright.states.asking.answers import Answers, type_bool
from loomwright.states.asking.scene import Scene
from loomwright.states.paths.gate_ways import RestsOn, is_earthed, is_fed, rests_on
from loomwright.states.paths.joined import Joined
from loomwright.tables.constants import constant

__all__ = ["Firing", "feed_end", "firing_of", "is_pump"]

_COILS = ("coil_plain", "coil_twin", "coil_with_igniter")
_FIRING_ABILITIES = ("injector", "ignition")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Firing:
    """One thing the engine needs. what: controller, injector, coil or pump.

    elements: of the load, none for a controller. device: `alive` of a controller, else -1.
    node, net: where it is fed. rests: what it rests on.
    rated_a: what the load is made for. [A]   fed_v: from here on it is fed. [V]
    """

    what: str
    part: str
    elements: tuple[int, ...]
    device: int
    node: int
    net: int
    rests: RestsOn
    rated_a: float
    fed_v: float

    def works(self, answers: Answers) -> type_bool:
        """Where it is alive, or carries enough."""
        if self.device >= 0:
            return answers.on(self.device)
        amps = np.abs(answers.batch.amps[:, list(self.elements)].sum(axis=1))
        enough: type_bool = amps >= constant("fires_frac") * self.rated_a
        return enough

    def fed(self, answers: Answers) -> type_bool:
        """Where it has volts at its feed."""
        found: type_bool = np.nan_to_num(np.abs(answers.volts(self.node)), nan=0.0) >= self.fed_v
        return found


def firing_of(scene: Scene, joined: Joined) -> tuple[Firing, ...]:
    """Everything the engine needs to fire: controllers first, then injectors, coils and pumps by id."""
    found = [_of_controller(scene, joined, part) for part in _engine_controllers(scene)]
    loads: dict[tuple[str, str, str], list[int]] = {}
    told = _firing_nets(scene, joined)
    for k, element in enumerate(scene.compiled.network.elements):
        what = _what(scene, joined, k, told) if element.load and element.part in scene.parts else ""
        if what:
            loads.setdefault((what, element.part, element.name), []).append(k)
    for (what, part, _), elements in sorted(loads.items()):
        found.append(_of_load(scene, joined, what, part, tuple(elements)))
    return tuple(found)


def is_pump(scene: Scene, part: str) -> bool:
    """Whether a part pumps fuel: by its role, or by its kind where it has no other role."""
    role = scene.parts[part].role or ""
    return "fuel_pump" in role.split() or (not role and scene.parts[part].kind == "fuel_pump")


def feed_end(scene: Scene, joined: Joined, k: int) -> int:
    """The node of an element that is fed: the one contacts make live, else the one nothing earths, else its first."""
    a, b = scene.ends(k)
    fed = [is_fed(scene, joined, joined.net_of[node]) for node in (a, b)]
    earthed = [is_earthed(scene, joined, joined.net_of[node]) for node in (a, b)]
    if fed[0] != fed[1]:
        return a if fed[0] else b
    return b if earthed[0] and not earthed[1] else a


def _what(scene: Scene, joined: Joined, k: int, told: Mapping[int, str]) -> str:
    """What a load is to the engine: by its kind, or by the ability of the pin that drives it; empty for any other."""
    part = scene.element(k).part
    kind = scene.parts[part].kind
    if is_pump(scene, part):
        return "pump"
    if kind == "injector":
        return "injector"
    if kind in _COILS:
        return "coil"
    return next((told[net] for net in joined.nets(scene, k) if net in told), "")


def _firing_nets(scene: Scene, joined: Joined) -> dict[int, str]:
    """The nets of pins that fire injectors or ignition, none that is tied to a supply or to earth."""
    found: dict[int, str] = {}
    for pin in scene.job.controller_pins:
        ability = pin_ability(pin, scene.job.needs)
        node = scene.compiled.node_of.get(f"{pin.part}.{pin.terminal}")
        if ability in _FIRING_ABILITIES and node is not None:
            net = joined.net_of[node]
            if net not in joined.live and net not in joined.earth:
                found[net] = "injector" if ability == "injector" else "coil"
    return found


def _told_by(scene: Scene, joined: Joined, element: int, rests: RestsOn) -> tuple[int, ...]:
    """The controllers whose ignition outputs tell a coil, or the igniter it hangs on, when to fire."""
    arrays = scene.compiled.arrays
    signals = {device for device, _ in scene.element(element).needs} | rests.devices
    points = {int(arrays.sense_a[s]) for d in signals for s in range(arrays.sense_ptr[d], arrays.sense_ptr[d + 1])}
    coils = {int(arrays.sense_element[s]) for d in signals for s in range(arrays.sense_ptr[d], arrays.sense_ptr[d + 1])}
    points |= {node for k in coils if k >= 0 for node in scene.ends(k)}
    found: set[int] = set()
    for net in {joined.net_of[node] for node in points if node >= 0} - joined.live - joined.earth:
        for k in joined.border[net]:
            driver = scene.element(k)
            # an ignition output gives volts of its own and so is no gate
            if driver.type == "pin" and driver.name.endswith(".drive") and driver.figures[0][1] != 0.0:
                found |= {device for device, on in driver.needs if on}
    return tuple(sorted(found))


def _engine_controllers(scene: Scene) -> tuple[str, ...]:
    """Controllers with a wired pin that fires injectors or ignition."""
    found = []
    for pin in scene.job.controller_pins:
        drives = pin_ability(pin, scene.job.needs) in _FIRING_ABILITIES
        if drives and pin.part in scene.parts and scene.wires_at.get(f"{pin.part}.{pin.terminal}"):
            found.append(pin.part)
    return tuple(sorted(set(found)))


def _of_controller(scene: Scene, joined: Joined, part: str) -> Firing:
    device = scene.compiled.device_of[f"{part}.alive"]
    draws = [k for k in scene.elements_of[part] if scene.element(k).name.endswith(".draw")]
    node = scene.ends(draws[0])[0] if draws else scene.compiled.node_of[f"{part}._star"]
    return Firing(
        what="controller",
        part=part,
        elements=(),
        device=device,
        node=node,
        net=joined.net_of[node],
        rests=rests_on(scene, joined, draws[:1], (device,)),
        rated_a=0.0,
        fed_v=constant("runs_on_frac") * scene.vehicle.system_v,
    )


def _of_load(scene: Scene, joined: Joined, what: str, part: str, elements: tuple[int, ...]) -> Firing:
    node = feed_end(scene, joined, elements[0])
    rests = rests_on(scene, joined, elements[:1])
    told = _told_by(scene, joined, elements[0], rests)
    return Firing(
        what=what,
        part=part,
        elements=elements,
        device=-1,
        node=node,
        net=joined.net_of[node],
        rests=rests_on(scene, joined, elements[:1], told) if told else rests,
        rated_a=scene.element(elements[0]).rated_a or 0.0,
        fed_v=constant("runs_on_frac") * scene.vehicle.system_v,
    )
