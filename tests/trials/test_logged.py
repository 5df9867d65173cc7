"""A drive beside the solved car: where they agree nothing is asked; where volts are low the fault finder says why."""

from __future__ import annotations

import polars as pl
import pytest

from loomwright.brief.brief import briefed
from loomwright.car import Car
from tests.logs.drive import Plan, made
from tests.logs.reading import recorded


@pytest.fixture(scope="module")
def car() -> Car:
    """A small car with everything decided."""
    return Car(briefed({"cylinders": "1", "gearbox": "shifted by hand"}).job).worked_out()


def drive(crank_v: float) -> pl.DataFrame:
    """The beginning of a drive with the controller's supply at a figure while cranking."""
    frame = made(Plan(seed=5, minutes=1.0)).drop("Lambda", "Lambda Target")
    cranks = pl.col("RPM").is_between(60.0, 400.0)
    return frame.with_columns(pl.when(cranks).then(crank_v).otherwise(pl.col("Battery (V)")).alias("Battery (V)"))


@pytest.mark.long
def test_a_drive_is_held_against_the_solved_car_and_the_fault_finder_asked_why(car: Car) -> None:
    supply = car.supply_volts
    assert supply is not None
    assert supply.crank_v is not None
    assert 6.0 < supply.crank_v < 12.0
    agrees = car.logged(recorded(drive(supply.crank_v)))
    assert car.why_logged(agrees) is None
    low = car.logged(recorded(drive(supply.crank_v - 2.0)))
    assert "LOG-12" in {one.rule for one in low.findings}
    why = car.why_logged(low)
    assert why is not None
    assert why.faults > 50
    assert all(one.kind != "none" for one in why.groups[0].suspects)


def test_the_dyno_counts_the_newest_drive_that_says_anything() -> None:
    car = Car(briefed({"cylinders": "1", "gearbox": "shifted by hand"}).job)
    told = car.logged(recorded(drive(10.0)))
    silent = car.logged(recorded(drive(10.0).drop("Battery (V)")))
    charging = {one.name: one for one in car.dyno(silent, "new", [("old", told)]).criteria}["charging"]
    assert charging.met
    assert charging.record.startswith("old")
    assert not {one.name: one for one in car.dyno(silent, "new").criteria}["charging"].met
