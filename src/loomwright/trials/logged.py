"""What does a recorded drive say beside what this car's own network has?

In: a solved car and a recording. Out: the drive judged, the controller's supply held against the solved volts while
cranking and at idle; and, where they disagree, the readings with which the fault finder is asked why.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from loomwright.job.conditions import Condition, parse_condition
from loomwright.job.job import Job
from loomwright.job.rows import Reading
from loomwright.logs.judged import Judged, SupplyVolts
from loomwright.network.solve import Solved
from loomwright.refusals import OutOfReach
from loomwright.states.asking.scene import Scene

__all__ = ["logged_readings", "supply_volts"]

_CRANK = {"key": "start", "engine": "cranking"}
_IDLE = {"key": "run", "engine": "idle"}


def supply_volts(scene: Scene, filled: Job, solve: Callable[[Mapping[str, str | float]], Solved]) -> SupplyVolts | None:
    """Volts across a controller's supply while cranking and at idle, as the network has them; None without one.

    Args:
        scene: of the car.
        filled: its job, with what was decided.
        solve: the car in one state.
    """
    point, earth = _supply(scene, filled)
    if not point:
        return None
    found: list[float | None] = []
    for state in (_CRANK, _IDLE):
        try:
            volts = solve(state).volts
        except OutOfReach:  # a car without that key position or engine
            found.append(None)
            continue
        high, low = volts.get(point), volts.get(earth) if earth else 0.0
        found.append(None if high is None else high - (low or 0.0))
    return SupplyVolts(point=point, crank_v=found[0], idle_v=found[1], earth=earth)


def logged_readings(drive: Judged, supply: SupplyVolts) -> tuple[Reading, ...]:
    """What the drive read at the controller where the network disagrees: for the fault finder.

    Args:
        drive: judged beside the network.
        supply: what the network has, with the pins it is measured between.
    """
    rules = {"LOG-12": _CRANK, "LOG-38": _IDLE}
    found = []
    for rule, state in rules.items():
        told = [one for one in drive.findings if one.rule == rule and one.at and one.found is not None]
        if told:
            worst = min(told, key=lambda one: one.found or 0.0)
            when = parse_condition(", ".join(f"{name}={value}" for name, value in state.items()))
            found.append(_reading(rule, worst.found or 0.0, when, supply))
    return tuple(found)


def _reading(rule: str, volts: float, when: Condition, supply: SupplyVolts) -> Reading:
    """One reading, as if a meter had been on the pins."""
    return Reading(
        point=supply.point,
        to=supply.earth,
        when=when,
        measure="volts",
        value=volts,
        unit="V",
        visit="log",
        instrument="the controller's own log",
        note=rule,
    )


def _supply(scene: Scene, filled: Job) -> tuple[str, str]:
    """The supply pin that keeps the first controller alive, and its earth pin."""
    arrays = scene.compiled.arrays
    for number, device in enumerate(scene.compiled.network.devices):
        if device.what == "alive":
            point = scene.name_of(int(arrays.sense_a[int(arrays.sense_ptr[number])]))
            part = point.split(".")[0]
            earths = [pin for pin in filled.controller_pins if pin.part == part and "power_earth" in pin.abilities]
            return point, f"{part}.{earths[0].terminal}" if earths else ""
    return "", ""
