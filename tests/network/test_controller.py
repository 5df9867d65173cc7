"""A controller from its pins: alive, drivers, limits, star, what it does dead, how it is fed backwards."""

from __future__ import annotations

import pytest

from loomwright.network.records import Changes
from tests.network.cars import compiled, job, solved

PINS = {
    "A1": "supply",
    "A2": "power_earth",
    "A3": "low_side",
    "A4": "high_side",
    "A5": "key_input",
    "A6": "supply_5v",
    "A7": "sensor_earth",
    "A8": "analog_input",
}
NOTHING = pytest.approx(0.0, abs=1e-6)


def car(  # type: ignore[no-untyped-def]
    parts=None, wires=(), drives=(), pins=None, ecu="controller; draw_a=0.5; minimum_v=7; reset_v=5.5", **pin_columns
):
    """A controller ECU fed through switch MAIN, its key input through switch IGN.

    pin_columns: `A3={"max_a": "2"}` adds cells to a pin's row.
    """
    rows = [
        {
            "id": f"ECU-{terminal}",
            "part": "ECU",
            "terminal": terminal,
            "abilities": ability,
            **pin_columns.get(terminal, {}),
        }
        for terminal, ability in (pins or PINS).items()
    ]
    return job(
        {"ECU": ecu, "MAIN": "switch", "IGN": "switch", **(parts or {})},
        [
            "W1 BAT.+ MAIN.1", "W2 MAIN.2 ECU.A1", "W3 ECU.A2 body", "W4 BAT.+ IGN.1", "W5 IGN.2 ECU.A5",
            "W6 BAT.- body",
            *wires,
        ],
        controller_pins=rows,
        drives=drives,
    )  # fmt: skip


ON = {"MAIN": "on", "IGN": "on"}


@pytest.mark.parametrize(("state", "alive"), [(ON, True), ({"MAIN": "on"}, False), ({"IGN": "on"}, False), ({}, False)])
def test_it_lives_while_fed_and_told_by_the_key(state, alive):
    answer = solved(car(), state)
    assert answer.alive["ECU"] is alive
    assert answer.amps["ECU.A1.draw"] == pytest.approx(0.5 if alive else 0.0, abs=1e-3)


@pytest.mark.parametrize(
    ("ohm", "from_dead", "from_alive"),
    # 10 ohm to supply and this to earth: 7.12 V, 6.50 V, 5.19 V against 7 V to wake and 5.5 V to stay
    [("13", True, True), ("10.66", False, True), ("7", False, False)],
)
def test_it_stays_alive_with_less_than_it_wakes_with(ohm, from_dead, from_alive):
    made = car(
        {"R": "resistor; ohm=10", "S": f"resistor; ohm={ohm}"},
        ["W7 BAT.+ R.1", "W8 R.2 ECU.A1", "W9 S.1 ECU.A1", "W10 S.2 body"],
        ecu="controller; draw_a=0.001; minimum_v=7; reset_v=5.5",
    )
    told = {"IGN": "on"}
    assert solved(made, told).alive["ECU"] is from_dead
    assert solved(made, told, before=ON).alive["ECU"] is from_alive


def low_side(**cells: str):  # type: ignore[no-untyped-def]
    """A lamp earthed by output A3."""
    return car(
        {"LA": "lamp; watt=5"},
        ["W7 BAT.+ LA.1", "W8 LA.2 ECU.A3"],
        [{"output": "ECU-A3", "when": "always"}],
        A3={"max_a": "2", **cells},
    )


def test_a_driver_conducts_while_driven_and_alive():
    assert solved(low_side(), ON).amps["LA.filament"] == pytest.approx(0.427, abs=0.01)
    assert solved(low_side(), {"MAIN": "on"}).amps["LA.filament"] == NOTHING
    undriven = car({"LA": "lamp"}, ["W7 BAT.+ LA.1", "W8 LA.2 ECU.A3"], A3={"max_a": "2"})
    assert solved(undriven, ON).amps["LA.filament"] == NOTHING


def test_a_driver_acts_in_the_states_its_rows_name():
    made = car(
        {"LA": "lamp", "SW": "switch", "FOG": "switch"},
        ["W7 BAT.+ LA.1", "W8 LA.2 ECU.A3", "W9 SW.1 body", "W10 FOG.1 body", "W11 SW.2 body", "W12 FOG.2 body"],
        [{"output": "ECU-A3", "when": "SW=on"}, {"output": "ECU.A3", "when": "FOG=on"}],
        A3={"max_a": "2"},
    )
    lit = {
        (switch, fog): solved(made, {**ON, "SW": switch, "FOG": fog}).amps["LA.filament"] > 0.4
        for switch in ("off", "on")
        for fog in ("off", "on")
    }
    assert lit == {("off", "off"): False, ("on", "off"): True, ("off", "on"): True, ("on", "on"): True}


def test_a_driver_that_one_row_drives_always_is_on_whatever_another_says():
    made = car(
        {"LA": "lamp", "FOG": "switch"},
        ["W7 BAT.+ LA.1", "W8 LA.2 ECU.A3", "W9 FOG.1 body", "W10 FOG.2 body"],
        [{"output": "ECU-A3", "when": "FOG=on"}, {"output": "ECU-A3", "when": "always"}],
        A3={"max_a": "2"},
    )
    assert solved(made, {**ON, "FOG": "off"}).amps["LA.filament"] > 0.4


def test_of_two_rows_of_a_driver_the_one_that_is_on_longer_says_how_long():
    made = car(
        {"LA": "lamp", "FOG": "switch"},
        ["W7 BAT.+ LA.1", "W8 LA.2 ECU.A3", "W9 FOG.1 body", "W10 FOG.2 body"],
        [
            {"output": "ECU-A3", "when": "FOG=on", "duty_frac": "0.8"},
            {"output": "ECU-A3", "when": "FOG=off", "duty_frac": "0.3"},
        ],
        A3={"max_a": "2"},
    )
    [driver] = [one for one in compiled(made).network.elements if one.name == "ECU.A3.drive"]
    assert driver.duty_frac == 0.8


@pytest.mark.parametrize(("active", "fed"), [("", True), ("low", False)])
def test_a_half_bridge_feeds_unless_its_row_says_it_earths(active, fed):
    pins = {**PINS, "A4": "half_bridge"}
    # between the pin and the battery's other post: lit where the pin gives that side's opposite
    ends = ["W7 ECU.A4 LA.1", "W8 LA.2 body"] if fed else ["W7 BAT.+ LA.1", "W8 LA.2 ECU.A4"]
    made = car(
        {"LA": "lamp; watt=5"},
        ends,
        [{"output": "ECU-A4", "when": "always"}],
        pins,
        A4={"max_a": "5", "active": active},
    )
    assert solved(made, ON).amps["LA.filament"] == pytest.approx(0.427, abs=0.01)


def test_two_supply_pins_share_what_it_draws():
    made = car({}, ["W7 MAIN.2 ECU.A9"], pins={**PINS, "A9": "supply"})
    answer = solved(made, ON)
    assert answer.amps["ECU.A1.draw"] == pytest.approx(0.25, abs=1e-3)
    assert answer.amps["ECU.A9.draw"] == pytest.approx(0.25, abs=1e-3)


def test_without_a_supply_pin_it_never_lives():
    made = car(pins={**PINS, "A1": "analog_input"})
    assert solved(made, ON).alive["ECU"] is False


def test_a_driver_holds_its_current_at_one_and_a_half_times_its_rating():
    heavy = car(
        {"H": "heater; ohm=1"},
        ["W7 BAT.+ H.1", "W8 H.2 ECU.A3"],
        [{"output": "ECU-A3", "when": "always"}],
        A3={"max_a": "2"},
    )
    assert solved(heavy, ON).amps["H.heater_ohm"] == pytest.approx(3.0, abs=0.02)


def test_five_volts_are_there_while_it_lives_and_give_no_more_than_their_limit():
    pot = car({"R": "resistor; ohm=1000"}, ["W7 ECU.A6 R.1", "W8 R.2 ECU.A7"])
    alive = solved(pot, ON)
    assert alive.volts["ECU.A6"] - alive.volts["ECU.A7"] == pytest.approx(5.0, abs=0.002)
    assert solved(pot, {"MAIN": "on"}).amps["R.resistor"] == NOTHING
    shorted = car({"R": "resistor; ohm=1"}, ["W7 ECU.A6 R.1", "W8 R.2 ECU.A7"], A6={"max_a": "0.1"})
    assert solved(shorted, ON).amps["R.resistor"] == pytest.approx(0.1, abs=0.006)


def test_power_and_sensor_earths_meet_in_a_star():
    made = car(
        {"LA": "heater; ohm=4"},
        ["W7 BAT.+ LA.1", "W8 LA.2 ECU.A3"],
        [{"output": "ECU-A3", "when": "always"}],
        A3={"max_a": "5"},
    )
    answer = solved(made, ON)
    amps = answer.amps["LA.heater_ohm"] + 0.5
    # the load and its own draw through 5 mohm of the power earth; the sensor earth carries nothing
    assert answer.volts["ECU.A7"] - answer.volts["ECU.A2"] == pytest.approx(0.005 * amps, rel=1e-3)


def test_a_sensor_earth_wired_to_the_body_carries_load_current():
    made = car(
        {"H": "heater; ohm=4"},
        ["W7 BAT.+ H.1", "W8 H.2 ECU.A3", "W9 ECU.A7 body"],
        [{"output": "ECU-A3", "when": "always"}],
        A3={"max_a": "5"},
    )
    answer = solved(made, ON)
    # two ways from the star: 5 + 1.6 mohm and 20 + 1.6 mohm
    total = answer.amps["H.heater_ohm"] + 0.5
    assert abs(answer.amps["W9"]) == pytest.approx(total * 6.6 / (6.6 + 21.6), rel=0.01)


def test_a_high_side_output_feeds_a_dead_controller_backwards():
    made = car({"B": "switch"}, ["W7 BAT.+ B.1", "W8 B.2 ECU.A4"], A4={"max_a": "5"})
    answer = solved(made, {"B": "on", "IGN": "on"})
    # through the body diode to its own supply: alive without its feed
    assert answer.volts["ECU.A1"] == pytest.approx(12.6 - 0.7, abs=0.1)
    assert answer.alive["ECU"]
    assert not solved(made, {"IGN": "on"}).alive["ECU"]


def test_a_recirculation_path_feeds_back_to_its_pin():
    made = car(
        {"C": "solenoid; ohm=2", "SW": "switch"},
        ["W7 BAT.+ SW.1", "W8 SW.2 C.1", "W9 C.2 ECU.A3"],
        A3={"max_a": "2", "recirculates_to": "ECU-A1"},
    )
    answer = solved(made, {"SW": "on", "IGN": "on"})
    assert answer.volts["ECU.A1"] == pytest.approx(12.6 - 0.7 - 2 * 0.5, abs=0.1)
    assert not solved(car(), {"IGN": "on"}).alive["ECU"]


@pytest.mark.parametrize(("unpowered", "lit"), [("open", False), ("low", True)])
def test_a_dead_output_does_what_its_row_says(unpowered, lit):
    answer = solved(low_side(unpowered=unpowered), {})
    assert (answer.amps["LA.filament"] > 0.4) is lit


@pytest.mark.parametrize(("unpowered", "lit"), [("open", False), ("high", True)])
def test_a_dead_output_that_goes_high_feeds_from_the_supply(unpowered, lit):
    made = car(
        {"LA": "lamp; watt=5"},
        ["W7 ECU.A4 LA.1", "W8 LA.2 body"],
        A4={"max_a": "5", "unpowered": unpowered},
    )
    assert (solved(made, {"MAIN": "on"}).amps["LA.filament"] > 0.4) is lit


@pytest.mark.parametrize("ability", ["low_side", "half_bridge", "injector"])
def test_an_output_that_is_pulled_below_earth_is_held_by_its_body_diode(ability):
    # 12.6 V backwards through 10 ohm: earth gives through the diode, so the pin stands 0.7 V below it
    made = car(
        {"R": "resistor; ohm=10", "UP": "battery"},
        ["W7 UP.+ body", "W8 UP.- R.1", "W9 R.2 ECU.A3"],
        pins={**PINS, "A3": ability},
        A3={"max_a": "5"},
    )
    answer = solved(made, {})
    assert answer.volts["ECU.A3"] - answer.volts["ECU.A2"] == pytest.approx(-0.7, abs=0.15)


def test_an_input_with_a_pull_up_stands_at_its_volts_while_alive():
    made = car(A8={"pull_up_ohm": "1000", "pull_up_v": "5"})
    assert solved(made, ON).volts["ECU.A8"] == pytest.approx(5.0 * 1e6 / (1e6 + 1e3), abs=0.005)
    assert solved(made, {"MAIN": "on"}).volts["ECU.A8"] == pytest.approx(0.0, abs=0.01)


def test_unplugging_it_kills_it():
    assert not solved(car(), ON, changes=Changes(unplugged=("ECU",))).alive["ECU"]


def test_a_lost_power_earth_kills_it_unless_another_way_is_there():
    lost = Changes(opened=("W3",))
    assert not solved(car(), ON, changes=lost).alive["ECU"]
    other = car({}, ["W9 ECU.A7 body"])
    assert solved(other, ON, changes=lost).alive["ECU"], "through its sensor earth"
