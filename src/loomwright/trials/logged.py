"""What does a recorded drive say beside what this car's own network has?

In: a solved car and a recording. Out: the drive judged, the controller's supply held against the solved volts while
cranking and at idle, the fan's current and the battery's held against the solved amps; and, where they disagree, the
readings with which the fault finder is asked why.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial

from loomwright.job.conditions import Condition, parse_condition
from loomwright.job.job import Job
from loomwright.job.rows import Reading, Wire
from loomwright.logs.beside import NetworkAmps, SupplyVolts
from loomwright.logs.judged import Judged
from loomwright.network.solve import Solved
from loomwright.refusals import NoAnswer, OutOfReach
from loomwright.states.asking.scene import Scene

__all__ = ["logged_readings", "reading_cells", "supply_volts"]

Solve = Callable[[Mapping[str, str | float]], Solved]
_HOT_C, _LEAST_A = 104.0, 0.1
_CRANK = {"key": "start", "engine": "cranking"}
_IDLE = {"key": "run", "engine": "idle"}


def supply_volts(scene: Scene, filled: Job, solve: Solve) -> SupplyVolts | None:
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
        except (OutOfReach, NoAnswer):  # a car without that key position or engine, or with no battery yet
            found.append(None)
            continue
        high, low = volts.get(point), volts.get(earth) if earth else 0.0
        found.append(None if high is None else high - (low or 0.0))
    battery, into = _battery_amps(filled, solve)
    return SupplyVolts(
        point=point,
        crank_v=found[0],
        idle_v=found[1],
        earth=earth,
        fan=partial(_fan_amps, filled, solve),
        battery=battery,
        into=into,
    )


def logged_readings(drive: Judged, supply: SupplyVolts | None) -> tuple[Reading, ...]:
    """What the drive read at the controller where the network disagrees: for the fault finder.

    Args:
        drive: judged beside the network.
        supply: what the network has, with the pins it is measured between; volts are left out without.
    """
    rules = {"LOG-12": _CRANK, "LOG-38": _IDLE}
    found = []
    for rule, state in rules.items():
        told = [one for one in drive.findings if one.rule == rule and one.at and one.found is not None]
        if told and supply is not None:
            worst = min(told, key=lambda one: one.found or 0.0)
            when = parse_condition(", ".join(f"{name}={value}" for name, value in state.items()))
            found.append(_reading(rule, worst.found or 0.0, when, supply))
    for one in drive.beside:
        if one.is_off and one.wire:
            found.append(
                Reading(
                    point=one.wire,
                    when=parse_condition(one.state),
                    measure="clamp",
                    value=one.clamp_a,
                    unit="A",
                    visit="log",
                    instrument="the controller's own log",
                    note=one.rule,
                )
            )
    return tuple(found)


def reading_cells(one: Reading) -> dict[str, str]:
    """A reading of a drive as a row of the sheet `readings`, heading -> text."""
    cells = {
        "point": one.point,
        "to": one.to,
        "when": one.when.text,
        "measure": one.measure,
        "value": f"{one.value:.4g}" if isinstance(one.value, float) else str(one.value or ""),
        "unit": one.unit,
        "instrument": one.instrument,
        "note": one.note,
    }
    return {name: text for name, text in cells.items() if text}


def _fan_amps(filled: Job, solve: Solve, coolant_c: float) -> NetworkAmps | None:
    """The fans' current at idle with the coolant so warm, hotter where the network has them off then."""
    fans = [part for part in filled.parts if part.kind == "fan" and part.fitted != "removed"]
    leads = [wire for fan in fans for wire in _lead(filled, fan.id)]
    for warm in (coolant_c, _HOT_C):
        state = {**_IDLE, "coolant_c": f"{warm:g}"}
        amps = _amps_in(solve, state, [wire.id for wire in leads])
        if amps is not None and abs(amps) > _LEAST_A:
            wire = leads[0].id if len(leads) == 1 else ""
            return NetworkAmps(amps=amps, wire=wire, state=_words(state))
    return None


def _battery_amps(filled: Job, solve: Solve) -> tuple[NetworkAmps | None, float]:
    """Current in the battery's earth lead at idle, and 1 where the lead is written as a charging current goes.

    Of several leads the whole current, into it, and no wire that a clamp could be put round.
    """
    battery = next((part for part in filled.parts if part.kind == "battery" and part.fitted != "removed"), None)
    leads = [] if battery is None else _lead(filled, battery.id)
    if battery is None or not leads:
        return None, 1.0
    into = {wire.id: 1.0 if wire.from_ == f"{battery.id}.-" or wire.to == f"{battery.id}.+" else -1.0 for wire in leads}
    amps = {wire.id: _amps_in(solve, _IDLE, [wire.id]) for wire in leads}
    known = {name: found for name, found in amps.items() if found is not None}
    if len(known) < len(leads):
        return None, 1.0
    if len(leads) == 1:
        only = leads[0].id
        return NetworkAmps(amps=known[only], wire=only, state=_words(_IDLE)), into[only]
    whole = sum(into[name] * found for name, found in known.items())
    return NetworkAmps(amps=whole, wire="", state=_words(_IDLE)), 1.0


def _lead(filled: Job, part: str) -> list[Wire]:
    """The wires at a part's earth, those at its feed where its case is its earth."""
    for end in (f"{part}.-", f"{part}.+"):
        found = [wire for wire in filled.wires if end in (wire.from_, wire.to) and wire.fitted != "removed"]
        if found:
            return found
    return []


def _amps_in(solve: Solve, state: Mapping[str, str], wires: Sequence[str]) -> float | None:
    if not wires:
        return None
    try:
        amps = solve(dict(state)).amps
    except (OutOfReach, NoAnswer):  # a car without that variable, or with no battery yet
        return None
    found = [amps[wire] for wire in wires if wire in amps]
    return sum(found) if len(found) == len(wires) else None


def _words(state: Mapping[str, str]) -> str:
    return ", ".join(f"{name}={value}" for name, value in state.items())


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
