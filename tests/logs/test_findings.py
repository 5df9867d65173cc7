"""Each fault planted in a clean drive is told, and nothing else is; a clean drive tells nothing."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import polars as pl
import pytest

from loomwright.job.rows import Gate
from loomwright.logs.beside import SupplyVolts
from loomwright.logs.channels import recognised
from loomwright.logs.drive import drive_of
from loomwright.logs.dyno import readiness
from loomwright.logs.judged import Judged, judged
from loomwright.logs.limits import limits_with
from loomwright.logs.mapping import Mapped
from loomwright.logs.starts import starts_of
from loomwright.refusals import OutOfReach
from loomwright.tables.load import read_toml
from tests.logs.drive import Plan, made
from tests.logs.reading import recorded

T = pl.col("Time (s)")


@pytest.fixture(scope="module")
def clean() -> pl.DataFrame:
    """A drive with nothing wrong."""
    return made(Plan(seed=5, minutes=6.5))


def rules(frame: pl.DataFrame, supply: SupplyVolts | None = None, mapped: Mapped | None = None) -> set[str]:
    """The rules that a drive breaks."""
    return {finding.rule for finding in judged(recorded(frame), mapped or Mapped(), supply=supply).findings}


def put(column: str, first_s: float, last_s: float, value: float) -> Callable[[pl.DataFrame], pl.DataFrame]:
    """One column held at a figure for a while."""
    there = T.is_between(first_s, last_s)
    return lambda frame: frame.with_columns(pl.when(there).then(value).otherwise(pl.col(column)).alias(column))


def under_load(frame: pl.DataFrame) -> pl.DataFrame:
    lean = (pl.col("MAP (kPa)") > 82.0) & (T > 200.0)
    return frame.with_columns(pl.when(lean).then(1.18).otherwise(pl.col("Lambda")).alias("Lambda"))


def spikes(frame: pl.DataFrame) -> pl.DataFrame:
    figures = frame["TPS (%)"].to_numpy().copy()
    figures[3000:5000:200] = 95.0
    return frame.with_columns(pl.Series("TPS (%)", figures))


def hunting(frame: pl.DataFrame) -> pl.DataFrame:
    t = frame["Time (s)"].to_numpy()
    idles = (frame["TPS (%)"].to_numpy() < 2.0) & (frame["RPM"].to_numpy() > 400.0)
    rpm = frame["RPM"].to_numpy() + np.where(idles, 120.0 * np.sin(2.0 * t), 0.0)
    return frame.with_columns(pl.Series("RPM", rpm))


FAULTS = {
    "LOG-30": hunting,
    "LOG-32": put("Battery (V)", 60.0, 500.0, 12.3),
    "LOG-33": put("CLT (°C)", 300.0, 310.0, 109.0),
    "LOG-35": put("Oil Pressure (kPa)", 250.0, 256.0, 30.0),
    "LOG-36": put("Oil Pressure (kPa)", 0.0, 40.0, 10.0),
    "LOG-40": under_load,
    "LOG-41": put("RPM", 300.0, 300.4, 7100.0),
    "LOG-42": put("Knock Count", 350.0, 500.0, 3.0),
    "LOG-50": put("CLT (°C)", 220.0, 230.0, -60.0),
    "LOG-51": spikes,
    "LOG-52": put("MAP (kPa)", 0.0, 5.9, 55.0),
    "LOG-53": put("Battery (V)", -1.0, 500.0, 14.0),
}


def test_a_clean_drive_tells_nothing(clean):
    assert rules(clean) == set()


@pytest.mark.long
@pytest.mark.parametrize("seed", range(10, 22))
def test_no_clean_drive_tells_anything(seed):
    assert rules(made(Plan(seed=seed, minutes=12.0))) == set()


ALONE = ("LOG-32", "LOG-33", "LOG-36", "LOG-42", "LOG-51", "LOG-52", "LOG-53")  # faults that bring no other about


@pytest.mark.parametrize("rule", FAULTS)
def test_a_planted_fault_is_told_with_a_mend_and_no_other_is_invented(clean, rule):
    findings = judged(recorded(FAULTS[rule](clean)), Mapped()).findings
    found = {finding.rule for finding in findings}
    assert rule in found
    assert rule not in ALONE or found == {rule}
    assert all(len(finding.mend) > 20 for finding in findings)


def test_the_start_is_found_with_its_figures(clean):
    recording = recorded(clean)
    (start,) = starts_of(drive_of(recording, recognised(recording.columns)), limits_with({}))
    assert start.at_s == pytest.approx(6.0, abs=0.06)
    assert start.crank_s == pytest.approx(1.2, abs=0.1)
    assert start.crank_rpm == pytest.approx(210.0, abs=1.0)
    assert start.least_v == pytest.approx(10.5, abs=0.15)
    assert start.took


def test_a_start_that_does_not_take_and_a_weak_starter_are_told(clean):
    begun = clean.filter(T < 7.1)
    assert rules(begun) == {"LOG-10"}
    slow = begun.with_columns((pl.col("RPM") * 0.5).alias("RPM"))
    assert rules(slow) == {"LOG-10", "LOG-11"}


@pytest.mark.parametrize(("predicted_v", "found"), [(10.7, set()), (11.5, {"LOG-12"})])
def test_a_dip_is_held_against_what_the_network_says(clean, predicted_v, found):
    assert rules(clean, SupplyVolts(point="ECU.A1", crank_v=predicted_v, idle_v=13.9)) == found


def test_an_idle_dip_is_held_against_what_the_network_says(clean):
    dipped = put("Battery (V)", 300.0, 301.0, 12.4)(clean)
    assert rules(dipped, SupplyVolts(point="ECU.A1", crank_v=None, idle_v=13.9)) == {"LOG-38"}


def test_a_typed_limit_counts(clean):
    assert rules(clean, mapped=Mapped(limits={"limit_rpm": 3000.0})) == {"LOG-41"}
    with pytest.raises(OutOfReach):
        limits_with({"limit_rpm": 50.0})
    with pytest.raises(OutOfReach):
        limits_with({"limits": 50.0})


@pytest.fixture(scope="module")
def drive(clean) -> Judged:
    """The clean drive, judged."""
    return judged(recorded(clean), Mapped())


def gates(*names: str, verdict: str = "passed", reason: str = "") -> tuple[Gate, ...]:
    """Gates of these names."""
    return tuple(Gate(gate=name, stage="calibrate", verdict=verdict, reason=reason) for name in names)


ALL = [row["words"][0] for row in read_toml("dyno", "criteria").values() if "words" in row]


def test_nothing_is_met_without_a_record():
    ready = readiness(None, (), ())
    assert len(ready.left) == len(ready.criteria) >= 14
    assert ready.certificate == ""
    assert all(one.open_why for one in ready.left)


def test_a_drive_meets_what_it_recorded_and_no_more(drive):
    met = {one.name for one in readiness(drive, (), ()).criteria if one.met}
    assert {"charging", "oil", "lean"} <= met
    assert not met & {"timing", "leaks", "tyres", "cuts"}


def test_the_certificate_comes_only_when_all_is_met(drive):
    ready = readiness(drive, gates(*ALL), ())
    left = {one.name for one in ready.left}
    assert left <= {"mixture", "cooling"}
    assert bool(ready.certificate) is (not left)
    assert readiness(drive, gates(*ALL[1:]), ()).certificate == ""


def test_a_gate_that_failed_or_was_waived_without_a_reason_meets_nothing():
    for gate in (gates("base timing", verdict="failed"), gates("base timing", verdict="waived")):
        assert not readiness(None, gate, ()).criteria[0].met
    waived = readiness(None, gates("base timing", verdict="waived", reason="owner's dyno does it"), ())
    assert waived.criteria[0].met
    assert "owner's dyno" in waived.criteria[0].record


def test_a_gate_that_failed_after_it_passed_is_open_again():
    twice = (*gates("base timing"), *gates("base timing", verdict="failed"))
    assert not readiness(None, twice, ()).criteria[0].met
    assert readiness(None, tuple(reversed(twice)), ()).criteria[0].met


def test_what_a_drive_found_opens_a_criterion_whatever_the_gate_says(clean):
    bad = judged(recorded(FAULTS["LOG-35"](clean)), Mapped())
    oil = next(one for one in readiness(bad, gates("oil pressure"), ()).criteria if one.name == "oil")
    assert not oil.met
    assert "LOG-35" in oil.open_why
