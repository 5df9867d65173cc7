"""Alternator, battery and starter in a car: excitation, limits, charge, cranking."""

from __future__ import annotations

import pytest

from loomwright.network.records import Changes
from tests.network.cars import compiled, job, solved

RUN = {"key": "run", "engine": "running"}
IDLE = {"key": "run", "engine": "idle"}
OFF_TURNING = {"key": "off", "engine": "running"}

ALTERNATOR = "alternator; setpoint_v=14.2; max_a=65; idle_output_a=30; trio_a=5; field_ohm=4"


def charging(lamp: str = "lamp; watt=2.2", alternator: str = ALTERNATOR, *more: str, **parts: str):  # type: ignore[no-untyped-def]
    """A car with a charge lamp from the key to D+, the alternator's case on the battery's earthed post."""
    return job(
        {"ALT": alternator, "KEY": "key_switch", "CL": lamp, **parts},
        [
            "W1 BAT.+ ALT.B+", "W2 BAT.+ KEY.30", "W3 KEY.15 CL.1", "W4 CL.2 ALT.D+", "W5 BAT.- engine",
            "W6 BAT.- body", *more,
        ],
    )  # fmt: skip


def test_a_charge_lamp_wakes_the_alternator():
    answer = solved(charging(), IDLE)
    # D+ is fed by the trio: setpoint less what the 5 mohm regulation and the 0.1 ohm of the trio take
    output_a = -answer.amps["ALT.output"]
    assert answer.volts["ALT.B+"] - answer.volts["ALT.case"] == pytest.approx(14.2 - 0.005 * output_a, abs=1e-3)
    assert answer.volts["ALT.D+"] > 13.5
    assert abs(answer.amps["CL.filament"]) < 0.03, "the lamp is out: both ends live"


@pytest.mark.parametrize("lamp", ["led_lamp; watt=0.2", "lamp; watt=0.5"])
def test_too_little_current_leaves_it_asleep(lamp):
    parts = {"ALT": ALTERNATOR, "KEY": "key_switch", "CL": lamp}
    ends = ("+", "-") if lamp.startswith("led") else ("1", "2")
    car = job(
        parts,
        [
            "W1 BAT.+ ALT.B+", "W2 BAT.+ KEY.30", f"W3 KEY.15 CL.{ends[0]}", f"W4 CL.{ends[1]} ALT.D+",
            "W5 BAT.- engine", "W6 BAT.- body",
        ],
    )  # fmt: skip
    # 80 mA wake it; half a watt at 12 V is 42 mA
    answer = solved(car, IDLE)
    assert answer.amps["ALT.output"] == 0.0
    assert answer.volts["BAT.+"] < 12.6


def test_once_awake_it_stays_awake_without_the_key():
    answer = solved(charging(), OFF_TURNING)
    assert answer.volts["ALT.B+"] > 14.0
    assert answer.volts["ALT.D+"] > 13.5
    asleep = solved(charging(), {"key": "off", "engine": "running"}, before={"key": "off", "engine": "stopped"})
    assert asleep.amps["ALT.output"] == 0.0


def test_standing_still_d_plus_is_a_path_to_earth():
    answer = solved(charging(), {"key": "run"})
    # 2.2 W at 12 V is 0.1833 A; behind 4 ohm of field it has 12.6 - 0.73 = 11.87 V: 0.1833 (11.87 / 12)^0.55
    assert answer.amps["CL.filament"] == pytest.approx(0.1822, abs=0.0005)
    assert answer.volts["ALT.D+"] == pytest.approx(4.0 * answer.amps["CL.filament"], rel=0.01)
    assert answer.amps["ALT.output"] == 0.0


@pytest.mark.parametrize(("engine", "limit_a"), [("idle", 30.0), ("running", 65.0)])
def test_it_gives_no_more_than_its_limit(engine, limit_a):
    heater = {"H": "heater; ohm=0.15"}
    car = charging("lamp; watt=2.2", ALTERNATOR, "W7 BAT.+ H.1", "W8 H.2 body", **heater)
    answer = solved(car, {"key": "run", "engine": engine})
    # about 80 A are asked: the battery must give the rest, so it lies below its 12.6 V
    assert -answer.amps["ALT.output"] == pytest.approx(limit_a, abs=0.01)
    assert answer.volts["BAT.+"] < 12.6
    assert answer.amps["H.heater_ohm"] > limit_a


def test_within_its_limit_it_holds_its_volts():
    car = charging("lamp; watt=2.2", ALTERNATOR, "W7 BAT.+ H.1", "W8 H.2 body", H="heater; ohm=1")
    answer = solved(car, RUN)
    assert 14.0 < answer.volts["ALT.B+"] - answer.volts["ALT.case"] < 14.2
    assert -answer.amps["ALT.output"] < 65.0


def test_it_takes_nothing_back():
    # set below the battery: next to nothing flows, and that into it
    answer = solved(charging(alternator="alternator; setpoint_v=11; trio_a=5"), RUN)
    assert 0.0 < answer.amps["ALT.output"] < 0.003


@pytest.mark.parametrize("battery", ["full", "flat", "cold_weak", "absent", "jump"])
def test_it_runs_with_any_battery(battery):
    answer = solved(charging(), {**RUN, "battery": battery}, before={**RUN, "battery": "full"})
    assert 12.4 < answer.volts["BAT.+"] < 14.3
    assert not answer.collapsed


def test_a_battery_takes_charge_above_its_charge_volts():
    answer = solved(charging(), RUN)
    # 13.0 V and ten times its 8 mohm behind them
    assert answer.amps["BAT.cells"] == pytest.approx((answer.volts["BAT.+"] - 13.0) / 0.080, rel=0.01)


@pytest.mark.parametrize(
    ("battery", "emf_v", "ohm"),
    [("full", 12.6, 0.008), ("flat", 11.8, 0.020), ("cold_weak", 11.5, 0.032), ("jump", 12.6, 0.008 * 0.018 / 0.026)],
)
def test_a_battery_gives_from_its_emf_through_its_ohms(battery, emf_v, ohm):
    car = job({"H": "heater; ohm=0.5"}, ["W1 BAT.+ H.1", "W2 H.2 BAT.-", "W3 BAT.- body"])
    answer = solved(car, {"battery": battery})
    # two wires of 1.6 mohm
    assert -answer.amps["BAT.cells"] == pytest.approx(emf_v / (ohm + 0.5 + 0.0032), rel=1e-3)


def test_without_a_battery_all_is_dead():
    car = job({"H": "heater; ohm=0.5"}, ["W1 BAT.+ H.1", "W2 H.2 BAT.-", "W3 BAT.- body"])
    answer = solved(car, {"battery": "absent"})
    assert answer.amps["H.heater_ohm"] == pytest.approx(0.0, abs=1e-9)
    assert answer.volts["BAT.+"] == pytest.approx(0.0, abs=1e-9)


STARTER = "starter; running_a=160; stall_a=450; pull_ohm=0.3; hold_ohm=1"


def starting(starter: str = STARTER):  # type: ignore[no-untyped-def]
    """A car whose starter is fed from its key."""
    return job(
        {"STR": starter, "KEY": "key_switch"},
        [
            "W1 BAT.+ STR.30 35 mm2 1", "W2 BAT.+ KEY.30", "W3 KEY.50 STR.50", "W4 BAT.- engine 35 mm2 1",
            "W5 BAT.- body",
        ],
    )  # fmt: skip


def test_a_starter_goes_in_and_draws_its_cranking_amps():
    answer = solved(starting(), {"key": "start", "engine": "cranking"})
    assert answer.relays["STR"] == "pulled"
    assert answer.amps["STR.motor"] == pytest.approx(160.0, rel=0.01)
    # 160 A and the winding through 8 mohm of battery
    assert answer.volts["BAT.+"] == pytest.approx(12.6 - 0.008 * (160.0 + answer.amps["STR.hold"]), abs=0.1)


def test_a_starter_held_fast_draws_its_stalled_amps():
    answer = solved(starting(), {"key": "start"})
    across = answer.volts["STR.M"] - answer.volts["STR.case"]
    assert answer.amps["STR.motor"] == pytest.approx(across / (12.0 / 450.0), rel=1e-3)
    assert answer.volts["BAT.+"] < 10.0


def test_a_starter_without_its_earth_does_not_go_in():
    answer = solved(starting(), {"key": "start"}, changes=Changes(opened=("W4",)))
    assert answer.relays["STR"] == "released"
    assert answer.amps["STR.motor"] == pytest.approx(0.0, abs=1e-9)


def test_its_pull_winding_carries_until_the_main_contact_bridges_it():
    made = starting()
    answer = solved(made, {"key": "start", "engine": "cranking"})
    assert abs(answer.amps["STR.pull"]) < 3.0, "both its ends are live"
    device = compiled(made).device_of
    assert "STR.hold" in device


def test_a_spun_starter_on_a_running_engine_draws_lightly():
    answer = solved(starting(), {"key": "start", "engine": "running"})
    assert answer.amps["STR.motor"] == pytest.approx(0.4 * 160.0, rel=0.01)
