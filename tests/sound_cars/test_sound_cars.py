"""Ten sound cars of different eras and kinds: none has a fault, none more than twelve warnings, and each is its kind.

The sheets lie beside this file, a folder a car. What each is, and what was mended because of it, stands in
`docs/method/sound_cars.md`.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from loomwright.car import Car
from loomwright.findings import says
from loomwright.sheets.csv_folder import open_folder

MOST_WARNINGS = 12
KINDS = {
    "dynamo": ("dynamo", "control_box", "ammeter"),
    "earth_side": ("lamp_head", "switch_matrix", "igniter"),
    "twin_battery": ("battery", "relay", "alternator"),
    "wasted_spark": ("controller", "coil_twin", "sensor_vr"),
    "electric_throttle": ("throttle_electric", "pedal", "controller"),
    "isolator": ("isolator", "crash_switch", "fuel_pump"),
    "trailer": ("trailer_socket", "flasher_electronic"),
    "positive_earth": ("dynamo", "control_box", "coil_plain", "radio"),
    "twenty_four": ("battery", "alternator", "dc_dc"),
    "boundary": ("old_feed", "old_load", "old_switch", "controller"),
}
"""Car -> the part kinds that make it what it is."""
RUN = {"key": "run", "engine": "running"}


@cache
def the(name: str) -> Car:
    """One of the ten cars."""
    return Car(open_folder(Path(__file__).parent / name))


@pytest.mark.parametrize("name", KINDS)
def test_a_sound_car_has_no_fault_and_few_warnings(name):
    found = the(name).check().findings
    assert [says(one) for one in found if one.severity == "fault"] == []
    assert len([one for one in found if one.severity == "warning"]) <= MOST_WARNINGS


@pytest.mark.parametrize("name", KINDS)
def test_it_is_a_whole_car_of_its_kind_with_nothing_waived(name):
    car = the(name)
    assert 40 <= len(car.job.wires) <= 150
    assert {part.kind for part in car.job.parts} >= set(KINDS[name])
    assert not car.job.waived
    assert car.job.requirements
    named = {wire.circuit for wire in car.job.wires}
    assert named == {circuit.id for circuit in car.job.circuits}


def test_there_are_ten_and_no_folder_is_left_out():
    folders = {path.name for path in Path(__file__).parent.iterdir() if (path / "parts.csv").is_file()}
    assert folders == set(KINDS)
    assert len(KINDS) == 10


# the dynamo


def test_the_dynamo_charges_through_the_ammeter_and_the_lamp_goes_out():
    car = the("dynamo")
    standing, running = car.solve(key="run", lights="head"), car.solve(RUN, lights="head")
    # terminal 1 is the battery's side: out of the battery is a plus, as on the dial to the left
    assert standing.amps["AMM.movement"] > 8.0
    assert running.amps["AMM.movement"] < -2.0
    assert running.relays["CBX"] == "pulled"
    assert abs(running.amps["CHG.filament"]) < 0.04 < abs(standing.amps["CHG.filament"])


def test_a_wet_night_at_idle_is_asked_with_the_brake_pedal_up():
    [told] = [one for one in the("dynamo").check().findings if one.rule == "SUP-3"]
    assert dict(told.when) == {"key": "run", "engine": "idle", "lights": "head", "WSW": "on", "BSW": "on"}
    assert told.severity == "warning"


def test_a_charge_lamp_that_misses_the_dynamo_is_a_fault():
    # its wire on the body instead of D of the control box
    job = the("dynamo").job
    [lead] = [wire.id for wire in job.wires if (wire.from_, wire.to) == ("CHG.2", "CBX.D")]
    moved = replace(job, wires=tuple(replace(wire, to="EBT.1") if wire.id == lead else wire for wire in job.wires))
    told = [one for one in Car(moved).check().findings if one.rule == "LMP-4" and one.severity == "fault"]
    assert told
    assert told[0].at[0] == "CHG"


def test_the_starter_does_not_go_through_the_ammeter():
    found = the("dynamo").solve(key="start", engine="cranking")
    assert found.amps["STA.motor"] > 100.0
    assert abs(found.amps["AMM.movement"]) < 30.0


# switched on the earth side


def test_a_headlamp_lights_with_its_earth_closed_and_is_dark_with_it_open():
    car = the("earth_side")
    low = car.solve(RUN, lights="head", beam="low")
    high = car.solve(RUN, lights="head", beam="high")
    off = car.solve(RUN, lights="off", beam="low")
    assert low.amps["HLL.dip"] == pytest.approx(-4.6, abs=0.4)  # its common terminal, 31, is the fed one
    assert abs(low.amps["HLL.main"]) < 0.1
    assert high.amps["HLL.main"] == pytest.approx(-5.0, abs=0.5)
    assert abs(high.amps["HLL.dip"]) < 0.1
    assert abs(off.amps["HLL.dip"]) < 0.01


def test_a_load_that_waits_for_its_earth_is_live_at_both_ends():
    waiting = the("earth_side").solve(RUN)
    assert waiting.volts["HRN.-"] == pytest.approx(waiting.volts["HRN.+"], abs=0.01)
    assert waiting.volts["WIP.-"] > 13.0
    wiping = the("earth_side").solve(RUN, WSW="on")
    assert wiping.volts["WIP.-"] < 0.3
    assert wiping.amps["WIP.motor"] == pytest.approx(3.0, abs=0.3)


# two batteries side by side


def test_the_second_battery_is_charged_at_speed_and_left_alone_by_the_starter():
    car = the("twin_battery")
    running = car.solve(RUN, SFR="on")
    assert running.relays["KSP"] == "pulled"
    assert running.amps["BA2.cells"] > 2.0
    cranking = car.solve(key="start", engine="cranking", CLU="on", SFR="on")
    assert cranking.relays["KSP"] == "released"
    assert cranking.amps["BA2.cells"] == pytest.approx(-5.0, abs=0.1)  # the fridge only
    assert cranking.amps["BAT.cells"] < -120.0


# wasted spark


def test_each_coil_of_the_pack_is_earthed_by_the_controller_itself():
    found = the("wasted_spark").solve(RUN)
    assert found.amps["CPK.primary_a"] == pytest.approx(7.0, abs=0.3)
    assert found.amps["CPK.primary_b"] == pytest.approx(7.0, abs=0.3)
    assert the("wasted_spark").solve(key="run").amps["CPK.primary_a"] == pytest.approx(0.0, abs=0.01)


def test_the_crank_sensor_hangs_on_a_pair_with_its_screen_at_one_end():
    [cable] = the("wasted_spark").job.cables
    assert (cable.open_end, cable.drain_to.split(".")[0]) == ("CRK", "ECU")


# electric throttle


def test_the_kill_relay_parts_the_throttle_motor_when_the_controller_no_longer_trusts_it():
    car = the("electric_throttle")
    trusted, not_trusted = car.solve(RUN), car.solve(RUN, throttle_trust="no")
    assert trusted.relays["KTH"] == "pulled"
    assert abs(trusted.amps["ETC.motor"]) == pytest.approx(1.2, abs=0.2)
    assert not_trusted.relays["KTH"] == "released"
    assert not_trusted.amps["ETC.motor"] == pytest.approx(0.0, abs=1e-3)


def test_the_two_tracks_of_the_pedal_agree_two_to_one_on_two_supplies():
    found = the("electric_throttle").solve(RUN)
    first, second = (found.volts[f"PED.s{k}"] - found.volts[f"PED.e{k}"] for k in (1, 2))
    assert first == pytest.approx(2.0 * second, abs=0.05)
    assert first == pytest.approx(0.16 * 5.0, abs=0.05)


# isolator and crash switch


def test_the_isolator_stops_the_engine_and_takes_up_what_the_alternator_gives():
    car = the("isolator")
    found = car.solve({**RUN, "ISO": "off"}, before={**RUN, "ISO": "on"})
    assert found.relays["KMR"] == "released"
    assert found.amps["CO1.coil"] == pytest.approx(0.0, abs=1e-3)
    assert found.amps["ISO.bleed_resistor"] == pytest.approx(14.0 / 3.0, abs=0.3)
    standing = car.solve(key="run", ISO="off")
    assert standing.volts["BB.1"] == pytest.approx(0.0, abs=0.01)


def test_with_the_isolator_off_the_key_runs_no_starter_from_the_alternator():
    before = {"key": "run", "engine": "idle", "ISO": "on"}
    found = the("isolator").solve({"key": "start", "engine": "idle", "CLU": "on", "ISO": "off"}, before=before)
    assert found.relays["STA"] == "released"
    assert found.amps["STA.motor"] == pytest.approx(0.0, abs=1e-3)


def test_the_crash_switch_stops_the_pump():
    car = the("isolator")
    assert car.solve(RUN).amps["PMP.motor"] == pytest.approx(6.5, abs=0.5)
    assert car.solve(RUN, CRS="tripped").amps["PMP.motor"] == pytest.approx(0.0, abs=1e-3)


# the trailer


def test_the_trailers_lamps_follow_the_pickups():
    car = the("trailer")
    drawn = car.solve(RUN, trailer="on", lights="side", turning="left", BRK="on")
    assert drawn.amps["TRS.turn_left"] == pytest.approx(1.75, abs=0.2)  # 21 W
    assert drawn.amps["TRS.brake"] == pytest.approx(3.5, abs=0.3)  # 42 W
    assert drawn.amps["TRS.tail_right"] == pytest.approx(0.85, abs=0.1)
    assert abs(drawn.amps["TRS.turn_right"]) < 0.1
    alone = car.solve(RUN, trailer="off", lights="side", turning="left", BRK="on")
    assert abs(alone.amps["TRS.brake"]) < 1e-3
    assert alone.amps["TLL.brake"] == pytest.approx(1.75, abs=0.2)


# positive earth


def test_every_live_wire_is_negative_and_the_coil_is_fed_at_15():
    car = the("positive_earth")
    found = car.solve(RUN)
    assert found.relays["CBX"] == "pulled"
    assert found.volts["COL.15"] == pytest.approx(-13.4, abs=0.6)
    assert found.volts["COL.1"] == pytest.approx(0.0, abs=0.3)  # earthed by the points
    assert found.amps["BAT.cells"] > 1.0  # charged: into its plus post
    assert found.volts["RAD.supply"] - found.volts["RAD.earth"] > 12.0  # a radio for positive earth


# 24 V


def test_two_batteries_in_series_share_the_charge_and_crank_together():
    car = the("twenty_four")
    running = car.solve(RUN)
    assert running.volts["BA2.+"] == pytest.approx(27.6, abs=0.7)
    assert running.volts["BA1.+"] == pytest.approx(running.volts["BA2.+"] / 2.0, abs=0.3)
    assert running.amps["BA1.cells"] == pytest.approx(running.amps["BA2.cells"], abs=1e-3)
    cranking = car.solve(key="start", engine="cranking")
    assert cranking.relays["STA"] == "pulled"
    assert cranking.amps["BA1.cells"] == pytest.approx(cranking.amps["BA2.cells"], abs=1e-3)
    assert cranking.amps["STA.motor"] == pytest.approx(220.0, abs=5.0)


def test_the_radio_of_12_volts_sees_12():
    assert the("twenty_four").solve(RUN).volts["RAD.supply"] == pytest.approx(12.4, abs=0.3)


# touched at its boundary only


def test_the_old_cars_switches_work_what_hangs_on_its_wires():
    car = the("boundary")
    assert car.solve(RUN, lights="head", beam="low").amps["HLL.dip"] == pytest.approx(3.75, abs=0.4)
    assert car.solve(RUN, lights="head", beam="high").amps["HLL.main"] == pytest.approx(4.6, abs=0.4)
    assert car.solve(key="run").relays["KMR"] == "pulled"
    assert car.solve(key="off").relays["KMR"] == "released"


def test_most_of_the_old_car_is_left_and_what_is_known_of_it_was_measured():
    job = the("boundary").job
    assert {wire.fate for wire in job.old_wires} == {"keep", "adapt", "leave"}
    measured = {reading.old_wire for reading in job.readings}
    touched = {wire.id for wire in job.old_wires if wire.fate != "leave"}
    assert measured == touched
    joined = {wire.joins_to for wire in job.old_wires if wire.fate != "leave"}
    assert joined == {part.id for part in job.parts if part.kind == "old_feed"}
