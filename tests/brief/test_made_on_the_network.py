"""What the brief and the recipes make is held by the network: no fault, whatever recipe is added."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loomwright.brief.adding import added
from loomwright.brief.brief import briefed
from loomwright.brief.recipe import load_recipes, recipe_called
from loomwright.car import Car
from loomwright.findings import Finding, says
from loomwright.trials.accepting import accepting

LATE = {
    "electric_throttle": "yes", "knock": "1", "oxygen": "wideband, with its box", "oil_pressure": "yes",
    "fan_speeds": "2", "isolator": "yes", "crash_switch": "yes", "range": "yes", "programme": "yes", "bus": "yes",
    "tacho": "yes", "kept_instruments": "yes", "air_conditioning": "yes", "immobiliser": "yes",
}  # fmt: skip
"""What a later engine brings, all of it at once."""
BY_HAND = {"cylinders": "6", "coils": "one coil a pair", "gearbox": "shifted by hand", "horn": "yes", "radio": "yes"}
MADE_ANYWAY = {"car_outline", "supply", "starter", "charging", "key", "controller", "selector", "starter_relay"}
"""Recipes that a car has once, and that the brief makes."""
ANSWERS = {
    "fan_on_relay": {"place": "radiator", "feed": "BUS1", "coil_feed": "SPR"},
    "fan_on_thermo_switch": {"place": "radiator", "feed": "BUS1", "coil_feed": "F15"},
    "injector": {"place": "engine_top", "feed": "SPI"},
    "coil_with_igniter": {"place": "engine_top", "feed": "SPC", "earth": "EC"},
    "temperature_sensor": {"place": "engine_top", "sensor_earth": "SPE"},
    "position_sensor": {"place": "engine_top", "five": "SP5", "sensor_earth": "SPE"},
    "hall_sensor": {"place": "gearbox", "feed": "FECU", "sensor_earth": "SPE"},
    "gear_solenoid": {"place": "gearbox", "feed": "SPG"},
    "brake_lamps": {"left_place": "rear_left", "right_place": "rear_right", "switch_place": "pedals", "feed": "BUS1"},
    "horn_on_relay": {"place": "nose_left", "ring_place": "column", "feed": "BUS1"},
    "heater_on_relay": {"place": "rear_left", "switch_place": "dash", "feed": "BUS1", "coil_feed": "F15"},
    "fused_load": {"place": "dash", "box": "panel", "feed": "F15", "live": "15", "earth": "EB"},
    "lamp_switched_in_feed": {"place": "nose_left", "switch_place": "dash", "feed": "F15"},
    "lamp_switched_in_earth": {"place": "dash", "switch_place": "pedals", "feed": "BUS1", "earth": "EB"},
    "idle_valve": {"place": "engine_top", "feed": "SPI"},
    "idle_valve_three": {"place": "engine_top", "feed": "SPI"},
    "idle_stepper": {"place": "engine_top"},
    "manifold_sensor": {"place": "engine_top", "five": "SP5", "sensor_earth": "SPE"},
    "oil_lamp": {"place": "dash", "switch_place": "engine_low", "feed": "F15"},
    "fuel_gauge": {"place": "dash", "sender_place": "tank", "feed": "F15"},
    "temperature_gauge": {"place": "dash", "sender_place": "engine_top", "feed": "F15"},
    "second_five": {"place": "engine_top"},
    "electric_throttle": {"place": "engine_top", "five": "SP5", "five_second": "SP5", "sensor_earth": "SPE"},
    "accelerator_pedal": {
        "place": "pedals",
        "five": "SP5",
        "five_second": "SP5",
        "earth_one": "SPE",
        "earth_two": "SPE",
    },
    "knock_sensor": {"place": "engine_low"},
    "oxygen_wideband": {"place": "engine_top", "feed": "BUSM", "earth": "EC", "sensor_earth": "SPE"},
    "oxygen_narrow": {"place": "engine_top", "feed": "BUSM", "earth": "EC", "sensor_earth": "SPE"},
    "air_conditioning": {
        "place": "engine_low",
        "switch_place": "dash",
        "feed": "BUS1",
        "coil_feed": "SPR",
        "switch_earth": "EB",
    },
    "data_bus": {"place": "gearbox"},
    "programme_switch": {"place": "dash", "earth": "EB"},
    "fan_two_stage": {
        "place": "radiator",
        "feed": "BUS1",
        "feed_high": "BUS1",
        "coil_feed": "SPR",
        "coil_feed_high": "SPR",
    },
    "tacho": {"place": "dash", "feed": "F15", "earth": "EB"},
    "kept_instruments": {"place": "dash", "feed": "F15"},
    "driving_lamps_on_relay": {
        "left_place": "nose_left",
        "right_place": "nose_right",
        "switch_place": "dash",
        "feed": "BUS1",
        "main_beam": "F15",
    },
    "turn_sense_round": {"place": "box", "switched": "F15"},
    "range_to_controller": {"earth": "ES"},
}
THINNEST_50_MM2 = 2.5
"""What is laid to a starter's terminal 50 at least; common practice, no source. [mm2]"""
SAMPLE = ("fan_on_thermo_switch", "turn_sense_round")
"""Recipes that are tried in every run; the others in the long one."""


def faults_of(car: Car) -> list[str]:
    return [says(finding) for finding in car.check().findings if finding.severity == "fault"]


@pytest.mark.parametrize(
    "given",
    [
        {},
        {"isolator": "yes", "battery_place": "rear_left", "immobiliser": "yes"},
        pytest.param(BY_HAND, marks=pytest.mark.long),
        pytest.param(LATE, marks=pytest.mark.long),
    ],
    ids=[
        "usual answers",
        "a battery in the rear behind its isolator",
        "six cylinders shifted by hand",
        "a later engine",
    ],
)
def test_the_car_a_brief_makes_has_no_fault_once_it_is_worked_out(given: dict[str, str]) -> None:
    car = Car(briefed(given).job)
    assert car.allocated().status == "fits"
    made = car.worked_out()
    assert faults_of(made) == []
    (lead,) = (wire for wire in made.scene.job.wires if "STR.50" in (wire.from_, wire.to))
    assert lead.size_mm2 is not None
    assert lead.size_mm2 >= THINNEST_50_MM2


@pytest.fixture(scope="module")
def before() -> tuple[Car, tuple[Finding, ...]]:
    """A small car with an automatic gearbox and what is found in it."""
    car = Car(briefed({"cylinders": "1"}).job)
    return car, car.worked_out().check().findings


@pytest.mark.parametrize("name", SAMPLE)
def test_a_recipe_added_to_it_brings_no_new_fault(before: tuple[Car, tuple[Finding, ...]], name: str) -> None:
    car, findings = before
    made = added(car.job, recipe_called(name), ANSWERS[name])
    verdict = accepting(findings, Car(made.job).worked_out().check().findings)
    assert verdict.holds, [says(finding) for finding in verdict.new]


@pytest.mark.long
def test_range_lines_want_a_selector_that_codes_its_ranges(before: tuple[Car, tuple[Finding, ...]]) -> None:
    car, findings = before
    coded = [
        replace(part, settings={**part.settings, "range_coded": "yes"}) if part.kind == "selector_switch" else part
        for part in car.job.parts
    ]
    told = []
    for job in (car.job, replace(car.job, parts=tuple(coded))):
        made = added(job, recipe_called("range_to_controller"), ANSWERS["range_to_controller"])
        told.append([one.rule for one in accepting(findings, Car(made.job).worked_out().check().findings).new])
    assert told == [["SGN-4"], []]


@pytest.mark.long
@pytest.mark.parametrize("name", sorted(set(ANSWERS) - set(SAMPLE) - {"range_to_controller"}))
def test_any_recipe_added_to_it_brings_no_new_fault(before: tuple[Car, tuple[Finding, ...]], name: str) -> None:
    test_a_recipe_added_to_it_brings_no_new_fault(before, name)


def test_every_recipe_is_tried_on_the_network_or_made_by_the_brief() -> None:
    briefs = {each.recipe.id for given in ({}, BY_HAND, LATE) for each in briefed(given).made}
    assert set(load_recipes()) - set(ANSWERS) - briefs - MADE_ANYWAY == set()


def test_a_recipe_fed_from_the_wrong_place_is_found_out(before: tuple[Car, tuple[Finding, ...]]) -> None:
    car, findings = before
    wrong = {**ANSWERS["fused_load"], "feed": "SPE"}
    made = added(car.job, recipe_called("fused_load"), wrong)
    verdict = accepting(findings, Car(made.job).worked_out().check().findings)
    assert not verdict.holds, "fed from the sensor earth"
