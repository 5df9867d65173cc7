"""How fast is every single fault of the demo put in and ranked against six readings, and the whole plan's coverage?

Run by hand (`make bench`): the machine decides. Warm: the kernels are compiled and the car is built; nothing of a fault
is worked out before. CPU seconds are printed beside those of the clock.
"""

from __future__ import annotations

import time
from collections.abc import Callable

import pytest

from loomwright.car import Car
from loomwright.examples.shelf import example_folder
from loomwright.job.conditions import parse_condition
from loomwright.job.rows import Reading
from loomwright.proving.locate import locate, ranked
from loomwright.proving.suspects import suspects_of
from loomwright.sheets.opening import open_job

RANKED_S = 2.0
COVERAGE_S = 60.0
FAULTS = 1500
READ = (
    ("", 1),
    ("key=run", 2),
    ("key=run, engine=running", 2),
    ("key=start, engine=cranking", 1),
)


@pytest.fixture(scope="module")
def van() -> Car:
    """The demo, its network built and solved once."""
    car = Car(open_job(example_folder("van")))
    car.solve({"key": "run"})
    return car


def took(work: Callable[[], object]) -> tuple[float, float]:
    """Seconds of the clock and of the processor. [s]"""
    clock_s, cpu_s = time.perf_counter(), time.process_time()
    work()
    return time.perf_counter() - clock_s, time.process_time() - cpu_s


def readings(car: Car) -> list[Reading]:
    """Six readings of the sound car in four states: nearly every fault is left, the most there is to weigh."""
    found: list[Reading] = []
    loads = [f"{part.id}.+" for part in car.filled.parts if f"{part.id}.+" in car.compiled.node_of]
    for when, count in READ:
        state = dict(piece.split("=") for piece in when.split(", ")) if when else {}
        volts = car.solve(state).volts
        for point in loads[len(found) : len(found) + count]:
            value = round(volts[point] or 0.0, 2)
            found.append(Reading(point=point, when=parse_condition(when), measure="volts", value=value))
    return found


def test_every_single_fault_ranked_against_six_readings(van: Car, capsys: pytest.CaptureFixture[str]) -> None:
    read = readings(van)
    assert len(read) == 6
    clock_s, cpu_s = min(took(lambda: ranked(van.scene, read)) for _ in range(3))
    next_s, next_cpu_s = min(took(lambda: locate(van.scene, read)) for _ in range(2))
    faults = len(suspects_of(van.scene))
    with capsys.disabled():
        print(f"\n{faults} faults against six readings: {clock_s:.2f} s, {cpu_s:.2f} s of CPU (bar {RANKED_S:g} s)")
        print(f"the same, and what to read next of the whole car: {next_s:.2f} s, {next_cpu_s:.2f} s of CPU")
    assert faults > FAULTS
    assert clock_s < RANKED_S


def test_coverage_of_the_whole_plan(van: Car, capsys: pytest.CaptureFixture[str]) -> None:
    told: list[int] = []
    clock_s, cpu_s = took(lambda: van.proof_plan().coverage(lambda done, of: told.append(done)))
    with capsys.disabled():
        print(f"\ncoverage of the whole plan: {clock_s:.1f} s, {cpu_s:.1f} s of CPU (bar {COVERAGE_S:g} s)")
    assert told == sorted(told)
    assert clock_s < COVERAGE_S
