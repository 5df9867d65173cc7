"""Every failure mode of the list is caught by the network, or the list says where else, and why not here."""

from __future__ import annotations

import csv
from collections import Counter
from collections.abc import Iterable
from pathlib import Path

import pytest

from loomwright.car import Car
from loomwright.findings import Finding
from tests.failure_modes import (
    charging_and_battery,
    controller,
    fuel_and_fan,
    key_and_stop,
    lights,
    power_and_earth,
    relays,
    sensors_and_signals,
)
from tests.failure_modes.scenario import NO_SOURCE, Rows, Scenario, edited, job_of
from tests.failure_modes.sound_cars import SMALL

FAMILIES = (
    power_and_earth,
    relays,
    key_and_stop,
    fuel_and_fan,
    sensors_and_signals,
    controller,
    lights,
    charging_and_battery,
)
SCENARIOS: tuple[Scenario, ...] = tuple(one for family in FAMILIES for one in family.SCENARIOS)
HOW_MANY = 70
ELSEWHERE = ("proving", "survey", "workmanship", "allocation", "calibration", "not_caught_yet")
"""Where a mode is caught that no network shows; those after the first are rooms that are not built yet."""

_HERE = Path(__file__).parent
_SOURCES = _HERE.parents[1] / "src" / "loomwright" / "tables" / "sources.csv"


def read(path: Path) -> list[dict[str, str]]:
    """The rows of a table."""
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


MODES = read(_HERE / "modes.csv")
_known: dict[int, tuple[Rows, tuple[Finding, ...]]] = {}


def told(rows: Rows) -> tuple[Finding, ...]:
    """What every rule finds in a job; a sound car that several scenarios share is worked out once."""
    if id(rows) not in _known:
        _known[id(rows)] = (rows, Car(job_of(rows)).findings())
    return _known[id(rows)][1]


def places(findings: Iterable[Finding]) -> Counter[tuple[str, str, str]]:
    """Severity, rule and first place of findings."""
    return Counter((one.severity, one.rule, one.at[0] if one.at else "") for one in findings)


def graver(findings: Iterable[Finding]) -> list[Finding]:
    """Those that are more than a note."""
    return [one for one in findings if one.severity != "note"]


def named(scenario: Scenario) -> str:
    """The name of a scenario's test."""
    return f"{scenario.number:02d} {scenario.title}"


@pytest.mark.parametrize("scenario", SCENARIOS, ids=named)
def test_the_sound_car_has_neither_fault_nor_warning(scenario: Scenario):
    assert places(graver(told(scenario.sound))) == Counter()


@pytest.mark.parametrize("scenario", SCENARIOS, ids=named)
def test_the_one_mistake_is_told_at_its_place_and_nothing_stands_beside_it(scenario: Scenario):
    found = told(scenario.wrong)
    new = places(found) - places(told(scenario.sound))
    assert new[(scenario.severity, scenario.rule, scenario.at)] >= 1, new
    roots = {(one.rule, one.at[0]) for one in graver(found)}
    expected = set(scenario.beside)
    if scenario.severity != "note":
        expected.add((scenario.rule, scenario.at))
    assert roots == expected


@pytest.mark.parametrize("scenario", [one for one in SCENARIOS if one.folded], ids=named)
def test_what_follows_from_it_stands_folded_beneath_it(scenario: Scenario):
    (root,) = [one for one in told(scenario.wrong) if (one.rule, one.at[:1]) == (scenario.rule, (scenario.at,))]
    assert set(scenario.folded) <= {one.rule for one in root.folded}


def test_every_mode_of_the_list_is_a_scenario_or_says_where_it_is_caught_instead():
    numbers = [int(row["number"]) for row in MODES]
    assert len(numbers) == len(set(numbers)) == HOW_MANY
    assert numbers == sorted(numbers)
    shown = {scenario.number for scenario in SCENARIOS}
    assert {int(row["number"]) for row in MODES if row["caught"] == "network"} == shown
    rest = [row for row in MODES if row["caught"] != "network"]
    assert {row["caught"] for row in rest} <= set(ELSEWHERE)
    assert [row["number"] for row in rest if not row["why"]] == []


def test_every_scenario_names_a_source_that_there_is():
    keys = {row["key"] for row in read(_SOURCES)}
    marks = {scenario.mark for scenario in SCENARIOS} - {NO_SOURCE}
    assert marks <= keys


def test_a_row_that_is_not_there_cannot_be_edited():
    with pytest.raises(KeyError, match="W99"):
        edited(SMALL, without=["W99"])
