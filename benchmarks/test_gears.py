"""How fast is a drive of half an hour, a pair of hunting maps, a search for lines that change less?

Run by hand (`make bench`): the machine decides. CPU seconds, kernels warm.
"""

from __future__ import annotations

import time
from collections.abc import Callable

from loomwright.gearbox.box_reading import shipped_box
from loomwright.gearbox.fewest import fewest_changes
from loomwright.gearbox.hunting import hunting
from loomwright.gearbox.judged import run_called
from loomwright.gearbox.lines import first_lines, programme_called

DRIVE_S = 0.2
HUNTING_S = 5.0
FEWEST_S = 30.0
BOX = shipped_box()
NORMAL = programme_called(BOX, "normal")
LINES = first_lines(BOX, NORMAL)


def cpu_s(work: Callable[[], object]) -> float:
    """CPU seconds of the second time."""
    work()
    begin = time.process_time()
    work()
    return time.process_time() - begin


def test_half_an_hour_driven_at_ten_steps_a_second() -> None:
    assert run_called(BOX, LINES, "wltc").kmh.shape[0] == 18_001
    assert cpu_s(lambda: run_called(BOX, LINES, "wltc")) < DRIVE_S


def test_both_hunting_maps_forty_by_forty() -> None:
    assert hunting(BOX, LINES).by_pedal.shape == (40, 40)
    assert cpu_s(lambda: hunting(BOX, LINES)) < HUNTING_S


def test_fewest_changes_for_the_fuel() -> None:
    begin = time.process_time()
    assert fewest_changes(BOX, NORMAL).tried == 240
    assert time.process_time() - begin < FEWEST_S
