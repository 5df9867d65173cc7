"""Settings of a part: what is read, what is refused, what stays unknown."""

from __future__ import annotations

import pytest

from loomwright.refusals import OutOfReach, TableFault
from loomwright.tables.kind_reading import kind_from_entry
from loomwright.tables.kinds import (
    case_of,
    design_a,
    elements_of,
    load_kinds,
    positions_of,
    resolve_settings,
)

KINDS = load_kinds()


def test_written_figures_are_read_with_their_unit() -> None:
    found = resolve_settings(KINDS["relay"], {"coil_ohm": "90 ohm", "contact_a": "40 A", "pull_in_v": "7500 mV"})
    assert (found["coil_ohm"], found["contact_a"], found["pull_in_v"]) == (90.0, 40.0, 7.5)


def test_blank_is_the_default() -> None:
    assert resolve_settings(KINDS["lamp"], {"watt": " "})["watt"] == 5.0


@pytest.mark.parametrize(
    ("kind_id", "written", "found"),
    [
        ("relay", {"coil_ohms": "90"}, "coil_ohms"),
        ("relay", {"suppression": "capacitor"}, "capacitor"),
        ("relay", {"coil_ohm": "many"}, "many"),
        ("relay", {"coil_ohm": "90 A"}, "90 A"),
        ("relay", {"coil_ohm": "0"}, "0"),
        ("fan", {"running_a": "-3"}, "-3"),
        ("sensor_0_5v", {"signal_frac": "1.2"}, "1.2"),
        ("sensor_0_5v", {"signal_frac": "0"}, "0"),
        ("lamp", {"bolted_to": "engine"}, "bolted_to"),
    ],
)
def test_what_cannot_be_is_refused_by_name(kind_id: str, written: dict[str, str], found: str) -> None:
    with pytest.raises(OutOfReach) as refused:
        resolve_settings(KINDS[kind_id], written)
    assert refused.value.found == found
    assert kind_id in refused.value.name
    assert refused.value.allowed


def test_a_voltage_may_fall_with_temperature() -> None:
    assert resolve_settings(KINDS["alternator"], {"mv_per_k": "-8"})["mv_per_k"] == -8.0


def test_a_condition_keeps_its_equal_signs() -> None:
    found = resolve_settings(KINDS["pressure_switch"], {"closes_when": "engine=stopped|cranking"})
    assert found["closes_when"] == "engine=stopped|cranking"


def test_an_unknown_figure_is_left_out_and_judges_nothing() -> None:
    values = resolve_settings(KINDS["switch"], {})
    assert "make_a" not in values
    assert "make_a" not in elements_of(KINDS["switch"], values)[0].params
    given = resolve_settings(KINDS["switch"], {"make_a": "80"})
    assert elements_of(KINDS["switch"], given)[0].params["make_a"] == 80.0


def test_a_default_may_follow_another_setting() -> None:
    values = resolve_settings(KINDS["key_switch"], {"rating_a": "30", "rating_50_a": "50"})
    assert (values["rating_15_a"], values["rating_75_a"], values["rating_50_a"]) == (30.0, 30.0, 50.0)


def test_defaults_follow_the_rated_volts_and_written_figures_do_not() -> None:
    values = resolve_settings(KINDS["relay"], {}, rated_v=24.0)
    assert (values["coil_ohm"], values["pull_in_v"], values["contact_a"]) == (340.0, 14.4, 30.0)
    lamp = resolve_settings(KINDS["lamp"], {}, rated_v=6.0)
    assert (lamp["volt"], lamp["watt"]) == (6.0, 5.0)
    assert resolve_settings(KINDS["fan"], {}, rated_v=24.0)["running_a"] == 7.5
    assert resolve_settings(KINDS["relay"], {"coil_ohm": "90"}, rated_v=24.0)["coil_ohm"] == 90.0


def test_positions_by_setting() -> None:
    kind = KINDS["switch_changeover"]
    assert positions_of(kind, resolve_settings(kind, {}))[0] == ("a", "b")
    assert positions_of(kind, resolve_settings(kind, {"centre_off": "yes"}))[0] == ("off", "a", "b")


def test_a_push_button_is_a_switch_that_springs_back() -> None:
    kind = KINDS["switch"]
    assert positions_of(kind, resolve_settings(kind, {"momentary": "on"})) == (("off", "on"), ("on",))
    assert positions_of(KINDS["key_switch"], resolve_settings(KINDS["key_switch"], {}))[1] == ("start",)


def test_case_is_bolted_where_it_is_said() -> None:
    kind = KINDS["starter"]
    assert case_of(kind, resolve_settings(kind, {})) == "engine"
    assert case_of(kind, resolve_settings(kind, {"bolted_to": "gearbox"})) == "gearbox"
    assert case_of(kind, resolve_settings(kind, {"bolted_to": "none"})) == ""
    assert case_of(KINDS["lamp"], resolve_settings(KINDS["lamp"], {})) == ""


@pytest.mark.parametrize(
    ("kind_id", "element", "at_v", "amps"),
    [
        ("lamp", "filament", 12.0, 5 / 12),
        ("injector", "winding", 14.0, 1.0),
        ("fan", "motor", 12.0, 15.0),
        ("solenoid_linear", "winding", 12.0, 1.1),
        ("solenoid_linear", "winding", 5.3, 1.0),
        ("heater", "heater", 12.0, 10.0),
        ("horn", "horn", 12.0, 5.0),
        ("led_lamp", "resistor", 12.0, 2 / 12),
        ("diode", "diode", 12.0, None),
    ],
)
def test_design_current_of_a_load(kind_id: str, element: str, at_v: float, amps: float | None) -> None:
    kind = KINDS[kind_id]
    found = {one.name: one for one in elements_of(kind, resolve_settings(kind, {}))}[element]
    assert design_a(found, at_v) == (None if amps is None else pytest.approx(amps))


# --- entries that cannot be used ---

SOUND: dict[str, object] = {
    "title": "thing",
    "duty": "load",
    "terminals": {"1": {}, "2": {}},
    "settings": {"ohm": {"default": 5.0, "unit": "ohm", "help": "its resistance"}},
    "elements": [{"name": "r", "type": "resistor", "between": ["1", "2"], "ohm": "$ohm"}],
}


def test_the_sound_entry_is_taken() -> None:
    assert kind_from_entry("thing", SOUND).elements[0].params == {"ohm": "$ohm"}


@pytest.mark.parametrize(
    ("change", "found"),
    [
        ({"duty": "ornament"}, "ornament"),
        ({"colour": "red"}, "colour"),
        ({"terminals": {"1": {"needed": True}, "2": {}}}, "needed"),
        ({"terminals": {"1": {"polarity": 2}, "2": {}}}, 2),
        ({"terminals": {"1": {}}}, "2"),
        ({"settings": {"ohm": {"default": 5.0}}}, ""),
        ({"settings": {}}, "ohm"),
        ({"needs_one_of": [["3"]]}, "3"),
        ({"elements": [{"name": "r", "type": "spring", "between": ["1", "2"]}]}, "spring"),
        ({"elements": [{"name": "r", "type": "resistor", "between": ["1"], "ohm": 1.0}]}, "1"),
        ({"elements": [{"name": "r", "type": "resistor", "between": ["1", "2"]}]}, "not all that the type needs"),
        ({"elements": [{"name": "r", "type": "resistor", "between": ["1", "2"], "ohm": 1.0, "mass": 2.0}]}, "mass"),
        (
            {"elements": [{"name": "r", "type": "resistor", "between": ["1", "_case"], "ohm": 1.0}]},
            "_case, and the kind says no case",
        ),
        (
            {
                "elements": [
                    {"name": "c", "type": "contact", "between": ["1", "2"], "coil": "k", "closed_when": "pulled"}
                ]
            },
            "k",
        ),
        (
            {
                "elements": [
                    {"name": "r", "type": "resistor", "between": ["1", "2"], "ohm": 1.0, "only_if": {"x": ["y"]}}
                ]
            },
            "x",
        ),
    ],
)
def test_an_entry_that_cannot_be_used_names_what_it_found(change: dict[str, object], found: object) -> None:
    with pytest.raises(TableFault) as refused:
        kind_from_entry("thing", {**SOUND, **change})
    assert refused.value.found == found


def test_two_elements_of_one_name_are_refused() -> None:
    twice = [{"name": "r", "type": "resistor", "between": ["1", "2"], "ohm": 1.0}] * 2
    with pytest.raises(TableFault):
        kind_from_entry("thing", {**SOUND, "elements": twice})
