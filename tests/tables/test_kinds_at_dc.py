"""Single kinds, as they are at direct current."""

from __future__ import annotations

from math import exp

import pytest

from loomwright.tables.kinds import KindElement, elements_of, load_kinds, resolve_settings

KINDS = load_kinds()


def made(kind_id: str, *, wired: str = "", **written: str) -> dict[str, KindElement]:
    """The elements of a part, name -> element."""
    kind = KINDS[kind_id]
    names = wired.split() or [terminal.name for terminal in kind.terminals]
    return {element.name: element for element in elements_of(kind, resolve_settings(kind, written), names)}


def test_fan_is_the_printed_example() -> None:
    motor = made("fan")["motor"]
    assert (motor.type, motor.between, motor.params["running_a"], motor.params["stall_a"]) == (
        "motor",
        ("+", "-"),
        15.0,
        50.0,
    )
    assert motor.params["law"] == "fan"


@pytest.mark.parametrize(
    ("suppression", "cathode", "anode_to_cathode"),
    [("diode", "86", ("85", "86")), ("diode", "85", ("86", "85")), ("zener", "86", ("85", "86"))],
)
def test_relay_diode_has_its_cathode_where_it_is_said(
    suppression: str, cathode: str, anode_to_cathode: tuple[str, str]
) -> None:
    elements = made("relay", suppression=suppression, diode_cathode=cathode)
    diodes = [element for element in elements.values() if element.type == "diode"]
    assert [diode.between for diode in diodes] == [anode_to_cathode]
    assert diodes[0].params["forward_v"] == (0.7 if suppression == "diode" else 24.7)


def test_plain_relay_has_nothing_across_its_coil() -> None:
    elements = made("relay")
    assert [element.type for element in elements.values()] == ["coil", "contact", "contact", "contact"]
    assert [element.params["closed_when"] for element in elements.values() if element.type == "contact"] == [
        "pulled",
        "released",
        "pulled",
    ]


def test_relay_contact_ratings_follow_each_other_until_one_is_given() -> None:
    make = made("relay", contact_a="40")["make"].params
    assert (make["rating_a"], make["motor_a"], make["lamp_a"]) == (40.0, 40.0, 40.0)
    assert made("relay", contact_a="40", motor_a="25")["make"].params["motor_a"] == 25.0


def test_starter_windings_draw_what_the_manual_says() -> None:
    elements = made("starter")
    hold_a, pull_a = 10 / elements["hold"].params["ohm"], 10 / elements["pull"].params["ohm"]
    # at 10 V: hold-in 10 to 20 A, both together 60 to 85 A
    assert 10 <= hold_a <= 20
    assert 60 <= hold_a + pull_a <= 85
    assert elements["pull"].between == ("50", "M")
    assert elements["main"].between == ("30", "M")
    assert elements["motor"].between == ("M", "case")


def test_starter_without_its_own_solenoid_is_only_a_motor() -> None:
    assert list(made("starter", wired="M")) == ["motor"]


def test_alternator_has_the_field_its_type_has() -> None:
    fields = {
        form: [element.between[0] for element in made("alternator", type=form).values() if element.type == "field"]
        for form in ("lamp_excited", "lamp_and_sense", "external_field", "commanded")
    }
    assert fields == {"lamp_excited": ["D+"], "lamp_and_sense": ["D+"], "external_field": ["DF"], "commanded": []}


def test_key_switch_contacts_are_those_of_the_contract() -> None:
    closed = {element.between[1]: element.params["closed_at"] for element in made("key_switch").values()}
    assert closed["75"] == ("accessory", "run", "start")
    assert closed["15"] == ("run", "start")
    assert closed["50"] == ("start",)
    assert made("key_switch")["30-75"].params["dropped_by"] == ("75",)
    assert made("key_switch", drops_in_start="75 15x")["30-15"].params["dropped_by"] == ("75", "15x")
    assert KINDS["key_switch"].momentary == ("start",)


def test_coded_selector_always_closes_an_even_number_of_lines() -> None:
    coded = made("selector_switch", range_coded="yes")
    codes = {
        position: "".join(
            "1" if position in coded[f"c-{line}"].params["closed_at"] else "0" for line in ("A", "B", "C")
        )
        for position in KINDS["selector_switch"].positions
    }
    assert len(set(codes.values())) == 7
    for position, code in codes.items():
        parity = position in coded["c-PA"].params["closed_at"]
        assert (code.count("1") + parity) % 2 == 0
    assert not [name for name in made("selector_switch") if name in ("c-A", "c-B", "c-C", "c-PA")]


def test_selector_starts_in_p_and_n_and_reverses_in_r() -> None:
    contacts = made("selector_switch")
    assert contacts["start"].params["closed_at"] == ("P", "N")
    assert contacts["reverse"].params["closed_at"] == ("R",)


def test_led_lamp_takes_its_watts_at_its_volts_and_nothing_the_wrong_way() -> None:
    elements = made("led_lamp", watt="3", volt="12")
    led, resistor = elements["led"], elements["resistor"]
    assert led.between == ("+", "_m")
    amps = (12 - led.params["forward_v"]) / resistor.params["ohm"]
    assert amps * 12 == pytest.approx(3.0)
    assert resistor.params["rated_a"] == pytest.approx(0.25)


def test_unused_filament_is_not_there() -> None:
    assert list(made("lamp_tail", wired="54 31")) == ["brake"]
    assert list(made("lamp_head", wired="56b 31")) == ["dip"]


@pytest.mark.parametrize(
    ("celsius", "low_ohm", "high_ohm"), [(20, 2100, 2900), (50, 680, 1000), (80, 295, 365), (90, 235, 262)]
)
def test_coolant_sensor_lies_in_the_manuals_bands(celsius: float, low_ohm: float, high_ohm: float) -> None:
    params = made("sensor_ntc")["ntc"].params
    ohm = params["r25_ohm"] * exp(params["beta_k"] * (1 / (celsius + 273.15) - 1 / 298.15))
    assert low_ohm <= ohm <= high_ohm


@pytest.mark.parametrize("kind_id", ["injector", "solenoid", "idle_valve_2wire", "coil_plain"])
def test_a_winding_is_ohms_until_its_driver_is_said_to_hold_it(kind_id: str) -> None:
    element = next(iter(made(kind_id, ohm="4").values()))
    assert (element.type, element.params["ohm"], element.params["copper"]) == ("resistor", 4.0, True)


def test_a_held_winding_is_ohms_below_and_amps_above() -> None:
    winding = made("injector", ohm="2.2", max_a="4")["winding"]
    assert (winding.type, winding.params["amps"]) == ("constant_current", 4.0)
    # 4 A in 2.2 ohm is 8.8 V: below it the law of the resistor, at it both agree
    assert winding.params["low_v"] == pytest.approx(8.8)
    assert made("coil_twin")["primary_a"].params["amps"] == 7.0


def test_a_track_is_parted_where_its_signal_stands() -> None:
    elements = made("sensor_0_5v", track_ohm="4k", signal_frac="0.25")
    assert (elements["upper"].params["ohm"], elements["lower"].params["ohm"]) == (3000.0, 1000.0)


def test_stabiliser_gives_full_volts_where_its_earth_is_off() -> None:
    elements = made("stabiliser")
    # 13 V at B, gauges of 0.2 A, E earthed: the clamp holds 10 V and takes what the gauges leave
    through_series_a = (13 - elements["clamp"].params["forward_v"]) / elements["series"].params["ohm"]
    assert through_series_a > 0.2
    assert elements["clamp"].between == ("I", "E")


def test_an_old_end_without_volts_follows_the_battery() -> None:
    assert "volts" not in made("old_feed")["feed"].params
    assert made("old_feed", volts="12.4")["feed"].params["volts"] == 12.4


@pytest.mark.parametrize(
    ("wired", "written", "between", "type_of"),
    [
        ("1", {}, ("1", "_case"), "lamp"),
        ("1 2", {}, ("1", "2"), "lamp"),
        ("1", {"ohm": "4"}, ("1", "_case"), "resistor"),
        ("1 2", {"average_a": "0.5", "ohm": "4"}, ("1", "2"), "constant_current"),
    ],
)
def test_an_old_load_is_what_was_measured(
    wired: str, written: dict[str, str], between: tuple[str, ...], type_of: str
) -> None:
    elements = list(made("old_load", wired=wired, **written).values())
    assert [(element.between, element.type) for element in elements] == [(between, type_of)]


def test_old_switch_to_supply_feeds_from_the_battery() -> None:
    assert [element.type for element in made("old_switch", to="supply").values()] == ["switch", "source"]
    assert [element.between for element in made("old_switch").values()] == [("1", "_case")]


def test_wiper_park_contact_earths_at_rest_and_feeds_away_from_it() -> None:
    elements = made("wiper")
    assert (elements["park_run"].between, elements["park_run"].params["closed_at"]) == (("53a", "53e"), ("no",))
    assert (elements["park_rest"].between, elements["park_rest"].params["closed_at"]) == (("53e", "31"), ("yes",))
    assert "park_rest" not in made("wiper", parks_to="open")


def test_earth_point_is_a_joint_on_the_metal_it_names() -> None:
    joint = made("earth_point", on="engine", joint_mohm="2")["joint"]
    assert joint.between == ("1", "@engine")
    assert joint.params["ohm"] == pytest.approx(0.002)


@pytest.mark.parametrize("kind_id", ["pressure_switch", "temperature_switch"])
def test_a_switch_with_two_wires_is_the_one_in_the_metal_with_its_contact_between_them(kind_id: str) -> None:
    (screwed,), (wired,) = made(kind_id).values(), made(f"{kind_id}_2wire").values()
    assert (screwed.between, wired.between) == (("1", "_case"), ("1", "2"))
    assert screwed.params == wired.params
    assert KINDS[f"{kind_id}_2wire"].case == ""
