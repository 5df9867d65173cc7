"""What should the sensors read against the air around them, before and after the controller is plugged in?

First the air itself, by a thermometer: the others are held against what it reads, once it is taken. Everything stands
at the temperature of the air, as after a night in the shop. Plug off, battery off: ohms from each input's cavity to the
sensor earth, where they are not open. Plugged in, key in run: volts on the back of each input and
of the 5 V supply. Two temperature sensors of one car are then within 3 K of each other.

Source: 16 % about a temperature sensor's curve, 0.05 V about 5 V: common practice, no source; the rest `bands`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from loomwright.findings import id_order
from loomwright.handover.probing import ohms_between
from loomwright.handover.wire_ends import wire_ends
from loomwright.job.asked_values import with_asked_figures
from loomwright.job.job import Job
from loomwright.job.rows import ControllerPin
from loomwright.network.build import build_network
from loomwright.network.compiled import Compiled, compile_network
from loomwright.network.controller import pin_ability
from loomwright.network.solve import solve
from loomwright.proving.bands import LEADS_OHM, ohms_band, volts_band
from loomwright.proving.plan import AIR_TEST, PlannedTest
from loomwright.quantities import for_print
from loomwright.tables.kinds import Kind

__all__ = ["AIR_C", "sensor_plan"]

AIR_C = 20.0
"""The air of a shop, where nobody says [degC]."""
_LEAST_C, _MOST_C = -30.0, 50.0
"""Between these the air of a place where a car is worked on lies: our choice [degC]."""
_INPUTS = ("temperature_input", "analog_input", "vr_input", "hall_input", "frequency_input")
_CURVE_FRAC = 0.16
_FIVE_V = 0.05
_SWEEP_V = (0.2, 4.8)
"""A sensor of 0 to 5 V that is neither open nor shorted: common practice, no source [V]."""
_DEAD_V = 0.5
_DEAD = "battery off, controllers unplugged"
_LIVE = "everything plugged in, probe on the back of the terminal; coils and injectors unplugged"
_KILO = 1000.0


def sensor_plan(
    job: Job, kinds: Mapping[str, Kind], compiled: Compiled, *, air_c: float = AIR_C
) -> tuple[PlannedTest, ...]:
    """The tests of the sensors, ohms first.

    Args:
        job: with what was decided filled in.
        compiled: its network.
        air_c: what everything stands at. [degC]
    """
    ends = wire_ends(job, kinds)
    pins = {f"{pin.part}.{pin.terminal}": pin for pin in job.controller_pins}
    wired = [point for point in sorted(pins, key=id_order) if point in ends and point in compiled.node_of]
    ability = {point: pin_ability(pins[point], job.needs) for point in wired}
    inputs = [point for point in wired if ability[point] in _INPUTS]
    if not inputs:
        return ()
    figures = {one.name: air_c for one in compiled.network.variables if one.numeric and one.name.endswith("_c")}
    variables = with_asked_figures(compiled.network.variables, figures)
    variables = tuple(replace(one, rest=f"{air_c:g}") if one.name in figures else one for one in variables)
    aired = compile_network(build_network(job, kinds, None, variables))
    base = {
        point: PlannedTest(
            id=f"sensor/{point}",
            stage="sensors",
            does=_does(job, pins[point]),
            point=point,
            measure="ohms",
            wires=tuple(end.wire for end in ends[point]),
            circuit=next((wire.circuit for wire in job.wires if wire.id == ends[point][0].wire), ""),
            place=next((part.place for part in job.parts if part.id == pins[point].part), ""),
        )
        for point in wired
        if point in inputs or ability[point] == "supply_5v"
    }
    earth = next((point for point in wired if ability[point] == "sensor_earth"), "")
    told = [*_ohms(job, kinds, aired, inputs, ability, earth, base, air_c)]
    return (_air(job, air_c), *told, *_volts(aired, base, ability, air_c))


def _air(job: Job, air_c: float) -> PlannedTest:
    return PlannedTest(
        id=AIR_TEST,
        stage="sensors",
        does="the air around the car, by a thermometer in the shade beside the engine",
        point="air",
        measure="thermometer",
        put="the whole car as cold as the air, as after a night",
        low=_LEAST_C,
        high=_MOST_C,
        unit="degC",
        says=f"what it is; the other tests of the sensors are held against {air_c:g} °C until it is read",
        place=next((part.place for part in job.parts if part.kind == "battery"), ""),
    )


def _ohms(
    job: Job,
    kinds: Mapping[str, Kind],
    aired: Compiled,
    inputs: list[str],
    ability: Mapping[str, str],
    earth: str,
    base: Mapping[str, PlannedTest],
    air_c: float,
) -> Iterator[PlannedTest]:
    two = [point for point in inputs if ability[point] == "vr_input"]
    pairs = [(point, earth) for point in inputs if earth and point not in two]
    pairs += [(one, other) for one, other in zip(two[::2], two[1::2], strict=False)]
    for (point, other), ohms in zip(pairs, ohms_between(job, kinds, aired, pairs), strict=True):
        ohm = ohms.forward_ohm
        if ohm is None:
            continue
        low, high = ohms_band(ohm)
        if ability[point] == "temperature_input":
            low, high = ohm * (1.0 - _CURVE_FRAC), ohm * (1.0 + _CURVE_FRAC) + LEADS_OHM
        shown = f"{for_print(ohm / _KILO)} kΩ" if ohm >= _KILO else f"{for_print(ohm)} Ω"
        yield replace(
            base[point],
            id=f"sensor/ohms/{point}",
            to=other,
            put=f"{_DEAD}; all at {air_c:g} °C",
            expected=ohm,
            low=low,
            high=high,
            unit="ohm",
            says=f"{shown} at {air_c:g} °C" + (f" through {' '.join(ohms.through[:2])}" if ohms.through else ""),
        )


def _volts(
    aired: Compiled, base: Mapping[str, PlannedTest], ability: Mapping[str, str], air_c: float
) -> Iterator[PlannedTest]:
    named = {variable.name: variable for variable in aired.network.variables}
    state = {"key": "run"} if "key" in named and "run" in named["key"].values else {}
    solved = solve(aired, state, None)
    for point, test in base.items():
        volts = solved.volts.get(point)
        if volts is None:
            continue
        low, high = volts_band(volts, measured=True)
        if ability[point] == "supply_5v":
            low, high = volts - _FIVE_V, volts + _FIVE_V
        told = replace(
            test,
            id=f"sensor/volts/{point}",
            measure="volts",
            when=", ".join(f"{name}={value}" for name, value in state.items()),
            put=f"{_LIVE}; all at {air_c:g} °C",
            expected=volts,
            low=low,
            high=high,
            unit="V",
            says=f"{volts:.2f} V at {air_c:g} °C",
        )
        yield _loosened(told, ability[point])


def _loosened(test: PlannedTest, ability: str) -> PlannedTest:
    """A wider band where the figure hangs on what the sheets do not know: a pedal, a pressure, where a tooth stands."""
    if ability == "analog_input":
        low, high = _SWEEP_V
        says = f"between {low} and {high} V: what the sensor's maker says for it as it stands; written down for later"
        return replace(test, expected=None, low=low, high=high, says=says)
    if ability in ("hall_input", "frequency_input"):
        says = f"0 V or {test.expected:.1f} V, as a tooth stands; it changes as the wheel is turned by hand"
        return replace(test, low=-_DEAD_V, says=says)
    return test


def _does(job: Job, pin: ControllerPin) -> str:
    points = (pin.id, pin.terminal, f"{pin.part}.{pin.terminal}")
    need = next((need for need in job.needs if need.pin and need.pin in points and need.does), None)
    return need.does.replace("_", " ") if need else pin_ability(pin, job.needs).replace("_", " ")
