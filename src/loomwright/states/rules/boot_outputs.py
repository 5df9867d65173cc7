"""What do a controller's outputs switch on while it starts up, and while it is dead? KEY-6.

The sheet controller_pins says of each output whether it is `open`, `low` or `high` meanwhile; a blank cell says
nothing and is not asked. An output switches its load on where that is the side it drives to: low for one that earths,
high for one that feeds; for a signal to an igniter the level that `active` names, high where it names none.

    starting  every output of the controllers lies as `boot` says and no drive acts, key in run, engine stopped, all
              else at rest: a network of its own, held against the same one with every output open
    dead      `unpowered`, in every state: the load works while its controller is not alive, over that output

Told where it can hurt or break something: ignition coils, injectors, the starter and the throttle (faults); fans and
other motors, the gearbox (warnings); a pump (a warning while it starts, a fault while it is dead).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import partial

import numpy as np

from loomwright.findings import Finding, Severity
from loomwright.job.conditions import ALWAYS, parse_condition
from loomwright.job.rows import ControllerPin, Drive
from loomwright.network.build import build_network
from loomwright.network.compiled import compile_network
from loomwright.network.controller import pin_ability
from loomwright.network.records import Changes
from loomwright.states.asking.answers import Answers, type_bool, type_float
from loomwright.states.asking.folding import Told
from loomwright.states.asking.looks import look
from loomwright.states.asking.scene import Scene, scene_with
from loomwright.states.asking.watch import Watch
from loomwright.states.paths.firing import firing_of
from loomwright.states.paths.gate_ways import rests_on
from loomwright.states.paths.joined import joined_of
from loomwright.states.rules.load_elements import LoadElement, load_elements

__all__ = ["boot_findings", "dead_watches"]

_NEVER = parse_condition("never")
_LEAST_A = 0.01
"""Amps over an output from which it counts as what switches a load on [A]."""
_HARM = {
    "coil": "a coil that stays on burns, and sparks as it is let go",
    "injector": "fuel runs into an engine that stands",
    "starter": "the starter turns by itself",
    "throttle": "the throttle moves by itself",
    "pump": "fuel flows though nothing asks for it",
    "motor": "it turns by itself",
    "gearbox": "the gearbox takes a gear or a pressure by itself",
}
"""What of a car is unsafe to find switched on, and why; common practice, no source."""
_WARNINGS_STARTING = ("pump", "motor", "gearbox")
_WARNINGS_DEAD = ("motor", "gearbox")
"""A pump that runs for the moment of a start primes; one that a dead controller runs does not stop [-]."""


def boot_findings(scene: Scene) -> Iterator[Told]:
    """Loads that are on while their controller starts up."""
    pins = tuple(pin for pin in scene.job.controller_pins if _switches_on(scene, pin, pin.boot))
    if not pins:
        return
    values = look(scene, {"key": ("run",), "engine": ("stopped",)}, alone=True)
    on, off = (_starting(scene, some).answers(values) for some in (pins, ()))
    told_of = _unsafe(scene)
    lit = [
        load for load in load_elements(scene) if told_of.get(load.part) and _is_on(load, on) and not _is_on(load, off)
    ]
    alone = [(pin, _starting(scene, (pin,)).answers(values)) for pin in pins] if lit else []
    for load in lit:
        found = [pin for pin, answers in alone if _is_on(load, answers)]
        yield Told(_told(scene, load, told_of[load.part], found or list(pins)), None, None)


def dead_watches(scene: Scene) -> Iterator[Watch]:
    """Of each load that an output could hold on while its controller is dead: does it?"""
    pins = tuple(pin for pin in scene.job.controller_pins if _switches_on(scene, pin, pin.unpowered))
    holding = [(pin, scene.compiled.elements_of.get(f"{pin.part}.{pin.terminal}.unpowered", ())) for pin in pins]
    if not any(elements for _, elements in holding):
        return
    joined, told_of = joined_of(scene), _unsafe(scene)
    for load in load_elements(scene):
        what = told_of.get(load.part, "")
        gates = rests_on(scene, joined, load.indices[:1]).gates if what else frozenset()
        for pin, elements in holding:
            if gates.intersection(elements):
                yield _dead_watch(scene, load, what, pin, tuple(elements))


def _is_on(load: LoadElement, answers: Answers) -> bool:
    return bool(load.works(answers)[0])


def _switches_on(scene: Scene, pin: ControllerPin, lies: str) -> bool:
    """True where an output that lies so switches on what hangs on it."""
    point = f"{pin.part}.{pin.terminal}"
    if lies not in ("low", "high") or pin.part not in scene.parts or not scene.wires_at.get(point):
        return False
    ability = pin_ability(pin, scene.job.needs)
    drivers = scene.compiled.elements_of.get(f"{point}.drive", ())
    if not drivers:
        return False
    # a signal of volts of its own, and a bridge, drive to the side the sheet names; the others to the one they are for
    is_signal = scene.element(drivers[0]).figures[0][1] != 0.0
    if is_signal or ability == "half_bridge":
        return lies == (pin.active or "high")
    return lies == ("high" if ability == "high_side" else "low")


def _starting(scene: Scene, pins: tuple[ControllerPin, ...]) -> Scene:
    """The car while its controllers start up: these outputs on, no drive of the sheets acting."""
    held = tuple(Drive(output=f"{pin.part}.{pin.terminal}", when=ALWAYS) for pin in pins)
    driven = tuple(replace(row, when=_NEVER) for row in scene.job.drives if not _names_one(scene, row.output, pins))
    job = replace(scene.job, drives=(*driven, *held))
    variables = scene.compiled.network.variables
    return scene_with(scene, job, compile_network(build_network(job, scene.kinds, None, variables)))


def _names_one(scene: Scene, output: str, pins: tuple[ControllerPin, ...]) -> bool:
    return any(output in _names(scene, pin) for pin in pins)


def _names(scene: Scene, pin: ControllerPin) -> tuple[str, ...]:
    """What a pin goes by in the sheet drives: itself, its point, the needs that it is given to."""
    own = (pin.id, f"{pin.part}.{pin.terminal}")
    return (*own, *(need.id for need in scene.job.needs if need.pin and need.pin in (*own, pin.terminal)))


def _unsafe(scene: Scene) -> dict[str, str]:
    """Parts that are unsafe to find switched on: the part, and the word of it in `_HARM`."""
    found: dict[str, str] = {}
    for element in scene.compiled.network.elements:
        part = scene.parts.get(element.part)
        if part is None or not element.load or scene.kind(part.id).duty == "controller":
            continue
        circuit = scene.circuits.get(part.circuit or "")
        if element.type == "starter_motor":
            found[part.id] = "starter"
        elif part.kind == "throttle_electric":
            found[part.id] = "throttle"
        elif circuit is not None and circuit.class_ == "gearbox":
            found.setdefault(part.id, "gearbox")
        elif element.type == "motor":
            found.setdefault(part.id, "motor")
    for one in firing_of(scene, joined_of(scene)):
        if one.what in _HARM:
            found[one.part] = one.what
    return found


def _severity(what: str, warnings: tuple[str, ...]) -> Severity:
    return "warning" if what in warnings else "fault"


def _told(scene: Scene, load: LoadElement, what: str, pins: list[ControllerPin]) -> Finding:
    points = [f"{pin.part}.{pin.terminal}" for pin in pins]
    named = dict.fromkeys(name for pin in pins for name in (*_names(scene, pin), pin.part))
    wires = (wire.id for point in points for wire in scene.wires_at.get(point, ()))
    lies = f"{points[0]} is {pins[0].boot} then"
    return Finding(
        rule="KEY-6",
        severity=_severity(what, _WARNINGS_STARTING),
        at=tuple(dict.fromkeys((load.part, *points)))[:4],
        when=tuple((name, word) for name, word in (("key", "run"), ("engine", "stopped")) if _has(scene, name)),
        touches=tuple(dict.fromkeys((*wires, *named))),
        label=f"{load.part} ({scene.title(load.part)})",
        wrong=f"is on while {pins[0].part} starts up, with the key and after every reset, since {lies}: {_HARM[what]}",
        source="common-practice",
        mend=(
            f"Give it an output that is open meanwhile, or feed it over a relay that {pins[0].part} lets in once it "
            f"works; measure {points[0]} as the key comes on before the load is plugged in"
        ),
    )


def _has(scene: Scene, variable: str) -> bool:
    return variable in scene.compiled.variable_of


def _dead_watch(scene: Scene, load: LoadElement, what: str, pin: ControllerPin, elements: tuple[int, ...]) -> Watch:
    point = f"{pin.part}.{pin.terminal}"
    wires = tuple(wire.id for wire in scene.wires_at.get(point, ()))
    alive = scene.compiled.device_of[f"{pin.part}.alive"]
    return Watch(
        rule="KEY-6",
        severity=_severity(what, _WARNINGS_DEAD),
        at=(load.part, point),
        touches=tuple(dict.fromkeys((*wires, *_names(scene, pin), pin.part))),
        label=f"{load.part} ({scene.title(load.part)})",
        wrong=f"is on while {pin.part} is dead, since {point} is {pin.unpowered} without supply: {_HARM[what]}",
        broken=partial(_on_while_dead, load, alive, elements),
        source="common-practice",
        mend="Give it an output that is open without supply, or feed it from a contact that the key opens",
        trial=Changes(opened=wires),
        root=_severity(what, _WARNINGS_DEAD) == "fault",
    )


def _on_while_dead(
    load: LoadElement, alive: int, elements: tuple[int, ...], answers: Answers
) -> tuple[type_bool, type_float]:
    over = np.zeros(answers.count)
    for element in elements:
        over = np.maximum(over, np.abs(answers.amps(element)))
    hit: type_bool = load.works(answers) & ~answers.on(alive) & (over >= _LEAST_A)
    return hit, over
