"""Does the key do what a key should: start only in park or neutral, keep the engine firing, stop it, stop the pump?

KEY-1  the starter's solenoid goes in with the selector out of P and N, or with the key out of start (`starting`)
KEY-2  the engine does not stop with the key (`stopping`) or the battery isolator (`isolating`)
KEY-3  what the engine needs to fire is not fed and driven (`firing`)
KEY-4  the starter is fed while the engine runs: a note, every plain key does it
KEY-5  the pump is fed with the engine stopped, after its prime
KEY-6  an output switches something unsafe on while its controller starts up or is dead (`boot_outputs`)
"""

from __future__ import annotations

from functools import partial

import numpy as np

from loomwright.states.asking.answers import Answers, type_bool, type_float
from loomwright.states.asking.folding import Told
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.watch import Watch
from loomwright.states.paths.current_path import bringing, named, taking
from loomwright.states.paths.firing import firing_of, is_pump
from loomwright.states.paths.gate_ways import ways
from loomwright.states.paths.joined import Joined, joined_of
from loomwright.states.paths.ways_in import ways_in
from loomwright.states.rules.boot_outputs import boot_findings, dead_watches
from loomwright.states.rules.firing import fire_watches
from loomwright.states.rules.isolating import isolator_findings
from loomwright.states.rules.starting import gear_watches, is_in, starters_of, unasked_watches
from loomwright.states.rules.stopping import stop_watches
from loomwright.tables.constants import constant

__all__ = ["sheet_findings", "watches"]


def watches(scene: Scene) -> tuple[Watch, ...]:
    """The questions KEY-1 to KEY-6 of a car."""
    joined = joined_of(scene)
    firing = firing_of(scene, joined)
    starters = starters_of(scene)
    return (
        *(watch for part in starters for watch in gear_watches(scene, joined, part)),
        *(watch for part in starters for watch in unasked_watches(scene, joined, part)),
        *stop_watches(scene, joined, firing, ways_in(scene, joined)),
        *fire_watches(scene, joined, firing),
        *(_running_watch(scene, joined, part) for part in starters),
        *(_pump_watch(scene, joined, part) for part in scene.parts if is_pump(scene, part)),
        *dead_watches(scene),
    )


def sheet_findings(scene: Scene) -> tuple[Told, ...]:
    """KEY-2 of the battery isolator: a few states, each come to from the one with it closed; KEY-6 of the start-up."""
    return (*isolator_findings(scene), *boot_findings(scene))


# the starter


def _running_watch(scene: Scene, joined: Joined, part: str) -> Watch:
    def broken(answers: Answers) -> tuple[type_bool, type_float]:
        return answers.turning() & is_in(scene, part, answers), np.zeros(answers.count)

    start = scene.compiled.node_of.get(f"{part}.50", -1)
    wires = tuple(wire.id for wire in scene.wires_at.get(f"{part}.50", ()))
    return Watch(
        rule="KEY-4",
        severity="note",
        at=(part, *wires[:1]),
        touches=wires,
        label=f"{part} ({scene.title(part)})",
        wrong="is fed while the engine turns by itself; a plain key cannot tell",
        broken=broken,
        mend="Let the key go as it fires, or earth the start relay through a contact that opens with oil pressure",
        path_of=partial(_feed_path, scene, joined, start) if start >= 0 else None,
    )


def _feed_path(scene: Scene, joined: Joined, node: int, answers: Answers, row: int) -> tuple[str, ...]:
    return named(scene, bringing(scene, answers, row, node, joined.polarity))


# the pump


def _pump_watch(scene: Scene, joined: Joined, part: str) -> Watch:
    elements = [k for k in scene.elements_of[part] if scene.element(k).load]
    least_a = constant("fires_frac") * (scene.element(elements[0]).rated_a or 0.0)

    def broken(answers: Answers) -> tuple[type_bool, type_float]:
        amps = np.abs(answers.batch.amps[:, elements].sum(axis=1))
        hit = (amps >= least_a) & answers.at("engine", "stopped") & answers.at_rest("phase")
        return hit & ~answers.at("key", "start"), amps

    wires = _own_wires(scene, part)
    return Watch(
        rule="KEY-5",
        severity="fault",
        at=(part, *wires[:1]),
        touches=tuple(dict.fromkeys((*wires, *_workers(scene, joined, elements[0])))),
        label=f"{part} ({scene.title(part)})",
        wrong="is fed with the engine stopped, after its prime: in a crash or a stall fuel goes on flowing",
        broken=broken,
        unit="A",
        mend="Let the controller drive it while the engine turns and for a short prime, or use a relay that does so",
        path_of=partial(_pump_path, scene, joined, elements),
    )


def _pump_path(scene: Scene, joined: Joined, elements: list[int], answers: Answers, row: int) -> tuple[str, ...]:
    amps = float(answers.batch.amps[row, elements].sum())
    a, b = scene.ends(elements[0])
    first, last = (a, b) if joined.polarity * amps > 0.0 else (b, a)
    before = bringing(scene, answers, row, first, joined.polarity)
    return named(scene, (*before, elements[0], *taking(scene, answers, row, last, joined.polarity)))


def _own_wires(scene: Scene, part: str) -> tuple[str, ...]:
    found = [wire.id for wire in scene.wires.values() if part in (wire.from_.split(".")[0], wire.to.split(".")[0])]
    return tuple(dict.fromkeys(found))


def _workers(scene: Scene, joined: Joined, element: int) -> list[str]:
    """The relays that feed it, their wires, and the pins and needs that work them."""
    fed = {
        gate for net in joined.nets(scene, element) for way in ways(scene, joined, net, "live") for gate in way.gates
    }
    devices = {device for gate in fed for device, on in scene.element(gate).needs if on}
    found: list[str] = []
    for device in sorted(devices):
        relay = scene.compiled.network.devices[device].name.split(".")[0]
        coils = [k for k in scene.elements_of.get(relay, ()) if scene.element(k).type == "coil"]
        if coils:
            found.extend((relay, *_own_wires(scene, relay), *_drivers(scene, joined, coils)))
    return found


def _drivers(scene: Scene, joined: Joined, coils: list[int]) -> list[str]:
    """Pins, controllers and needs that work a relay."""
    nets = {net for k in coils for net in joined.nets(scene, k)}
    driven = {e.name for net in nets for e in map(scene.element, joined.border[net]) if e.name.endswith(".drive")}
    found: list[str] = []
    for pin in scene.job.controller_pins:
        point = f"{pin.part}.{pin.terminal}"
        node = scene.compiled.node_of.get(point)
        if f"{point}.drive" in driven and node is not None and joined.net_of[node] in nets:
            names = (pin.id, pin.terminal, point)
            found.extend((pin.id, pin.part, *(need.id for need in scene.job.needs if need.pin in names)))
    return found
