"""SGN-4 park read as a driving range, SGN-5 an engine speed gauge's pulses: one that makes each, one that does not."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import pytest

from loomwright.job.job import Job
from loomwright.states.rules.engine_speed import pulse_findings
from loomwright.states.rules.ranges import range_findings
from tests.states.rules.engine_car import PINS, engine_car
from tests.states.small_jobs import car, scene, wire

_INPUTS = [
    {"id": f"R{k}", "part": "ECU", "terminal": f"2{k}", "abilities": "switch_to_earth", "pull_up_ohm": "1000"}
    for k in range(3)
]
_SELECTOR = {
    "G1": wire("G1", "SEL.c", "body", "0.75"),
    "G2": wire("G2", "SEL.P", "SX.1", "0.75"),
    "G3": wire("G3", "SEL.N", "SX.2", "0.75"),
    "G4": wire("G4", "SX.3", "ECU.20", "0.75"),
    "G5": wire("G5", "SEL.3", "ECU.21", "0.75"),
}


def geared(without: str = "") -> Job:
    """The engine car whose controller is told P or N by one input, and 3 by another."""
    wires = [one for name, one in _SELECTOR.items() if name != without]
    return engine_car(pins=[*PINS, *_INPUTS], parts=[{"id": "SX", "kind": "splice"}], wires=wires)


def unclear(job: Job) -> list[tuple[str, ...]]:
    """The places of SGN-4."""
    return [told.finding.at for told in range_findings(scene(job))]


def test_park_that_is_not_wired_reads_as_a_driving_range():
    assert unclear(geared(without="G2")) == [("SEL.P", "ECU.20", "ECU.21")]


def test_without_the_selectors_earth_every_range_reads_alike_and_its_common_terminal_is_told_once():
    assert unclear(geared(without="G1")) == [("SEL.c", "ECU.20", "ECU.21")]


def test_a_selector_that_tells_park_from_the_rest_is_not_told_though_two_ranges_read_alike():
    assert unclear(geared()) == []


def test_a_selector_that_no_input_reads_is_not_asked():
    assert unclear(engine_car()) == []


def _coils(count: int, injectors: int, *more: Mapping[str, str], wires: Sequence[Mapping[str, str]]) -> Job:
    coils = [{"id": f"C{k}", "kind": "coil_plain"} for k in range(count)]
    valves = [{"id": f"I{k}", "kind": "injector"} for k in range(injectors)]
    return car(parts=[*coils, *valves, *more], wires=wires)


def pulses(job: Job) -> list[tuple[str, tuple[str, ...]]]:
    """Severity and places of SGN-5."""
    return [(told.finding.severity, told.finding.at) for told in pulse_findings(scene(job))]


@pytest.mark.parametrize(("wanted", "is_told"), [("2", False), ("1", True), ("4", True)])
def test_one_coil_of_a_four_cylinder_engine_gives_two_pulses_a_turn(wanted: str, is_told: bool):
    gauge = {"id": "REV", "kind": "tacho_pulse", "settings": f"pulses_per_rev={wanted}"}
    job = _coils(1, 4, gauge, wires=[wire("T1", "C0.1", "REV.signal")])
    assert pulses(job) == ([("warning", ("REV",))] if is_told else [])


def test_one_of_four_coils_gives_half_a_pulse_a_turn():
    gauge = {"id": "REV", "kind": "tacho_pulse", "settings": "pulses_per_rev=2"}
    assert pulses(_coils(4, 4, gauge, wires=[wire("T1", "C0.1", "REV.signal")])) == [("warning", ("REV",))]


def test_nobody_asks_where_the_cylinders_are_not_known():
    gauge = {"id": "REV", "kind": "tacho_pulse", "settings": "pulses_per_rev=3"}
    assert pulses(_coils(1, 0, gauge, wires=[wire("T1", "C0.1", "REV.signal")])) == []


def _series(end: str) -> Job:
    """A gauge that senses current, its far end on this point."""
    wires = [wire("T1", "KEY.15", "REV.in"), wire("T2", "REV.out", end), wire("T3", "C0.1", "body")]
    return _coils(1, 4, {"id": "REV", "kind": "tacho_series"}, wires=wires)


def test_a_gauge_that_senses_current_wants_a_coil_behind_it():
    assert pulses(_series("LA1.1")) == [("warning", ("REV",))]
    assert pulses(_series("C0.15")) == []
