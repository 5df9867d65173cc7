"""How long does it take to size the demonstration car, the compiled code loaded and the car built?

With every new wire up to 1.5 mm² and eight ratings blank, and with everything blank. Processor time is told beside wall
time, since others may use the machine.
"""

from __future__ import annotations

import time

import pytest

from loomwright.car import Car
from loomwright.job.job import Job
from tests.sizing.blank_cars import as_typed, with_blanks

AIM_S = 2.0
BAR_S = 5.0
BAR_WHOLE_S = 60.0


def sized_in(job: Job) -> tuple[float, float, Car]:
    """Processor and wall seconds of one sizing, the car built before. [s]"""
    car = Car(job)
    assert car.scene.wires
    assert car.routes.wires
    begun, cpu = time.perf_counter(), time.process_time()
    car.sized()
    return time.process_time() - cpu, time.perf_counter() - begun, car


def test_sizes_of_thin_wires_and_eight_fuses(benchmark, capsys: pytest.CaptureFixture[str]) -> None:  # type: ignore[no-untyped-def]
    job = with_blanks(as_typed("van"), up_to_mm2=1.5, fuses=8)
    sized_in(with_blanks(as_typed("tourer"), up_to_mm2=0.5, fuses=1))  # loads what is compiled
    cpu_s, wall_s, car = benchmark.pedantic(lambda: sized_in(job), rounds=1)
    sized = car.sized()
    with capsys.disabled():
        print(
            f"\nsize: {len(sized.decided)} blank cells in {cpu_s:.2f} s of processor, {wall_s:.2f} s by the clock "
            f"(aim {AIM_S:.0f} s, bar {BAR_S:.0f} s), {sized.solved} states met, {sized.copper_g:.0f} g of copper"
        )
    assert len(sized.decided) > 80
    assert not sized.unsettled
    assert min(cpu_s, wall_s) < BAR_S


def test_sizes_of_a_whole_car(benchmark, capsys: pytest.CaptureFixture[str]) -> None:  # type: ignore[no-untyped-def]
    job = with_blanks(as_typed("van"), up_to_mm2=1000.0, fuses=60)
    cpu_s, wall_s, car = benchmark.pedantic(lambda: sized_in(job), rounds=1)
    sized = car.sized()
    with capsys.disabled():
        print(
            f"\nsize of everything: {len(sized.decided)} blank cells in {cpu_s:.1f} s of processor, {wall_s:.1f} s by "
            f"the clock (bar {BAR_WHOLE_S:.0f} s)"
        )
    assert not sized.unsettled
    assert min(cpu_s, wall_s) < BAR_WHOLE_S
