"""Is a winding that is made to be held at a current held there? RAT-1.

A solenoid or an injector whose row or kind says at how many amps its driver holds it has too few ohms to stand full
volts for long. The network shows it at those amps, whatever drives it. It is held only by an output of a controller
that can pulse: of ability `pwm`, `injector`, `half_bridge` or `ignition`, or with a switching rate in `pwm_hz`. On a
plain output, a relay or a wire to earth volts over ohms decide:

    I = V / R      V across it in that state, R at 20 °C

Ignition coils are not asked: their current is cut off by the dwell. Nor is a winding behind a series resistor.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from loomwright.job.rows import ControllerPin
from loomwright.network.records import Element
from loomwright.states.asking.answers import Answers, type_float
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.watch import Watch
from loomwright.states.paths.joined import Joined, joined_of
from loomwright.states.paths.surroundings import around, element_label
from loomwright.states.ratings.rating_ground import RatingGround, over, rating_source

__all__ = ["winding_ratings"]

_HOLD = frozenset({"pwm", "injector", "half_bridge", "ignition"})
"""Abilities of outputs that can pulse, and so hold a current."""
_COILS = ("coil_plain", "coil_twin")
_ON_SHARE = 0.5
"""Share of its held amps from which a winding counts as switched on [-]."""


def winding_ratings(ground: RatingGround) -> Iterator[Watch]:
    """Every winding that is made to be held at a current, and is driven by nothing that holds one."""
    scene = ground.scene
    joined = joined_of(scene)
    for index, element in enumerate(scene.compiled.network.elements):
        part = scene.parts.get(element.part)
        if part is None or element.type != "constant_current" or part.kind in _COILS:
            continue
        if not _is_held(scene, element):
            continue
        pins = _pins_at(scene, joined, index)
        if not any(_holds(pin) for pin in pins) and not _behind_resistor(scene, joined, index):
            yield _unheld(scene, index, pins)


def _is_held(scene: Scene, element: Element) -> bool:
    """True of a winding whose kind has it held at a current, and whose row, or kind, says at which."""
    kind = scene.kind(element.part)
    return any("limit_a" in one.params and element.name == f"{element.part}.{one.name}" for one in kind.elements)


def _pins_at(scene: Scene, joined: Joined, index: int) -> tuple[ControllerPin, ...]:
    """The outputs on the nets of a winding's two ends."""
    nets = set(joined.nets(scene, index)) - joined.live - joined.earth
    return tuple(
        pin
        for pin in scene.job.controller_pins
        if (node := scene.compiled.node_of.get(f"{pin.part}.{pin.terminal}")) is not None
        and joined.net_of[node] in nets
        and f"{pin.part}.{pin.terminal}.drive" in scene.compiled.elements_of
    )


def _holds(pin: ControllerPin) -> bool:
    return bool(_HOLD.intersection(pin.abilities)) or bool(pin.pwm_hz)


def _behind_resistor(scene: Scene, joined: Joined, index: int) -> bool:
    return any(
        gate.series and scene.element(gate.element).type == "resistor"
        for net in joined.nets(scene, index)
        if net not in joined.live and net not in joined.earth
        for gate in joined.gates[net]
    )


def _unheld(scene: Scene, index: int, pins: tuple[ControllerPin, ...]) -> Watch:
    element = scene.element(index)
    held_a, held_v = element.figures[0][:2]
    ohm = held_v / held_a

    def amps(answers: Answers) -> type_float:
        is_on = np.abs(answers.amps(index)) >= _ON_SHARE * held_a
        return np.where(is_on, np.abs(np.nan_to_num(answers.across(index))) / ohm, 0.0)

    points = tuple(f"{pin.part}.{pin.terminal}" for pin in pins)
    where = f"{points[0]} only switches it on and off" if points else "no output that pulses drives it"
    return over(
        at=(element.part, *points)[:4],
        touches=(*(pin.id for pin in pins), *around(scene, index)),
        label=element_label(scene, element),
        wrong=f"gets all the current that its volts make, and is made to be held at less: {where}",
        mend="Drive it by an output that can pulse and is told to hold that current, or fit one with more ohms",
        allowed_a=held_a,
        amps=amps,
        source=rating_source(scene, element.part, ("max_a",)),
    )
