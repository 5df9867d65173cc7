"""How long does a long drive take: to cells beside a bare scan, from MDF4 beside asammdf, to the whole report?

Scan and cells each run in a process of their own, so that their memory is their own; both in one run, the best of a
few. Processor seconds are told beside those of the clock, which other work on the machine moves.
"""

from __future__ import annotations

import resource
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import ExitStack
from functools import partial
from multiprocessing import get_context
from pathlib import Path

import asammdf
import numpy as np
import polars as pl
import pytest

from loomwright.car import Car
from loomwright.exchange.log_file import open_log
from loomwright.job.job import Job
from loomwright.logs.channels import recognised
from loomwright.logs.drive import drive_of
from loomwright.logs.judged import mixture_of
from loomwright.logs.mapping import Mapped
from tests.logs.drive import Plan, made

ROWS = 5_000_000
REPORT_ROWS = 1_000_000
CELLS_BAR, MDF_BAR = 1.5, 1.3
REPORT_BAR_S, MEMORY_BAR_MB = 5.0, 1000.0
MIXTURE_USES = (
    "mixture",
    "engine_speed",
    "manifold_pressure",
    "throttle",
    "mixture_target",
    "trim",
    "coolant",
    "pulse",
)
MDF_CHANNELS = ("RPM", "MAP", "Lambda", "Lambda Target", "TPS", "CLT")
Told = tuple[float, float, float]


def long_drive(rows: int) -> pl.DataFrame:
    """A made-up drive of twenty minutes, over and over, with its clock running on, in twenty columns."""
    one = made(Plan(minutes=20.0))
    whole = pl.concat([one] * -(-rows // one.height)).head(rows)
    whole = whole.with_columns(pl.Series("Time (s)", (np.arange(rows) * 0.05).round(2)))
    return whole.with_columns((pl.col("RPM") * 0.001 * k).round(3).alias(f"Spare {k}") for k in range(1, 6))


def scanned(path: str) -> int:
    """A bare scan: the rows that can count, grouped by speed and load, mean and spread of what they want."""
    want = (pl.col("Lambda") / pl.col("Lambda Target")).log()
    counts = (
        (pl.col("RPM") > 450.0)
        & (pl.col("CLT (°C)") > 75.0)
        & pl.col("Lambda").is_between(0.66, 1.6)
        & (pl.col("TPS (%)") >= 0.0)
        & (pl.col("Time (s)") > 1.0)
    )
    cell = [
        (pl.col("RPM") / 500.0).round().cast(pl.Int32).alias("rpm"),
        (pl.col("MAP (kPa)") / 10.0).round().cast(pl.Int32).alias("load"),
    ]
    told = [want.mean().alias("mean"), want.std().alias("spread"), pl.len()]
    return pl.scan_csv(path).filter(counts).group_by(cell).agg(told).collect(engine="streaming").height


def celled(path: str) -> int:
    """The same file to cells, with delay, steady rows and intervals."""
    recording = open_log(Path(path))
    drive = drive_of(recording, recognised(recording.columns), MIXTURE_USES)
    mixture = mixture_of(drive, Mapped())
    assert mixture is not None
    return sum(cell.factor is not None for cell in mixture.cells)


def read_by_asammdf(path: str) -> int:
    """The channels by the library alone."""
    with asammdf.MDF(path) as file:
        return sum(signal.samples.size for signal in file.select(list(MDF_CHANNELS), copy_master=False))


def read_by_us(path: str) -> int:
    """The same channels as a drive."""
    recording = open_log(Path(path))
    drive = drive_of(recording, recognised(recording.columns), MIXTURE_USES)
    return sum(figures.size for figures in drive.of.values())


def reported(path: str) -> int:
    """The whole report, its findings counted."""
    return len(Car(Job()).logged(open_log(Path(path))).findings)


def timed(task: Callable[[str], int], path: str, rounds: int) -> Told:
    """Least seconds of the clock, least of the processor, most memory, in this process."""
    clock, cpu = [], []
    for _ in range(rounds):
        begun, worked = time.perf_counter(), time.process_time()
        task(path)
        clock.append(time.perf_counter() - begun)
        cpu.append(time.process_time() - worked)
    return min(clock), min(cpu), resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0


def apart(tasks: Sequence[Callable[[str], int]], path: Path, rounds: int = 3) -> list[Told]:
    """The same, each in a process of its own, in turns, so that what else the machine does falls on all of them."""
    told: list[list[Told]] = [[] for _ in tasks]
    with ExitStack() as held:
        one = partial(ProcessPoolExecutor, 1, mp_context=get_context("spawn"))
        pools = [held.enter_context(one()) for _ in tasks]
        for _ in range(rounds + 1):  # the first of each reads in its modules
            for own, pool, task in zip(told, pools, tasks, strict=True):
                own.append(pool.submit(timed, task, str(path), 1).result())
    return [(min(o[0] for o in own[1:]), min(o[1] for o in own[1:]), max(o[2] for o in own)) for own in told]


@pytest.fixture(scope="module")
def big(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Five million rows of twenty columns as CSV."""
    path = tmp_path_factory.mktemp("log") / "big.csv"
    long_drive(ROWS).write_csv(path)
    return path


def test_five_million_rows_to_cells_beside_a_bare_scan(big: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bare, ours = apart((scanned, celled), big)
    with capsys.disabled():
        print(
            f"\n{ROWS} rows, {big.stat().st_size / 1e6:.0f} MB: scan {bare[0]:.2f} s ({bare[1]:.2f} CPU s), cells "
            f"{ours[0]:.2f} s ({ours[1]:.2f} CPU s), {ours[0] / bare[0]:.2f} and {ours[1] / bare[1]:.2f} times (bar "
            f"{CELLS_BAR}), {ours[2]:.0f} MB (bar {MEMORY_BAR_MB:.0f})"
        )
    assert ours[2] < MEMORY_BAR_MB
    assert ours[1] < CELLS_BAR * bare[1]


def test_mdf4_beside_asammdf(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "drive.mf4"
    frame = long_drive(REPORT_ROWS)
    times = frame["Time (s)"].to_numpy()
    with asammdf.MDF() as file:
        file.append(
            [
                asammdf.Signal(
                    frame[name].to_numpy(), times, name=name.split(" (")[0], unit=name.partition("(")[2][:-1]
                )
                for name in frame.columns
                if name != "Time (s)"
            ]
        )
        file.save(path, overwrite=True)
    theirs, ours = apart((read_by_asammdf, read_by_us), path, 5)
    with capsys.disabled():
        print(
            f"\n{REPORT_ROWS} rows of MDF4, {len(MDF_CHANNELS)} channels: asammdf {theirs[0]:.2f} s "
            f"({theirs[1]:.2f} CPU s), ours {ours[0]:.2f} s ({ours[1]:.2f} CPU s), {ours[1] / theirs[1]:.2f} times "
            f"(bar {MDF_BAR})"
        )
    assert ours[1] < MDF_BAR * theirs[1]


def test_the_whole_report_of_a_million_rows(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "drive.csv"
    long_drive(REPORT_ROWS).write_csv(path)
    [told] = apart((reported,), path, 2)
    with capsys.disabled():
        print(
            f"\nreport of {REPORT_ROWS} rows: {told[0]:.2f} s ({told[1]:.2f} CPU s), bar {REPORT_BAR_S} s; "
            f"{told[2]:.0f} MB"
        )
    assert told[1] < REPORT_BAR_S
