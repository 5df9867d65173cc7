"""In which places of the selector does the starter turn, do the reverse lamps light, and what does the display show?

The whole car, everything plugged in, engine stopped. Each place of the variable `selector`, where there is one: the
starter with the key in start, yes where its solenoid pulls in; lamps of the role `reverse_lamp` with the key in run,
yes where they carry half their rated amps. Where the selector is wired to a controller, the place it shows on its
display: its inputs tell by how they stand at rest or are pulled from there. Places that stand alike on all of them are
asked as one. Without a selector: the starter alone, and with each switch moved by hand that lets it turn or stops it,
such as that of a clutch.

Source: half the rated current, `works_frac`, common practice. The drivetrain blocked, coils and injectors unplugged.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from loomwright.network.solve import solve_many, values_of
from loomwright.proving.moved_by_hand import hand_states
from loomwright.proving.plan import PlannedTest, state_slug
from loomwright.states.asking.scene import Scene
from loomwright.tables.constants import constant

__all__ = ["selector_tests"]

_TELLS_V = 2.0
"""An input whose volts the selector moves by less is not told anything: our choice [V]."""
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
    starters = [part for part, row in scene.parts.items() if row.kind == "starter"]
    found = _cranks(scene, levers, starters) if starters else []
    lamps = [part.id for part in scene.role_of.get("reverse_lamp", ())]
    if lamps and levers != ("",):
        found += [_reverse(scene, lever, lamps) for lever in levers]
    if levers != ("",):
        found += _displays(scene, levers)
    return tuple(found)


def _displays(scene: Scene, levers: Sequence[str]) -> list[PlannedTest]:
    """What the controller's display shows, place by place, where inputs of it hang on the selector."""
    pins = {
        point: scene.compiled.node_of[point]
        for point in (f"{pin.part}.{pin.terminal}" for pin in scene.job.controller_pins)
        if scene.wires_at.get(point) and point in scene.compiled.node_of
    }
    states = [{"selector": lever, "key": "run"} for lever in levers]
    batch = solve_many(scene.compiled, np.array([values_of(scene.compiled, state) for state in states]))
    volts = {point: batch.v[:, node] - batch.v[:, scene.compiled.arrays.nodes] for point, node in pins.items()}
    moved = {point: some for point, some in volts.items() if float(np.ptp(some)) > _TELLS_V}
    if not moved:
        return []
    parts = [point.split(".")[0] for point in moved]
    most = max(dict.fromkeys(parts), key=parts.count)
    mine = {point: some for point, some in moved.items() if point.split(".")[0] == most}
    told = [tuple(f"{point} {abs(float(some[k])):.1f} V" for point, some in mine.items()) for k in range(len(levers))]
    found = []
    for lever, state, stands in zip(levers, states, told, strict=True):
        alike = [other for other, same in zip(levers, told, strict=True) if same == stands]
        test = _test(scene, "display", lever, state, f"the display shows {' or '.join(alike)}", most, True)
        found.append(replace(test, says=f"yes: {', '.join(stands)}"))
    return found


def _cranks(scene: Scene, levers: Sequence[str], starters: Sequence[str]) -> list[PlannedTest]:
    """The starter in each place of the selector; without one at rest, and with each switch moved that changes it."""
    states: list[dict[str, str]] = [{**({"selector": lever} if lever else {}), "key": "start"} for lever in levers]
    moved = []
    if list(levers) == [""]:
        variables = scene.compiled.network.variables
        moved = [{**state, "key": "start"} for state in hand_states(variables) if "key" not in state]
    batch = solve_many(scene.compiled, np.array([values_of(scene.compiled, state) for state in (*states, *moved)]))
    mine = [
        k
        for k, device in enumerate(scene.compiled.network.devices)
        if device.what == "relay" and device.name.split(".")[0] in starters
    ]
    turns = [bool(batch.devices[row, mine].any()) for row in range(len(states) + len(moved))]
    told = list(zip((*levers, *map(state_slug, moved)), (*states, *moved), turns, strict=True))
    return [
        _test(scene, "starter", name, state, "the starter turns", starters[0], yes)
        for row, (name, state, yes) in enumerate(told)
        if row < len(states) or yes != turns[0]
    ]


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
