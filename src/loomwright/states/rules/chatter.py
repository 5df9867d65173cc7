"""Does a relay pull in and drop out by turns, since its own contact takes away what holds it? SNK-4.

A loop of relays that comes to rest in no order of changing is told once, with all relays of the loop. Relays belong to
one loop where each lies on the other's ways: what decides them is then the same.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

import numpy as np

from loomwright.states.asking.answers import Answers, type_bool, type_float
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.watch import Watch
from loomwright.states.rules.bridges import first_four

__all__ = ["watches"]

_CHANGING = ("relay", "alive")


def watches(scene: Scene) -> tuple[Watch, ...]:
    """One question a loop of relays and controllers."""
    return tuple(_watch(scene, loop) for loop in _loops(scene))


def _loops(scene: Scene) -> Iterator[tuple[int, ...]]:
    """Relays that may work each other, and each other relay by itself."""
    together: dict[object, list[int]] = {}
    for k, device in enumerate(scene.compiled.network.devices):
        if device.what in _CHANGING:
            loop = scene.cones.terms_of_device[k] if k in scene.cones.holds_itself else k
            together.setdefault(loop, []).append(k)
    yield from (tuple(loop) for loop in together.values())


def _watch(scene: Scene, loop: tuple[int, ...]) -> Watch:
    parts = list(dict.fromkeys(scene.compiled.network.devices[k].name.split(".")[0] for k in loop))
    wires = dict.fromkeys(
        wire.id for part in parts for point in scene.points_of.get(part, ()) for wire in scene.wires_at[point]
    )
    named = " and ".join(f"{part} ({scene.title(part)})" for part in parts)
    by = "its own contact takes" if len(parts) == 1 else "their contacts take"
    return Watch(
        rule="SNK-4",
        severity="fault",
        at=first_four(parts),
        touches=tuple(wires),
        label=named,
        wrong=f"pulls in and drops out by turns: {by} away what holds {'it' if len(parts) == 1 else 'them'}",
        mend="Feed its coil from before the contact that it opens, or take another relay for one of the two",
        broken=partial(_changes, loop),
    )


def _changes(loop: tuple[int, ...], answers: Answers) -> tuple[type_bool, type_float]:
    hit = np.logical_or.reduce([answers.buzzing(device) for device in loop])
    return hit, np.zeros(answers.count)
