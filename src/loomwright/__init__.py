"""A vehicle's electrics in plain sheets: open a folder of them, ask what is wrong, solve any state of the car.

    import loomwright as lw

    car = lw.open("my_van")
    car.findings()
    car.solve(key="start").volts["ECU.A1"]

`open` and `Car` are fetched when first used, so that the lower levels can be imported without the higher ones.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

    from loomwright.car import Car

__all__ = ["Car", "__version__", "open"]

__version__ = "0.1.0"


def open(path: str | Path) -> Car:
    """The car that the sheets at `path` describe, ready to be asked.

    Args:
        path: a folder of CSV sheets.
    Raises:
        BadDocument: the sheets cannot be read as a job; it lists every place.
    """
    from loomwright.car import Car
    from loomwright.sheets.csv_folder import open_folder

    return Car(open_folder(path))


def __getattr__(name: str) -> object:
    if name == "Car":
        from loomwright.car import Car

        return Car
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
