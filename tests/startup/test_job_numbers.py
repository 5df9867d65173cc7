"""What the network gives at the controller and at a coil: each measured as it is met there."""

from __future__ import annotations

import pytest

from loomwright.job.edits import add_row
from loomwright.job.reading import job_from_text
from loomwright.startup.job_numbers import said_of, supplies_of
from tests.handover.van import wire

# the engine stands half a volt above the battery's post while it is cranked
POINTS_V = {
    "ECU.A1": 11.6, "ECU.A2": 0.55, "COIL1.supply": 11.5, "COIL1.earth": 0.54, "COIL1.15": 11.5, "": 0.0,
}  # fmt: skip


def volts(a, b, _state):
    return POINTS_V[a] - POINTS_V[b]


def car(kind, *more):
    return job_from_text(
        {
            "circuits": [{"id": "c", "class": "ignition"}],
            "parts": [
                {"id": "BAT", "kind": "battery"},
                {"id": "ECU", "kind": "controller"},
                {"id": "COIL1", "kind": kind},
            ],
            "controller_pins": [
                {"id": "A1", "part": "ECU", "terminal": "A1", "abilities": "supply"},
                {"id": "A2", "part": "ECU", "terminal": "A2", "abilities": "power_earth"},
            ],
            "wires": [wire("W1", "BAT.+", "ECU.A1", "c"), *more],
        }
    )


EARTHED = wire("W2", "ECU.A2", "engine", "c")


def test_a_risen_engine_earth_is_no_loss_in_the_wires_to_a_coil_that_is_earthed_there():
    found = supplies_of(car("coil_with_igniter", EARTHED), volts)[0]
    assert found.controller_v == pytest.approx(11.05)
    assert found.coil_v == pytest.approx(10.96)


def test_a_coil_that_the_controller_earths_is_measured_to_the_controllers_earth():
    found = supplies_of(car("coil_plain", EARTHED), volts)[0]
    assert (found.controller_v, found.coil_v) == (pytest.approx(11.05), pytest.approx(10.95))


def test_a_controller_without_a_wired_earth_is_measured_to_the_post():
    found = supplies_of(car("coil_plain"), volts)[0]
    assert (found.controller_v, found.coil_v) == (11.6, 11.5)


@pytest.mark.parametrize(("lost_v", "is_past"), [(0.39, True), (0.41, False), (3.0, False)])
def test_a_ballast_is_bridged_on_the_starter_where_less_than_four_tenths_of_a_volt_are_lost_in_it(lost_v, is_past):
    """A contact and its wires lose less than 0.4 V, a ballast that carries the coil alone some volts."""
    with_ballast = job_from_text(
        {
            "circuits": [{"id": "c", "class": "ignition"}],
            "parts": [
                {"id": "BAT", "kind": "battery"},
                {"id": "ECU", "kind": "controller"},
                {"id": "COIL1", "kind": "coil_plain"},
                {"id": "BAL", "kind": "ballast"},
            ],
            "controller_pins": [
                {"id": "A1", "part": "ECU", "terminal": "A1", "abilities": "supply"},
                {"id": "A2", "part": "ECU", "terminal": "A2", "abilities": "power_earth"},
            ],
            "wires": [wire("W1", "BAT.+", "ECU.A1", "c"), EARTHED],
        }
    )
    at = {"BAL.15": 11.5, "COIL1.15": 11.5 - lost_v, "ECU.A1": 11.6, "ECU.A2": 0.55}
    supplies = supplies_of(with_ballast, lambda a, b, _state: at[a] - at[b])
    cranking = next(one for one in supplies if "key=start" in one.state)
    others = [one for one in supplies if "key=start" not in one.state]
    assert (cranking.bypass_v is not None) == is_past
    assert cranking.coil_v == pytest.approx((11.5 - lost_v if is_past else 11.5) - 0.55)
    assert others
    assert all(one.bypass_v is None for one in others), "the starter alone bridges it"


@pytest.mark.parametrize(
    ("kinds", "fans"), [(["injector"], 0), (["injector", "fan_2speed", "fan"], 3), (["fan"], 1), (["lamp"], None)]
)
def test_an_engine_without_a_fan_has_no_point_for_one(kinds, fans):
    parts = [{"id": f"P{number}", "kind": kind} for number, kind in enumerate(["battery", *kinds])]
    assert said_of(job_from_text({"parts": parts})).get("fans") == fans


def engine_job(kinds, injectors, **vehicle):
    """A job of some coils and injectors, by kind and count, with rows of the sheet `vehicle`."""
    job = car("relay")
    counted = {**kinds, "injector": injectors}
    for kind, count in counted.items():
        for n in range(count):
            job = add_row(job, "parts", {"id": f"{kind.upper()}{n}", "kind": kind})
    for name, value in vehicle.items():
        job = add_row(job, "vehicle", {"name": name, "value": value})
    return job


def test_eight_cylinders_behind_four_injectors_are_eight():
    two = engine_job({"coil_plain": 1}, 4, firing_order="1-8-4-3-6-5-7-2")
    assert (said_of(two)["cylinders"], said_of(two)["injectors"]) == (8, 4)
    assert said_of(engine_job({"coil_plain": 1}, 4))["cylinders"] == 4, "nobody says the order"
    assert said_of(engine_job({}, 4, firing_order="1-3-4-2", cylinders="4"))["cylinders"] == "4"


@pytest.mark.parametrize(
    ("coils", "told", "pairs"),
    [
        ({"coil_twin": 2}, {}, "one a pair"),
        ({"coil_with_igniter": 2}, {}, "one a pair"),
        ({"coil_plain": 4}, {}, None),
        ({"coil_twin": 2}, {"coils": "one a cylinder"}, "one a cylinder"),
    ],
)
def test_coils_that_fire_pairs_are_charged_for_pairs(coils, told, pairs):
    assert said_of(engine_job(coils, 4, **told)).get("coils") == pairs
