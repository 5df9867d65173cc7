"""The library of part kinds: what the contract of the sheets promises, and what must hold for every kind."""

from __future__ import annotations

import pytest

from loomwright.tables.kinds import (
    DIRECTIONS,
    DUTIES,
    TYPES,
    Kind,
    elements_of,
    load_abilities,
    load_kinds,
    resolve_settings,
    terminal_of,
)
from loomwright.tables.load import read_rows

KINDS = load_kinds()
SOURCES = {row["key"] for row in read_rows("sources")}

# ids and terminals as the contract of the sheets lists them, typed again
CONTRACT = {
    "battery": "+ -",
    "alternator": "B+ D+ L S DF W D- case",
    "dynamo": "D F case",
    "control_box": "B D F E",
    "starter": "30 50 M 15a case",
    "earth_point": "1",
    "fuse": "1 2",
    "fusible_link": "1 2",
    "circuit_breaker": "1 2",
    "relay": "30 85 86 87 87a 87b",
    "relay_step": "30 56 56a 56b S",
    "relay_timed": "30 85 86 87 31",
    "relay_by_volts": "30 87 31",
    "key_switch": "30 15 75 50 P R 58 15x",
    "switch": "1 2",
    "switch_changeover": "c a b",
    "switch_matrix": "",
    "selector_switch": "c P R N D 3 2 1 start1 start2 reverse1 reverse2 A B C PA",
    "pressure_switch": "1",
    "temperature_switch": "1",
    "pressure_switch_2wire": "1 2",
    "temperature_switch_2wire": "1 2",
    "door_switch": "1",
    "lamp": "1 2",
    "lamp_case": "1 case",
    "lamp_head": "56a 56b 31",
    "lamp_tail": "54 58 31",
    "led_lamp": "+ -",
    "flasher_thermal": "49 49a C",
    "flasher_electronic": "49 49a C 31",
    "wiper": "53 53a 53b 53e 31b 31",
    "horn": "+ -",
    "horn_ring": "1",
    "heater": "1 2",
    "resistor": "1 2",
    "resistor_pack": "1 2",
    "ballast": "15 15a",
    "capacitor": "1 2",
    "fan": "+ -",
    "fuel_pump": "+ -",
    "motor": "+ -",
    "reversing_motor": "a b",
    "fan_2speed": "lo hi -",
    "fan_pwm": "+ - signal",
    "solenoid": "1 2",
    "solenoid_linear": "1 2",
    "injector": "1 2",
    "idle_valve_2wire": "1 2",
    "idle_valve_3wire": "c a b",
    "idle_stepper": "a1 a2 b1 b2",
    "coil_plain": "15 1",
    "coil_twin": "15 1a 1b",
    "igniter": "supply earth in out",
    "coil_with_igniter": "supply earth signal engine",
    "sensor_ntc": "1 2",
    "sender_ntc": "1",
    "sender_fuel": "1 case",
    "sender_pressure": "1 case",
    "sensor_0_5v": "5v signal earth",
    "map_iat": "5v map iat earth",
    "maf": "supply signal earth",
    "sensor_hall": "supply signal earth",
    "sensor_vr": "+ - screen",
    "speed_vr": "+ - screen",
    "knock": "+ - screen",
    "throttle_electric": "m+ m- 5v1 s1 e1 5v2 s2 e2",
    "pedal": "5v1 s1 e1 5v2 s2 e2",
    "wideband": "supply earth signal",
    "oxygen_narrow": "h+ h- signal earth",
    "gauge_thermal": "supply signal earth",
    "gauge_coil": "supply signal earth",
    "tacho_pulse": "supply signal earth",
    "tacho_series": "in out",
    "ammeter": "1 2",
    "voltmeter": "1 2",
    "stabiliser": "B I E",
    "gauge": "supply earth signal",
    "radio": "supply earth signal",
    "constant_load": "supply earth signal",
    "dc_dc": "supply earth signal",
    "power_module": "supply earth signal",
    "immobiliser": "supply earth signal",
    "diode": "a k",
    "isolator": "1 2 ign1 ign2 bleed1 bleed2",
    "crash_switch": "1 2",
    "trailer_socket": "1 2 3 4 5 6 7 8 9 10 11 12 13",
    "can_node": "H L",
    "terminator": "H L",
    "old_feed": "1",
    "old_load": "1 2",
    "old_switch": "1",
    "controller": "",
}
NUMBERED = {"busbar": "1 2 14", "splice": "1 2 3", "inline_connector": "1p 1s 2p 12s"}

# terminals that many a sound car leaves open
MAY_BE_OPEN = {
    "alternator": "D+ L S DF W D- case",
    "starter": "50 M 15a case",
    "relay": "87 87a 87b",
    "key_switch": "75 50 P R 58 15x",
    "lamp_tail": "54 58",
    "lamp_head": "56a 56b",
    "wiper": "53 53a 53b 53e 31b",
    "selector_switch": "c P R N D 3 2 1 start1 start2 reverse1 reverse2 A B C PA",
    "isolator": "ign1 ign2 bleed1 bleed2",
    "fan_2speed": "lo hi",
    "coil_with_igniter": "engine",
    "sensor_vr": "screen",
    "map_iat": "iat",
    "radio": "memory signal",
    "old_load": "2",
}

ABILITIES = (
    "supply power_earth sensor_earth supply_5v low_side high_side half_bridge pwm injector ignition temperature_input "
    "analog_input frequency_input vr_input hall_input knock_input switch_to_earth switch_to_supply can_high can_low "
    "key_input main_relay"
)


def test_the_contracts_kinds_are_all_there_and_no_others() -> None:
    assert set(KINDS) == set(CONTRACT) | set(NUMBERED)


@pytest.mark.parametrize("kind_id", CONTRACT)
def test_a_kind_has_the_terminals_of_the_contract(kind_id: str) -> None:
    assert set(CONTRACT[kind_id].split()) <= {terminal.name for terminal in KINDS[kind_id].terminals}


@pytest.mark.parametrize("kind_id", NUMBERED)
def test_counted_terminals_are_found_by_their_pattern(kind_id: str) -> None:
    for name in NUMBERED[kind_id].split():
        found = terminal_of(KINDS[kind_id], name)
        assert found is not None
        assert found.name == name
    assert [terminal_of(KINDS[kind_id], name) for name in ("0", "01", "p", "s", "", "1x", "-1")] == [None] * 7


def test_a_cavity_takes_one_wire() -> None:
    found = terminal_of(KINDS["inline_connector"], "3s")
    assert found is not None
    assert found.max_wires == 1


@pytest.mark.parametrize("kind_id", MAY_BE_OPEN)
def test_what_a_sound_car_may_leave_open_is_not_required(kind_id: str) -> None:
    required = {terminal.name for terminal in KINDS[kind_id].terminals if terminal.required}
    assert required & set(MAY_BE_OPEN[kind_id].split()) == set()


def test_a_pair_of_wires_is_required_where_there_is_nothing_else() -> None:
    for kind_id in ("fuse", "lamp", "fan", "fuel_pump", "injector", "diode", "switch", "sensor_ntc", "led_lamp"):
        assert all(terminal.required for terminal in KINDS[kind_id].terminals), kind_id


@pytest.mark.parametrize("kind", KINDS.values(), ids=lambda kind: kind.id)
def test_every_setting_has_help_and_a_figure_its_source(kind: Kind) -> None:
    for setting in kind.settings:
        assert len(setting.help) > 10, setting.name
        if setting.typical:
            assert setting.source in SOURCES, setting.name
        if isinstance(setting.default, float):
            assert setting.typical is (setting.name != "rest_value"), setting.name
        if setting.allowed and isinstance(setting.default, str):
            assert setting.default in setting.allowed, setting.name


@pytest.mark.parametrize("kind", KINDS.values(), ids=lambda kind: kind.id)
def test_a_kind_says_what_it_is(kind: Kind) -> None:
    assert kind.title
    assert kind.duty in DUTIES
    assert kind.group


@pytest.mark.parametrize("kind", KINDS.values(), ids=lambda kind: kind.id)
def test_with_nothing_written_every_figure_is_filled(kind: Kind) -> None:
    for element in elements_of(kind, resolve_settings(kind, {})):
        assert not [value for value in element.params.values() if isinstance(value, str) and value.startswith("$")]
        assert not [node for node in element.between if "$" in node]
        shape = TYPES[element.type]
        # a fuse without a rating is sized by the tool, a source without volts follows the battery
        if element.type not in ("fuse", "source"):
            assert any(all(word in element.params for word in group) for group in shape.needs), element.name


@pytest.mark.parametrize("kind", KINDS.values(), ids=lambda kind: kind.id)
def test_every_contact_has_a_rating(kind: Kind) -> None:
    for element in elements_of(kind, resolve_settings(kind, {})):
        if element.type in ("contact", "switch") and kind.id not in ("trailer_socket", "isolator"):
            assert element.params.get("rating_a", 0) > 0, element.name


@pytest.mark.parametrize("kind", [kind for kind in KINDS.values() if kind.duty == "load"], ids=lambda kind: kind.id)
def test_a_load_says_which_element_it_is_for(kind: Kind) -> None:
    assert [element.name for element in kind.elements if element.load]


@pytest.mark.parametrize("kind", [kind for kind in KINDS.values() if kind.positions], ids=lambda kind: kind.id)
def test_positions_that_close_a_contact_exist(kind: Kind) -> None:
    assert kind.rest == kind.positions[0]
    assert set(kind.momentary) <= set(kind.positions)
    for element in elements_of(kind, resolve_settings(kind, {})):
        closed = element.params.get("closed_at", ())
        assert set(closed) <= set(kind.positions), element.name


def test_kinds_with_a_case_can_be_bolted_elsewhere() -> None:
    defaults = {
        kind.id: setting.default for kind in KINDS.values() for setting in kind.settings if setting.name == "bolted_to"
    }
    assert defaults["starter"] == defaults["alternator"] == defaults["pressure_switch"] == "engine"
    assert defaults["temperature_switch"] == defaults["sender_ntc"] == "engine"
    assert defaults["horn_ring"] == "column"
    assert defaults["lamp_case"] == defaults["door_switch"] == "body"


# --- abilities ---


def test_the_contracts_abilities_are_all_there() -> None:
    assert " ".join(load_abilities()) == ABILITIES


def test_an_ability_says_which_way_it_works() -> None:
    for ability in load_abilities().values():
        assert ability.direction in DIRECTIONS
        assert ability.title
        assert ability.description
        assert ability.source in SOURCES
        assert ability.input_ohm > 0


def test_drivers_have_a_resistance_and_inputs_none() -> None:
    abilities = load_abilities()
    drivers = ["low_side", "high_side", "half_bridge", "pwm", "injector", "ignition", "main_relay"]
    assert all(abilities[name].on_ohm for name in drivers)
    assert all(
        ability.on_ohm is None for ability in abilities.values() if ability.direction in ("in", "power", "earth")
    )


def test_temperature_input_has_its_pull_up() -> None:
    found = load_abilities()["temperature_input"]
    assert (found.source_v, found.source_ohm) == (5.0, 2200.0)
    assert load_abilities()["analog_input"].source_v is None
