"""How long do all starting numbers of a job take, and the best breakpoints of a sensor beside every choice?"""

from __future__ import annotations

import time
from collections.abc import Callable
from itertools import combinations

import numpy as np
import pytest

from loomwright.calibration.breakpoints import place_breakpoints, table_wrong
from loomwright.calibration.thermistor import thermistor_of
from loomwright.car import Car
from loomwright.examples.shelf import example_folder
from loomwright.sheets.csv_folder import open_folder

NUMBERS_BAR_S, POINTS_BAR_S = 0.5, 1.0
KNOWN = {"displacement_cc": 1275, "cylinders": 4, "injector_cc_per_min": 270, "injector_kpa": 300, "coil_a": 6}


def least_cpu_s(task: Callable[[], object], rounds: int = 3) -> float:
    """The least processor time of a few."""
    taken = []
    for _ in range(rounds):
        begun = time.process_time()
        task()
        taken.append(time.process_time() - begun)
    return min(taken)


def test_all_starting_numbers_of_a_job(capsys: pytest.CaptureFixture[str]) -> None:
    car = Car(open_folder(example_folder("tourer")))
    made = car.numbers(KNOWN)
    taken = least_cpu_s(lambda: Car(car.job).numbers(KNOWN))
    with capsys.disabled():
        print(
            f"\n{len(made.numbers)} numbers and {len(made.tables)} tables of a new car: {taken:.3f} CPU s (bar "
            f"{NUMBERS_BAR_S} s)"
        )
    assert taken < NUMBERS_BAR_S


def test_the_best_breakpoints_and_every_choice(capsys: pytest.CaptureFixture[str]) -> None:
    curve = thermistor_of([(0.0, 5975.0), (50.0, 806.9), (100.0, 175.7)])
    at_c = np.linspace(120.0, -40.0, 400)
    ohms = [curve.resistance_ohm(float(t)) for t in at_c]
    x = [ohm / (ohm + 2490.0) for ohm in ohms]
    taken = least_cpu_s(lambda: place_breakpoints(x, at_c.tolist(), 16))
    few_x, few_y = x[::25], at_c[::25].tolist()
    begun = time.process_time()
    inner = range(1, len(few_x) - 1)
    best = min(
        table_wrong(few_x, few_y, [few_x[i] for i in at], [few_y[i] for i in at])
        for chosen in combinations(inner, 4)
        for at in [(0, *chosen, len(few_x) - 1)]
    )
    every = time.process_time() - begun
    assert place_breakpoints(few_x, few_y, 6).worst == pytest.approx(best, abs=1e-12)
    with capsys.disabled():
        print(
            f"\n16 of 400 points: {taken:.3f} CPU s (bar {POINTS_BAR_S} s); every choice of 6 of 16, the same answer: "
            f"{every:.2f} s"
        )
    assert taken < POINTS_BAR_S
