"""What the instruments read: 10 Mohm volts, ohms with the battery off, amps by clamp, a lamp's glow."""

from __future__ import annotations

import pytest

from loomwright.network.meter import read_amps, read_lamp, read_ohms, read_volts
from loomwright.network.records import Changes
from loomwright.refusals import OutOfReach
from tests.network.cars import bench, job

LAMP = job(
    {"F1": "fuse; rating_a=10", "SW": "switch", "LA": "lamp; watt=21"},
    ["W1 BAT.+ F1.1", "W2 F1.2 SW.1", "W3 SW.2 LA.1", "W4 LA.2 body", "W5 BAT.- body"],
)


def behind(ohm: str):  # type: ignore[no-untyped-def]
    """A car whose point R.2 is fed through a resistor and leads nowhere."""
    return job({"R": f"resistor; ohm={ohm}"}, ["W1 BAT.+ R.1", "W2 BAT.- body"])


def test_a_voltmeter_reads_the_battery():
    reading = read_volts(bench(LAMP), "BAT.+", "BAT.-")
    assert (reading.value, reading.unit, reading.floating) == (pytest.approx(12.6, abs=1e-4), "V", False)


def test_a_voltmeter_sees_ghost_volts_through_a_megohm():
    # 10 Mohm of the meter behind 1 Mohm: 12.6 * 10 / 11
    reading = read_volts(bench(behind("1000000")), "R.2", "BAT.-")
    assert reading.value == pytest.approx(12.6 * 10.0 / 11.0, rel=1e-4)


def test_a_voltmeter_hardly_loads_a_bad_joint_of_a_hundred_ohms():
    reading = read_volts(bench(behind("100")), "R.2", "BAT.-")
    assert reading.value == pytest.approx(12.6 * 1e7 / (1e7 + 100.0), abs=1e-6)


def test_a_floating_point_reads_nothing_and_is_said_to_float():
    reading = read_volts(bench(LAMP), "gearbox", "BAT.-")
    assert reading.floating
    assert reading.value == pytest.approx(0.0, abs=1e-6)


def test_volts_have_a_sign():
    reading = read_volts(bench(LAMP), "BAT.-", "BAT.+")
    assert reading.value == pytest.approx(-12.6, abs=1e-4)


def test_ohms_of_a_cold_filament_are_a_twelfth_of_hot():
    # 12 V, 21 W: 6.857 ohm hot, 0.571 cold
    reading = read_ohms(bench(LAMP), "LA.1", "LA.2")
    assert reading.value == pytest.approx(144.0 / 21.0 / 12.0, rel=0.001)


def test_ohms_are_read_with_the_battery_off_and_relays_at_rest():
    car = job(
        {"K": "relay", "R": "resistor; ohm=50"},
        ["W1 BAT.+ K.86", "W2 K.85 body", "W3 K.30 R.1", "W4 K.87 R.2", "W5 BAT.- body"],
    )
    # pulled in, the relay would short the resistor
    assert read_ohms(bench(car), "R.1", "R.2").value == pytest.approx(50.0, rel=0.001)


def test_ohms_of_a_strap_are_its_milliohms():
    assert read_ohms(bench(LAMP), "LA.2", "body").value == pytest.approx(0.0016, rel=0.001)


def test_ohms_of_nothing_are_open():
    reading = read_ohms(bench(LAMP), "SW.1", "SW.2")
    assert reading.value is None
    assert reading.floating


def test_an_ohmmeter_reaches_two_volts_and_no_more():
    # 1 mA through 100 kohm would need 100 V: the current falls, the ohms stay right
    assert read_ohms(bench(behind("100000")), "R.1", "R.2").value == pytest.approx(1e5, rel=0.001)


def test_an_ohmmeter_opens_a_diode_one_way():
    car = job({"D": "diode; forward_v=0.7"}, ["W1 BAT.+ D.a", "W2 BAT.- body"])
    forward, backward = read_ohms(bench(car), "D.a", "D.k"), read_ohms(bench(car), "D.k", "D.a")
    # 1 mA = 50 S x 35 mV x ln(1 + exp(x)): x = -7.46, so 0.7 V - 7.46 x 35 mV = 0.439 V
    assert forward.value == pytest.approx(439.0, rel=0.01)
    assert backward.value is None


def test_a_clamp_reads_the_wire_it_is_round():
    reading = read_amps(bench(LAMP, {"SW": "on"}), "W4")
    assert reading.value == pytest.approx(1.79, abs=0.01)
    assert read_amps(bench(LAMP), "W4").value == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(
    ("ohm", "glow"), [("0.5", "full"), ("30", "dim"), ("100", "dim"), ("200", "dark"), ("1000", "dark")]
)
def test_a_test_lamp_finds_what_a_meter_does_not(ohm, glow):
    # through 200 ohm 61 mA flow, 15 % of its 417 mA: below the fifth from which it glows
    assert read_lamp(bench(behind(ohm)), "R.2", "body", 5.0).glow == glow


def test_a_test_lamp_through_a_hundred_ohms_takes_its_amps():
    reading = read_lamp(bench(behind("100")), "R.2", "body", 5.0)
    # 12.6 V = 100 I + V, I = 5/12 (V/12)^0.55: 0.1145 A at 1.147 V
    assert reading.value == pytest.approx(0.1145, rel=0.002)


def test_a_test_lamp_on_a_floating_point_stays_dark():
    reading = read_lamp(bench(LAMP), "gearbox", "body", 5.0)
    assert reading.glow == "dark"
    assert reading.value == pytest.approx(0.0, abs=1e-9)


def test_a_meter_reads_the_loom_side_of_a_plug_that_is_off():
    off = bench(LAMP, {"SW": "on"}, Changes(unplugged=("LA",)))
    assert read_volts(off, "LA.1", "body").value == pytest.approx(12.6, abs=1e-4)
    assert read_ohms(off, "~LA.1", "~LA.2").value == pytest.approx(0.571, rel=0.01)


def test_a_point_that_is_not_there_is_refused():
    for ask in (read_volts, read_ohms):
        with pytest.raises(OutOfReach):
            ask(bench(LAMP), "LA.9", "body")
    with pytest.raises(OutOfReach):
        read_amps(bench(LAMP), "W99")


@pytest.mark.parametrize("watt", [0.0, -5.0])
def test_a_test_lamp_of_no_watts_is_refused(watt):
    with pytest.raises(OutOfReach):
        read_lamp(bench(LAMP), "BAT.+", "body", watt)
