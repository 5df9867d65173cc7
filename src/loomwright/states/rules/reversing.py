"""Does a motor made for both directions turn in both? NET-3, a fault.

Window motors and lock motors are reversed by contacts that rest on earth: with one of those earths missing the motor
turns one way and never back. Asked of every combination of what decides it, with key and engine; a motor between two
half bridges is its controller's business, and one that never turns at all is told as a load that never works.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product

import numpy as np

from loomwright.findings import Finding
from loomwright.network.arrays import type_i
from loomwright.states.asking.folding import Told
from loomwright.states.asking.scene import Scene
from loomwright.states.paths.tracing import Ways
from loomwright.states.rules.bridges import first_four
from loomwright.states.rules.load_elements import LoadElement, load_elements
from loomwright.states.rules.loads import half_bridges, turned_by_bridges, way_names

__all__ = ["one_way_findings"]

_KIND = "reversing_motor"
_STATES_MOST = 4096


def one_way_findings(scene: Scene, ways: Ways) -> Iterator[Told]:
    """Motors for both directions that turn in one only."""
    loads = [load for load in load_elements(scene) if scene.parts[load.part].kind == _KIND]
    bridged = half_bridges(scene) if loads else frozenset()
    for load in loads:
        if turned_by_bridges(ways, load, bridged):
            continue
        states = _states_of(scene, load)
        if states is None:
            continue
        answers = scene.answers(states)
        works = load.works(answers) & answers.possible
        volts = np.nan_to_num(answers.volts(load.a) - answers.volts(load.b))
        turns = bool((works & (volts > 0.0)).any()), bool((works & (volts < 0.0)).any())
        if turns[0] != turns[1]:
            names = scene.name_of(load.a), scene.name_of(load.b)
            yield _one_way(scene, ways, load, *(names if turns[0] else names[::-1]))


def _states_of(scene: Scene, load: LoadElement) -> type_i | None:
    """Every combination of what decides a load, with key and engine, the rest at rest; None where they are too many."""
    space = scene.space
    free = sorted({*scene.cones.of(load.indices), *space.core[:2]})
    size = 1
    for variable in free:
        size *= len(space.values[variable])
    if size > _STATES_MOST:
        return None
    combos = np.array(list(product(*(space.values[variable] for variable in free))), np.int64).reshape(-1, len(free))
    states = np.repeat(space.rest[None, :], len(combos), axis=0)
    states[:, free] = combos
    return np.asarray(states)


def _one_way(scene: Scene, ways: Ways, load: LoadElement, fed: str, earthed: str) -> Told:
    finding = Finding(
        rule="NET-3",
        severity="fault",
        at=first_four((load.part, fed, earthed)),
        touches=way_names(ways, load),
        label=f"{load.part} ({scene.title(load.part)})",
        wrong=f"turns one way only: no state feeds {earthed} and earths {fed}",
        mend=f"Find the contact that should earth {fed} while {earthed} is fed, and the one that should feed {earthed}",
    )
    return Told(finding, None, None)
