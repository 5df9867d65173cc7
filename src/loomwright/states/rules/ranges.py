"""Can a controller tell park and neutral from the driving ranges? SGN-4.

A *range input* is an input for a switch to earth that wires and splices join to a position or code terminal of a gear
selector switch. With the engine running the car is solved in every range; an input reads low where it lies below half
of the most it shows in any of them. Broken where park or neutral reads as a range that drives does: the controller may
then hold a gear in, or let the engine start in one. Where every range reads the same it is told once, at the selector's
common terminal.

Not asked of a selector that no such input is joined to, nor of a controller that is not alive.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

import numpy as np

from loomwright.findings import Finding
from loomwright.states.asking.folding import Told
from loomwright.states.asking.scene import Scene
from loomwright.states.rules.bridges import first_four
from loomwright.states.signals.earth_nets import pins_with, wired_nodes

__all__ = ["range_findings"]

_AT_REST = ("P", "N")
_DRIVES = ("R", "D", "3", "2", "1")
_TELLS = (*_AT_REST, *_DRIVES, "A", "B", "C", "PA")
_HALF = 0.5


def range_findings(scene: Scene) -> Iterator[Told]:
    """Park or neutral that reads as a driving range, each told once a controller."""
    inputs = pins_with(scene, "switch_to_earth")
    variable = scene.compiled.variable_of.get("selector")
    if variable is None or not inputs:
        return
    for part in scene.parts.values():
        if part.kind != "selector_switch":
            continue
        joined = _joined(scene, part.id, inputs)
        by_controller: dict[str, list[str]] = {}
        for pin in joined:
            by_controller.setdefault(pin.split(".")[0], []).append(pin)
        for controller, pins in by_controller.items():
            yield from _unclear(scene, part.id, controller, pins)


def _joined(scene: Scene, selector: str, inputs: Mapping[str, str]) -> list[str]:
    """The inputs that the selector's position and code terminals lead to."""
    found: set[str] = set()
    for terminal in _TELLS:
        point = f"{selector}.{terminal}"
        if point in scene.wires_at:
            nodes, _ = wired_nodes(scene, (scene.node(point),))
            found |= {scene.name_of(node) for node in nodes} & set(inputs)
    return sorted(found)


def _unclear(scene: Scene, selector: str, controller: str, pins: list[str]) -> Iterator[Told]:
    codes = _codes(scene, controller, pins)
    if len(codes) > 1 and len(set(codes.values())) == 1:
        # no range differs from any other: what all of them share is lost
        words = f"the inputs of {controller} read the same in every range"
        mend = f"Look for the earth at {selector}.c"
        yield Told(_told(scene, controller, (f"{selector}.c", *pins), words, mend), None, None)
        return
    for rest in _AT_REST:
        same = [drives for drives in _DRIVES if rest in codes and codes.get(drives) == codes[rest]]
        if same:
            point = f"{selector}.{rest}"
            words = f"the inputs of {controller} read {rest} as they read {' '.join(same)}"
            mend = f"Wire {point} to an input that no driving range earths, or mend its wire"
            found = _told(scene, controller, (point, *pins), words, mend)
            yield Told(replace(found, when=(("key", "run"), ("selector", rest))), None, None)


def _codes(scene: Scene, controller: str, pins: list[str]) -> dict[str, tuple[bool, ...]]:
    """What the inputs read in each range, engine running; nothing where the controller is not alive."""
    compiled = scene.compiled
    ranges = compiled.network.variables[compiled.variable_of["selector"]].values
    states = np.repeat(scene.space.rest[None, :], len(ranges), axis=0)
    for name, word in (("key", "run"), ("engine", "running")):
        if name in compiled.variable_of:
            states[:, compiled.variable_of[name]] = compiled.network.variables[compiled.variable_of[name]].values.index(
                word
            )
    states[:, compiled.variable_of["selector"]] = np.arange(len(ranges))
    answers = scene.answers(states)
    star = compiled.node_of.get(f"{controller}._star")
    alive = [
        k
        for k, device in enumerate(compiled.network.devices)
        if device.what == "alive" and device.name.split(".")[0] == controller
    ]
    if star is None or not all(answers.on(k).all() for k in alive):
        return {}
    read = [np.nan_to_num(answers.volts(scene.node(pin)) - answers.volts(star)) for pin in pins]
    low = [volts < _HALF * max(float(volts.max()), 1.0) for volts in read]
    return {name: tuple(bool(one[row]) for one in low) for row, name in enumerate(ranges)}


def _told(scene: Scene, controller: str, points: tuple[str, ...], wrong: str, mend: str) -> Finding:
    selector = points[0].partition(".")[0]
    wires = (wire.id for point in points for wire in scene.wires_at.get(point, ()))
    return Finding(
        rule="SGN-4",
        severity="fault",
        at=first_four(points),
        touches=tuple(dict.fromkeys((selector, controller, *wires, *points[1:]))),
        label=f"{points[0]} ({scene.title(selector)})",
        wrong=wrong,
        mend=mend,
    )
