"""In which places of the selector does the starter turn, and in which do the reverse lamps light?

The whole car, everything plugged in, engine stopped. Each place of the variable `selector`, where there is one: the
starter with the key in start, yes where its solenoid pulls in; lamps of the role `reverse_lamp` with the key in run,
yes where they carry half their rated amps. Without a selector: the starter alone.

Source: half the rated current, `works_frac`, common practice. The drivetrain blocked, coils and injectors unplugged.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from loomwright.network.solve import solve_many, values_of
from loomwright.proving.plan import PlannedTest
from loomwright.states.asking.scene import Scene
from loomwright.tables.constants import constant

__all__ = ["selector_tests"]

_PUT = "everything plugged in but coils and injectors; wheels chocked, gear out, foot on the brake"


def selector_tests(scene: Scene) -> tuple[PlannedTest, ...]:
    """The tests, place by place in the order of the lever.

    Args:
        scene: the whole car.
    """
    variables = {variable.name: variable for variable in scene.compiled.network.variables}
    if "key" not in variables or "start" not in variables["key"].values:
        return ()
    levers = variables["selector"].values if "selector" in variables and variables["selector"].parts else ("",)
    found = [test for lever in levers for test in (_cranks(scene, lever),) if test is not None]
    lamps = [part.id for part in scene.role_of.get("reverse_lamp", ())]
    if lamps and levers != ("",):
        found += [_reverse(scene, lever, lamps) for lever in levers]
    return tuple(found)


def _cranks(scene: Scene, lever: str) -> PlannedTest | None:
    starters = [part for part, row in scene.parts.items() if row.kind == "starter"]
    if not starters:
        return None
    state = {**({"selector": lever} if lever else {}), "key": "start"}
    batch = solve_many(scene.compiled, values_of(scene.compiled, state)[None, :])
    devices = scene.compiled.network.devices
    turns = any(
        bool(batch.devices[0, k])
        for k, device in enumerate(devices)
        if device.what == "relay" and device.name.split(".")[0] in starters
    )
    return _test(scene, "starter", lever, state, "the starter turns", starters[0], turns)


def _reverse(scene: Scene, lever: str, lamps: Sequence[str]) -> PlannedTest:
    state = {"selector": lever, "key": "run"}
    batch = solve_many(scene.compiled, values_of(scene.compiled, state)[None, :])
    mine = [(k, scene.element(k).rated_a) for lamp in lamps for k in scene.elements_of.get(lamp, ())]
    share = constant("works_frac")
    lit = any(rated and bool(np.abs(batch.amps[0, k]) >= share * rated) for k, rated in mine)
    return _test(scene, "reverse", lever, state, "the reverse lamps light", lamps[0], lit)


def _test(
    scene: Scene, what: str, lever: str, state: dict[str, str], does: str, part: str, expected: bool
) -> PlannedTest:
    word = "yes" if expected else "no"
    return PlannedTest(
        id=f"selector/{what}/{lever or 'start'}",
        stage="selector",
        does=does,
        point=part,
        measure="look",
        when=", ".join(f"{name}={value}" for name, value in state.items()),
        put=_PUT,
        word=word,
        says=word,
        place=scene.parts[part].place,
        circuit=scene.parts[part].circuit,
    )
