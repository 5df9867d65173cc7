"""A sound drive spoilt in the ways that logs come spoilt, as the text of a file, with what is to be told of each."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache

import polars as pl

from tests.logs.drive import Plan, made

T = pl.col("Time (s)")


@cache
def sound() -> pl.DataFrame:
    """The drive as it should be."""
    return made(Plan(seed=4, minutes=6.0))


@dataclass(frozen=True, kw_only=True)
class Bad:
    """A spoilt log. text: of the file.   told: words that must come of it.   rules: of findings that must be told."""

    text: Callable[[], str]
    told: tuple[str, ...]
    rules: frozenset[str] = frozenset()


def with_gaps() -> str:
    there = ~T.is_between(100.0, 150.0) & ~T.is_between(220.0, 224.0)
    return sound().filter(there).write_csv()


def times_repeated() -> str:
    return sound().with_columns((T / 0.2).floor() * 0.2).write_csv()


def text_in_numbers() -> str:
    rows = pl.int_range(pl.len())
    where = {"Lambda": (T.is_between(180.0, 190.0), "sensor fault"), "RPM": (rows % 1501 == 1500, "n.a.")}
    told = [
        pl.when(there).then(pl.lit(word)).otherwise(pl.col(name).cast(pl.String)).alias(name)
        for name, (there, word) in where.items()
    ]
    return sound().with_columns(told).write_csv()


def in_other_units() -> str:
    """A second log in bar and air-fuel ratio under the first one's headings."""
    other = sound().with_columns(
        (pl.col("MAP (kPa)") / 100.0).round(4),
        (pl.col("Lambda") * 14.7).round(3),
        (pl.col("CLT (°C)") * 1.8 + 32.0).round(1),
    )
    return sound().write_csv() + other.filter(T < 150.0).write_csv(include_header=False)


def half_a_file() -> str:
    whole = sound().write_csv()
    cut = whole.index("\n", 2 * len(whole) // 3)
    return whole[: cut - 9]


def two_logs_glued() -> str:
    return sound().write_csv() + made(Plan(seed=5, minutes=2.0)).write_csv()


def a_cold_probe() -> str:
    cold = pl.when(T.is_between(120.0, 200.0)).then(1.3).otherwise(pl.col("Lambda")).alias("Lambda")
    return sound().with_columns(cold).write_csv()


BAD: Mapping[str, Bad] = {
    "gaps": Bad(text=with_gaps, told=("2 times nothing was recorded for a while, at most 50",)),
    "times that repeat": Bad(text=times_repeated, told=("rows repeat the time before them: spread evenly",)),
    "text in numbers": Bad(
        text=text_in_numbers, told=("201 cells of Lambda are no figures", "4 cells of RPM are no figures")
    ),
    "mixed units": Bad(
        text=in_other_units,
        told=(
            "it seems to be in bar: left out",
            "it seems to be in °F: left out",
            "it seems to be in air-fuel ratio: left out",
            "the clock steps back once",
        ),
    ),
    "half a file": Bad(text=half_a_file, told=("the last row is not whole: half a file",)),
    "two logs glued": Bad(text=two_logs_glued, told=("the clock steps back once", "headings or remarks among them")),
    "a cold probe": Bad(text=a_cold_probe, told=("does not move for seconds",), rules=frozenset({"LOG-20"})),
}
