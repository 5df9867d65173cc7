"""Does the alternator carry the car at hot idle, in rain, at night (SUP-3)?

One state is asked, not all: key in run, engine at hot idle, design ambient, and on top what a wet night needs: dipped
beam with side and plate lamps, wipers, blower, cooling fans; no horn, brake or turn lamps, no main beam, nothing that
springs back. It is put together switch by switch: of all single moves the one that adds most of the wanted loads and
none of the unwanted, until none adds any.

    given = battery amps out - sum over pulsed loads of (1 - duty) * amps      the network shows them in their on-state
    n = n_idle + (needed - I_idle) / (I_max - I_idle) * (n_full / pulley_ratio - n_idle)      the speed that breaks even

A warning; a fault where it also gives at running speed. Constants: idle speed, the alternator's own speed at full
output, duties of injectors and coils where their drives do not say.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from math import ceil

import numpy as np

from loomwright.findings import Finding
from loomwright.job.cells_read import all_looked_at
from loomwright.network.arrays import type_i
from loomwright.network.records import Element
from loomwright.states.asking.answers import Answers, type_bool, type_float
from loomwright.states.asking.folding import Told
from loomwright.states.asking.looks import look
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.telling import asked_again
from loomwright.states.paths.joined import Joined, joined_of
from loomwright.states.paths.supply_cells import cells_once
from loomwright.tables.constants import constant
from loomwright.tables.kinds import resolve_settings

__all__ = ["charging_findings"]

_WANTED_ROLES = (
    "dipped_left",
    "dipped_right",
    "tail_left",
    "tail_right",
    "position_left",
    "position_right",
    "plate_lamp",
    "cooling_fan",
)
_WANTED_CLASSES = ("wiping", "cooling")
_FIXED = ("key", "engine", "battery", "ambient_c", "selector", "phase")
_OFF_FILAMENTS = (("lamp_head", "main"), ("lamp_tail", "brake"))
"""The filament of a two-filament lamp that a wet night leaves dark, whatever the lamp's role."""
_CUT_OFFS = ("crash_switch", "isolator", "immobiliser")
_LEAST_A = 0.2
"""Amps that count, out of a battery or more of a load [A]."""
_STEP_RPM = 50


@dataclass(frozen=True, slots=True, kw_only=True)
class _Balance:
    """given_a: out of the battery. made_a: out of the alternator. woken: the alternator is excited. [A]"""

    given_a: float
    made_a: float
    woken: bool


def charging_findings(scene: Scene) -> tuple[Told, ...]:
    """SUP-3 of a car; none without an alternator or a dynamo."""
    elements = scene.compiled.network.elements
    machines = [k for k, e in enumerate(elements) if e.type == "alternator" and e.part in scene.parts]
    if not machines or "idle" not in scene.compiled.network.variables[scene.compiled.variable_of["engine"]].values:
        return ()
    joined = joined_of(scene)
    at_idle = _wet_night(scene)
    engine = scene.compiled.variable_of["engine"]
    at_speed = at_idle.copy()
    at_speed[engine] = scene.compiled.network.variables[engine].values.index("running")
    idle, running = (_balance(scene, joined, machines, values) for values in (at_idle, at_speed))
    if idle.given_a <= _LEAST_A:
        return ()
    finding = _finding(scene, machines[0], at_idle, idle, running)
    return (asked_again(finding, partial(_gives, scene, joined), at_idle),)


def _gives(scene: Scene, joined: Joined, answers: Answers) -> tuple[type_bool, type_float]:
    given_a = np.array([_given_a(scene, joined, answers, row) for row in range(answers.count)], float)
    return given_a > _LEAST_A, given_a


def _finding(scene: Scene, machine: int, values: type_i, idle: _Balance, running: _Balance) -> Finding:
    part = scene.element(machine).part
    also_running = running.given_a > _LEAST_A
    wires = tuple(wire.id for wire in scene.wires.values() if part in (wire.from_.split(".")[0], wire.to.split(".")[0]))
    lamps = tuple(lamp.id for lamp in scene.role_of.get("charge_lamp", ()))
    return Finding(
        rule="SUP-3",
        severity="fault" if also_running else "warning",
        at=(part, *wires[:1]),
        when=_when(scene, values),
        touches=(*wires[1:], *lamps),
        label=f"{part} ({scene.title(part)})",
        wrong=_words(scene, part, idle, also_running),
        found=idle.given_a,
        allowed=0.0,
        unit="A",
        source="common-practice",
        mend=_mend(idle),
    )


def _words(scene: Scene, part: str, idle: _Balance, also_running: bool) -> str:
    if not idle.woken:
        return "never wakes, since too little current reaches its field: the battery carries the car alone"
    if also_running:
        return "cannot carry the car in rain at night, neither at hot idle nor at speed: the battery gives the rest"
    speed_rpm = _break_even_rpm(scene, part, idle.made_a + idle.given_a)
    even = f"from about {speed_rpm} turns a minute of the engine it does" if speed_rpm else "at speed it just does"
    return f"cannot carry the car at hot idle in rain at night: the battery gives the rest; {even}"


def _mend(idle: _Balance) -> str:
    if not idle.woken:
        return (
            "Lead enough current to its field with the key on: a charge lamp of the right watts, a resistor beside it"
        )
    return "Fit one that gives more at idle, or a smaller pulley on it, or let a fan rest while the lamps are on"


def _break_even_rpm(scene: Scene, part: str, needed_a: float) -> int | None:
    """Speed of the crankshaft at which it makes what is needed, straight between idle and full output. [rpm]"""
    row = scene.parts[part]
    settings = resolve_settings(scene.kind(part), row.settings, row.rated_v or scene.vehicle.system_v)
    idle_a, most_a, ratio = (float(settings.get(name, 0.0)) for name in ("idle_output_a", "max_a", "pulley_ratio"))
    if ratio <= 0.0 or most_a <= idle_a or not idle_a < needed_a <= most_a:
        return None
    idle_rpm = constant("idle_rpm")
    full_rpm = max(idle_rpm, constant("alternator_full_rpm") / ratio)
    speed_rpm = idle_rpm + (needed_a - idle_a) / (most_a - idle_a) * (full_rpm - idle_rpm)
    return ceil(speed_rpm / _STEP_RPM) * _STEP_RPM


def _when(scene: Scene, values: type_i) -> tuple[tuple[str, str], ...]:
    """The state asked, variables at rest left out."""
    found = []
    for variable, value in zip(scene.compiled.network.variables, values, strict=True):
        word = variable.values[int(value)]
        if word != variable.rest:
            found.append((variable.name, word))
    return tuple(found)


# the balance


def _balance(scene: Scene, joined: Joined, machines: list[int], values: type_i) -> _Balance:
    answers = scene.answers(values[None, :])
    made_a = abs(float(answers.batch.amps[0, machines].sum()))
    woken = [d for d, found in enumerate(scene.compiled.network.devices) if found.what == "excited"]
    return _Balance(
        given_a=_given_a(scene, joined, answers, 0),
        made_a=made_a,
        woken=all(bool(answers.on(d)[0]) for d in woken),
    )


def _given_a(scene: Scene, joined: Joined, answers: Answers, row: int) -> float:
    """What the battery gives in one of the states, pulsed loads by their share. [A]"""
    out_a = -float(answers.batch.amps[row, list(cells_once(scene))].sum())
    return out_a - _pulsed_a(scene, joined, answers, row)


def _pulsed_a(scene: Scene, joined: Joined, answers: Answers, row: int) -> float:
    """What the network shows too much of, since pulsed loads are shown in their on-state. [A]"""
    total = 0.0
    supplies = _pin_supplies(scene, joined)
    for k, element in enumerate(scene.compiled.network.elements):
        if element.load and element.part in scene.parts and element.type != "pin":
            amps = abs(float(answers.batch.amps[row, k]))
            if amps > 0.0:
                total += (1.0 - _duty(scene, joined, supplies, k)) * amps
    return total


def _duty(scene: Scene, joined: Joined, supplies: Mapping[str, Collection[int]], k: int) -> float:
    """Share of the time a load is on at idle: its driver's, else the usual one of injectors and coils."""
    nets = set(joined.nets(scene, k)) - joined.live - joined.earth
    given = [share for net in nets for share in _driver_shares(scene, joined, supplies, net)]
    kind = scene.parts[scene.element(k).part].kind
    told = min(given, default=1.0)
    if told < 1.0:
        return told
    if kind == "injector":
        return constant("injector_idle_frac")
    return constant("coil_idle_frac") if kind in ("coil_plain", "coil_twin") else 1.0


def _driver_shares(
    scene: Scene, joined: Joined, supplies: Mapping[str, Collection[int]], net: int, through_igniter: bool = True
) -> list[float]:
    """Duties of the drivers on a net, and of those that tell an igniter on it."""
    found = []
    for k in joined.border[net]:
        element = scene.element(k)
        is_driver = element.type == "pin" and element.name.endswith(".drive")
        if is_driver and net not in supplies.get(element.part, ()):
            found.append(element.duty_frac)
        elif through_igniter and element.part in scene.parts and scene.parts[element.part].kind == "igniter":
            node = scene.compiled.node_of.get(f"{element.part}.in")
            if element.name.endswith(".output") and node is not None:
                found.extend(_driver_shares(scene, joined, supplies, joined.net_of[node], through_igniter=False))
    return found


def _pin_supplies(scene: Scene, joined: Joined) -> Mapping[str, Collection[int]]:
    """The supply nets behind each part's drivers to supply: what else hangs there is not pulsed by them."""
    found: dict[str, set[int]] = {}
    for k, element in enumerate(scene.compiled.network.elements):
        if element.name.endswith(".draw"):
            found.setdefault(element.part, set()).add(joined.net_of[scene.ends(k)[0]])
    return found


# the state


def _wet_night(scene: Scene) -> type_i:
    """Hot idle with everything on that rain and darkness need."""
    values: type_i = look(scene, {"key": ("run",), "engine": ("idle",)}, alone=True)[0]
    variables = scene.compiled.network.variables
    wanted, unwanted = _sorted_loads(scene)
    moves = [
        (k, value)
        for k, variable in enumerate(variables)
        if variable.name not in _FIXED and not _cuts_off(scene, variable.parts)
        for value, word in enumerate(variable.values)
        if word not in variable.momentary
    ]
    for _ in variables:
        trials = np.array([values, *(_moved(values, k, value) for k, value in moves)], np.int64)
        amps = np.abs(scene.answers(trials).batch.amps)
        more = amps[:, wanted].sum(axis=1) - amps[0, wanted].sum()
        worse = amps[:, unwanted].sum(axis=1) - amps[0, unwanted].sum()
        more[worse > _LEAST_A] = 0.0
        best = int(np.argmax(more))
        if more[best] <= _LEAST_A:
            break
        values = trials[best]
    return values


def _cuts_off(scene: Scene, parts: tuple[str, ...]) -> bool:
    """Whether a variable is moved by something that stops the engine or parts the battery."""
    return any(scene.parts[part].kind in _CUT_OFFS for part in parts if part in scene.parts)


def _moved(values: type_i, k: int, value: int) -> type_i:
    moved = values.copy()
    moved[k] = value
    return moved


def _sorted_loads(scene: Scene) -> tuple[list[int], list[int]]:
    """Elements of loads that a wet night wants on, and of those it wants off."""
    wanted: list[int] = []
    unwanted: list[int] = []
    circuits_at = scene.once("circuits at parts", _circuits_at)
    for k, element in enumerate(scene.compiled.network.elements):
        if not element.load or element.part not in scene.parts or element.type == "pin":
            continue
        word = _want(scene, circuits_at, element)
        (wanted if word == "on" else unwanted if word == "off" else []).append(k)
    return wanted, unwanted


def _want(scene: Scene, circuits_at: Mapping[str, Sequence[str]], element: Element) -> str:
    part = scene.parts[element.part]
    class_ = _class(scene, circuits_at, element.part)
    if (part.kind, element.name.rsplit(".", 1)[-1]) in _OFF_FILAMENTS:
        return "off"
    if part.role:
        return "on" if part.role in _WANTED_ROLES else "off" if element.type == "lamp" else ""
    if part.kind == "horn" or class_ == "signalling":
        return "off"
    blower = element.type == "motor" and class_ == "accessories"
    return "on" if class_ in _WANTED_CLASSES or blower else ""


def _class(scene: Scene, circuits_at: Mapping[str, Sequence[str]], part: str) -> str:
    """The class of a part's circuit, else that of the first of its wires that has one."""
    names = (scene.parts[part].circuit or "", *circuits_at.get(part, ()))
    return next((scene.circuits[name].class_ for name in names if name in scene.circuits), "")


def _circuits_at(scene: Scene) -> Mapping[str, Sequence[str]]:
    """The circuits of the wires at each part, those that come from it first."""
    found: dict[str, list[str]] = {}
    wires = all_looked_at(scene.wires.values(), ("from_", "to", "circuit"))
    for end, wire in (*((wire.from_, wire) for wire in wires), *((wire.to, wire) for wire in wires)):
        found.setdefault(end.split(".")[0], []).append(wire.circuit or "")
    return found
