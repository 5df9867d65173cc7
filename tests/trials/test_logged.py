"""A drive beside the solved car: where they agree nothing is asked; where volts are low the fault finder says why."""

from __future__ import annotations

import polars as pl
import pytest

from loomwright.brief.brief import briefed
from loomwright.car import Car
from loomwright.examples.shelf import example_folder
from loomwright.logs.beside import NetworkAmps, SupplyVolts
from loomwright.logs.judged import judged
from loomwright.logs.mapping import Mapped
from loomwright.network.records import Changes
from loomwright.proving.locate import Located
from loomwright.sheets.csv_folder import open_folder
from loomwright.trials.logged import logged_readings, reading_cells
from tests.logs.drive import Plan, made
from tests.logs.reading import recorded

BAD_JOINT_OHM = 1.0


def named_first(why: Located) -> set[str]:
    """Wires and parts of the likeliest faults that are told."""
    return {name for group in why.groups[:3] for one in group.suspects for name in one.at}


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
    wire = next(one.id for one in car.filled.wires if supply.point in (one.from_, one.to))
    crank = {"key": "start", "engine": "cranking"}
    volts = car.solve(crank, changes=Changes(series=((wire, BAD_JOINT_OHM),))).volts
    read = (volts[supply.point] or 0.0) - (volts[supply.earth] or 0.0)
    assert read < supply.crank_v - 0.5, "the bad joint that is put in shows while cranking"
    low = car.logged(recorded(drive(read)))
    assert "LOG-12" in {one.rule for one in low.findings}
    why = car.why_logged(low)
    assert why is not None
    assert why.faults > 50
    assert wire in named_first(why), "the wire that the bad joint was put into"


@pytest.mark.long
def test_a_fan_behind_a_bad_joint_is_told_and_the_wire_with_it_stands_among_the_first(car: Car) -> None:
    supply = car.supply_volts
    assert supply is not None
    assert supply.fan is not None
    known = supply.fan(95.0)
    assert known is not None
    frame = made(Plan(seed=5, minutes=6.0, warm_from_c=88.0)).drop("Lambda", "Lambda Target")
    hot = dict(pair.split("=") for pair in known.state.split(", "))
    taken = abs(car.solve(hot, changes=Changes(series=((known.wire, BAD_JOINT_OHM),))).amps[known.wire])
    assert taken < 0.75 * abs(known.amps), "the bad joint that is put in shows"
    told = frame.with_columns((pl.col("Fan") * taken).alias("Fan Current (A)"))
    drive_ = car.logged(recorded(told))
    assert "LOG-39" in {one.rule for one in drive_.findings}
    right = car.logged(recorded(frame.with_columns((pl.col("Fan") * abs(known.amps)).alias("Fan Current (A)"))))
    assert "LOG-39" not in {one.rule for one in right.findings}
    why = car.why_logged(drive_)
    assert why is not None
    assert why.faults > 50
    assert known.wire in named_first(why), "the wire that the bad joint was put into"


def test_where_currents_disagree_a_clamp_round_that_wire_is_handed_on() -> None:
    fan = NetworkAmps(amps=-11.0, wire="W7", state="key=run, engine=idle, coolant_c=95")
    supply = SupplyVolts(point="ECU.A1", crank_v=None, idle_v=None, fan=lambda _: fan)
    frame = made(Plan(seed=5, minutes=6.0, warm_from_c=88.0)).drop("Lambda", "Lambda Target")
    told = frame.with_columns((pl.col("Fan") * 5.0).alias("Fan Current (A)"))
    judged_drive = judged(recorded(told), Mapped(), supply=supply)
    [reading] = logged_readings(judged_drive, supply)
    cells = reading_cells(reading)
    assert (cells["point"], cells["measure"], cells["value"], cells["note"]) == ("W7", "clamp", "-5", "LOG-39")
    assert cells["when"] == "key=run, engine=idle, coolant_c=95"
    assert logged_readings(judged_drive, None) == (reading,)


def test_a_job_gives_its_fan_s_current_at_the_coolant_it_is_on_at() -> None:
    car = Car(open_folder(example_folder("tourer")))
    supply = car.supply_volts
    assert supply is not None
    assert supply.fan is not None
    fan = supply.fan(95.0)
    assert fan is not None
    assert (fan.wire, fan.state) == ("WE15", "key=run, engine=idle, coolant_c=95")
    assert fan.amps == pytest.approx(11.0, rel=0.05), "11 A is typed of the fan, at 13.5 V or so"
    cold = supply.fan(60.0)
    assert cold is not None
    assert "coolant_c=104" in cold.state, "the contact is open at 60 °C: asked where it is shut"
    assert supply.battery is not None
    assert supply.battery.wire == "", "two leads share it"
    assert supply.battery.amps > 0.0


def test_the_dyno_counts_the_newest_drive_that_says_anything() -> None:
    car = Car(briefed({"cylinders": "1", "gearbox": "shifted by hand"}).job)
    told = car.logged(recorded(drive(10.0)))
    silent = car.logged(recorded(drive(10.0).drop("Battery (V)")))
    charging = {one.name: one for one in car.dyno(silent, "new", [("old", told)]).criteria}["charging"]
    assert charging.met
    assert charging.record.startswith("old")
    assert not {one.name: one for one in car.dyno(silent, "new").criteria}["charging"].met
