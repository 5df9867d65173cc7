"""A vehicle's electrics in plain sheets: open them, ask what is wrong, solve any state of the car.

    import loomwright as lw

    car = lw.open("my_van.xlsx")
    car.findings()
    car.solve(key="start").volts["ECU.A1"]
    car.rows("wires", filled=True)
    lw.frame(car.rows("volts", key="start"))

What stands behind each name is fetched when first used, so that the lower levels can be imported without the higher
ones.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from polars import DataFrame

    from loomwright.car import Car
    from loomwright.handover.plain_rows import Plain

__all__ = ["Car", "__version__", "frame", "open"]

__version__ = "0.1.0"


def open(path: str | Path) -> Car:
    """The car that the sheets at `path` describe, ready to be asked.

    Args:
        path: a folder of CSV sheets, a workbook (`.xlsx`), an archive (`.loomjob`) or a JSON document (`.json`).
    Raises:
        BadDocument: the sheets cannot be read as a job; it lists every place.
    """
    from loomwright.car import Car
    from loomwright.sheets.opening import open_job

    return Car(open_job(path))


def frame(rows: Sequence[Mapping[str, Plain]]) -> DataFrame:
    """Rows of a car, `car.rows("wires")`, as a polars data frame: the same headings, each column typed.

    Args:
        rows: as `car.rows` gives them, or any list of flat rows.
    """
    from loomwright.writers.frames import frame

    return frame(rows)


def __getattr__(name: str) -> object:
    if name == "Car":
        from loomwright.car import Car

        return Car
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
