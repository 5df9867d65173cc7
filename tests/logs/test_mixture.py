"""Delay, correction and proposal against drives in which the truth is known."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest

from loomwright.logs.cells import Cell, Grid
from loomwright.logs.fuel_table import FuelTable
from loomwright.logs.judged import judged
from loomwright.logs.limits import typical_limits
from loomwright.logs.mapping import Mapped
from loomwright.logs.proposal import proposed
from loomwright.logs.steady import stayed_within
from tests.logs.drive import Plan, bilinear, grams, made
from tests.logs.reading import recorded

RPM = np.array([500.0, 1000, 1500, 2000, 2500, 3000, 3500, 4000, 4500])
LOAD = np.array([20.0, 35, 50, 65, 80, 95])
GRID = Grid(rpm=tuple(RPM), load=tuple(LOAD))
TABLE = FuelTable(grid=GRID, figures=tuple((60.0,) * RPM.size for _ in LOAD))


def wants(seed: int) -> np.ndarray:
    """A table out by some per cent everywhere, differently at each breakpoint."""
    return 1.0 + np.random.default_rng(100 + seed).normal(0.0, 0.04, (LOAD.size, RPM.size))


def told(seed: int) -> tuple[list[float], list[bool]]:
    """How far the delays are out [ms], and whether each cell's truth lies in its interval."""
    want = wants(seed)
    plan = Plan(seed=seed, want=bilinear(RPM, LOAD, want))
    mixture = judged(recorded(made(plan)), Mapped(), TABLE).mixture
    assert mixture is not None
    out = [one.delay_ms - plan.delay_a_ms - plan.delay_b / one.flow_g_per_s for one in mixture.delay.at]
    pairs = zip(mixture.cells, want.ravel(), strict=True)
    return out, [cell.low <= true <= cell.high for cell, true in pairs if cell.factor is not None]


def check(seeds: range) -> None:
    """Delay within 20 ms at every flow, the truth in its interval nine times of ten."""
    delays, inside = [], []
    for seed in seeds:
        out, within = told(seed)
        delays += out
        inside += within
    assert len(delays) >= 4 * len(seeds)
    assert max(map(abs, delays)) < 20.0
    assert len(inside) >= 12 * len(seeds)
    assert sum(inside) >= 0.9 * len(inside)


def test_delay_and_correction_are_what_was_built_in():
    check(range(2))


@pytest.mark.long
def test_delay_and_correction_are_what_was_built_in_many_drives():
    check(range(2, 14))


def test_no_mixture_moved_says_that_the_delay_is_typical():
    drive = judged(recorded(made(Plan(minutes=4.0, dither=0.0))), Mapped(), TABLE)
    assert drive.mixture is not None
    assert drive.mixture.delay.typical
    assert "typical" in drive.mixture.delay.says


def cell(factor: float | None, low: float | None = None, high: float | None = None, why: str = "") -> Cell:
    """A cell by its figures."""
    return Cell(rpm=1000.0, load=30.0, factor=factor, low=low, high=high, rows=100, visits=5 if factor else 0, why=why)


def test_cells_without_data_stay_as_they_were_and_say_so():
    grid = Grid(rpm=(1000.0, 2000.0), load=(30.0, 60.0))
    cells = [cell(1.05, 1.04, 1.06), cell(None, why="no data"), cell(1.05, 1.04, 1.06), cell(None, why="no data")]
    found = proposed(cells, grid, typical_limits(), [[50.0, 60.0], [70.0, 80.0]])
    assert found[0].factor == pytest.approx(1.05, abs=0.002)
    assert found[0].new == pytest.approx(52.5, abs=0.1)
    assert [one.factor for one in found[1::2]] == [1.0, 1.0]
    assert [one.new for one in found[1::2]] == [60.0, 80.0]
    assert all("no data" in one.says for one in found[1::2])


def test_a_cell_whose_interval_holds_no_change_is_left():
    grid = Grid(rpm=(1000.0, 2000.0), load=(30.0, 60.0))
    cells = [cell(1.02, 0.99, 1.05), *(cell(None, why="no data") for _ in range(3))]
    assert proposed(cells, grid, typical_limits())[0].factor == 1.0


def test_no_pass_changes_a_cell_by_more_than_its_limit():
    grid = Grid(rpm=(1000.0, 2000.0), load=(30.0, 60.0))
    cells = [cell(1.3, 1.29, 1.31), *(cell(None, why="no data") for _ in range(3))]
    (first, *_) = proposed(cells, grid, typical_limits())
    assert first.factor == pytest.approx(1.08)
    assert "held to" in first.says


def test_a_leak_before_the_probe_is_seen_and_left_out():
    def leaky(rpm, load):
        return 1.0 + 0.8 / np.maximum(grams(rpm, load), 1.0)

    drive = judged(recorded(made(Plan(seed=3, want=leaky))), Mapped(), TABLE)
    assert "LOG-21" in {finding.rule for finding in drive.findings}
    assert drive.mixture is not None
    idle = [one for one in drive.mixture.cells if one.rpm <= 1000.0 and one.load <= 50.0]
    assert [one.factor for one in idle] == [None] * len(idle)


def test_a_cold_probe_is_seen_and_left_out():
    frame = made(Plan(seed=2, minutes=6.0))
    cold = frame.with_columns(
        pl.when(pl.col("Time (s)").is_between(200.0, 260.0)).then(1.0).otherwise(pl.col("Lambda")).alias("Lambda")
    )
    found = {finding.rule for finding in judged(recorded(cold), Mapped(), TABLE).findings}
    assert "LOG-20" in found
    assert "LOG-20" not in {finding.rule for finding in judged(recorded(frame), Mapped(), TABLE).findings}


@pytest.mark.parametrize("rows", [2, 3, 4, 7])
def test_the_window_ends_at_its_row(rows):
    figures = np.zeros(30, np.float32)
    figures[10:] = 5.0
    figures[25] = np.nan
    within = stayed_within(figures, rows, 1.0)
    expected = [
        bool(np.isfinite(part).all() and np.ptp(part) <= 1.0)
        for part in (figures[max(0, k - rows + 1) : k + 1] for k in range(30))
    ]
    assert within.tolist() == expected
