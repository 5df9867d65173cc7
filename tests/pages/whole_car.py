"""A small whole car made of a page of answers, with everything that was blank decided; worked out once a run."""

from __future__ import annotations

from functools import cache

from loomwright.brief.brief import briefed
from loomwright.car import Car

__all__ = ["whole_car"]


@cache
def whole_car() -> Car:
    """One cylinder, a gearbox shifted by hand, no fan: the least that has every stage."""
    return Car(briefed({"cylinders": "1", "fans": "0", "gearbox": "shifted by hand"}).job).worked_out()
