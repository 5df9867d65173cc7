"""Limits, words, joints and constants, against figures typed again."""

from __future__ import annotations

import re

import pytest

from loomwright.job.schema import column_of
from loomwright.job.vehicle import Vehicle
from loomwright.network.laws import LAMP_EXPONENT
from loomwright.quantities import ending_of
from loomwright.refusals import OutOfReach
from loomwright.tables.constants import constant, constants
from loomwright.tables.joints import JOINTS, joint_limit_ohm, joint_ohm
from loomwright.tables.kinds import load_kinds
from loomwright.tables.limits import (
    CLASSES,
    COLOURS,
    FEEDS,
    INSULATIONS_C,
    ROLES,
    drop_limit_v,
    insulation_class_c,
    least_size_mm2,
    segment_limit_v,
    terminal_meaning,
)
from tests.shape.source import ROOT


@pytest.mark.parametrize(
    ("circuit_class", "limit_v"),
    [("charging", 0.5), ("starting", 1.0), ("supply", 0.5), ("ignition", 0.9), ("lighting", 0.9), ("wiping", 1.2)],
)
def test_drop_limits_double_at_24_and_halve_at_6(circuit_class: str, limit_v: float) -> None:
    assert drop_limit_v(circuit_class, 12.0) == limit_v
    assert drop_limit_v(circuit_class, 24.0) == pytest.approx(2 * limit_v)
    assert drop_limit_v(circuit_class, 6.0) == pytest.approx(limit_v / 2)


@pytest.mark.parametrize("circuit_class", ["sensor", "data", "linkage"])
def test_signals_are_not_judged_by_drop(circuit_class: str) -> None:
    assert drop_limit_v(circuit_class, 12.0) is None


def test_other_classes_and_volts_are_refused() -> None:
    with pytest.raises(OutOfReach):
        drop_limit_v("heating", 12.0)
    with pytest.raises(OutOfReach):
        drop_limit_v("lighting", 48.0)


def test_every_class_has_a_thinnest_wire() -> None:
    assert {name: least_size_mm2(name) for name in CLASSES if least_size_mm2(name) != 0.5} == {
        "sensor": 0.35,
        "data": 0.35,
        "linkage": 0.35,
    }


def test_the_words_are_those_of_the_sheets() -> None:
    assert " ".join(CLASSES) == (
        "charging starting supply ignition injection fuel cooling gearbox lighting signalling wiping gauges warning "
        "accessories sensor data linkage"
    )
    assert " ".join(FEEDS) == "30 75 15 50 58 56a 56b 54 49a main_relay pump_relay"
    assert len(ROLES) == 29
    assert {"charge_lamp", "dipped_left", "main_relay", "start_inhibit"} <= set(ROLES)


@pytest.mark.parametrize(
    ("segment", "current_a", "limit_v"),
    [("wire_or_cable", 0, 0.2), ("switch_contact", 0, 0.3), ("earth", 0, 0.1), ("relay_contact", 18, 0.45)],
)
def test_segment_limits_are_the_printed_ones(segment: str, current_a: float, limit_v: float) -> None:
    assert segment_limit_v(segment, current_a) == pytest.approx(limit_v)


def test_unknown_segment_is_refused() -> None:
    with pytest.raises(OutOfReach):
        segment_limit_v("bracket")


@pytest.mark.parametrize(
    ("words", "stands_c"), [("A", 85), ("b", 100), ("H", 250), ("", 105), ("90 C", 90), ("felt", None)]
)
def test_insulation_by_letter_or_temperature(words: str, stands_c: float | None) -> None:
    assert insulation_class_c(words) == stands_c


def test_insulation_letters_rise() -> None:
    letters = [letter for letter in INSULATIONS_C if letter.isalpha()]
    assert letters == sorted(letters)
    assert [INSULATIONS_C[letter] for letter in letters] == sorted(INSULATIONS_C[letter] for letter in letters)


def test_colours_are_two_letters_but_the_earth_pair() -> None:
    assert len(COLOURS) == 15
    assert [code for code in COLOURS if len(code) != 2] == ["GNYE"]
    assert (COLOURS["BU"], COLOURS["VT"], COLOURS["SR"]) == ("blue", "violet", "silver")


def test_terminal_numbers() -> None:
    assert terminal_meaning("86", ("85", "86")) == "relay coil, feed"
    assert terminal_meaning("50", ("30", "50")) == "starter control"
    assert terminal_meaning("87", ("30", "87")) == "make contact, output, from memory"
    assert terminal_meaning("99", ("99",)) is None


@pytest.mark.parametrize(
    ("kind", "told"),
    [
        ("coil_plain", {"15", "1"}),
        ("fuse", set()),  # its 1 and 2 are ends, no numbers
        ("selector_switch", set()),  # its R and C are contacts
        ("trailer_socket", set()),  # its 1 and 4 are those of another standard
        ("alternator", {"B+", "D+", "DF", "W"}),  # its L is the lamp, not the left side
        ("flasher_thermal", {"49", "49a", "C"}),
    ],
)
def test_a_terminal_of_one_sign_is_a_number_only_beside_one_that_says_of_what(kind, told) -> None:
    names = [one.name for one in load_kinds()[kind].terminals]
    assert {name for name in names if terminal_meaning(name, names)} == told


def test_relay_contact_is_the_sheets_figure() -> None:
    assert (joint_ohm("relay_contact"), joint_limit_ohm("relay_contact")) == (0.003, 0.05)


@pytest.mark.parametrize("joint", JOINTS)
def test_a_joint_that_wants_work_has_more_than_a_sound_one(joint: str) -> None:
    assert 0 < joint_ohm(joint) < joint_limit_ohm(joint)


def test_the_joints_the_network_asks_for_are_there() -> None:
    asked = {
        "wire_end",
        "bolted_earth",
        "fuse_clip",
        "switch_contact",
        "relay_contact",
        "connector_contact",
        "key_contact",
        "splice",
    }
    assert asked <= set(JOINTS)
    with pytest.raises(OutOfReach):
        joint_ohm("glue")


def test_constants_end_with_their_unit() -> None:
    units = {"v": "V", "a": "A", "w": "W", "days": "days", "s": "s", "frac": "frac", "mohm": "mohm", "mm": "mm"}
    units |= {"ohm": "ohm", "c": "c", "rpm": "rpm"}
    for name, one in constants().items():
        ending = ending_of(name)
        if one.unit == "-":
            assert ending is None, name
        elif one.unit in units.values():
            assert ending is not None, name
            assert units[ending] == one.unit, name
        else:
            # units of a law, written out in the name: copper_resistivity_ohm_mm2_per_m
            assert "_per_" in name or ending == "k", name


def test_constants_say_what_they_are() -> None:
    assert all(one.meaning and one.grade for one in constants().values())


def test_a_constant_that_nothing_asks_for_is_not_there() -> None:
    files = [*(ROOT / "src").rglob("*.py"), *(ROOT / "tests" / "outside").rglob("*.py")]
    asked = set(re.findall(r'"([a-z0-9_]+)"', "".join(path.read_text(encoding="utf-8") for path in files)))
    asked |= {f"route_{word}_frac" for word in column_of("runs", "hazards").allowed}
    asked.add("lamp_exponent")  # the compiled law holds it, see below
    assert [name for name in constants() if name not in asked] == []


def test_what_code_holds_itself_is_what_the_table_says() -> None:
    assert constant("lamp_exponent") == LAMP_EXPONENT
    assert constant("design_ambient_c") == Vehicle().design_ambient_c
    assert constant("cranking_ambient_c") == Vehicle().cranking_ambient_c


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("battery_flat_emf_v", 11.8),
        ("battery_flat_resistance_factor", 2.5),
        ("battery_cold_weak_emf_v", 11.5),
        ("battery_cold_weak_resistance_factor", 4.0),
        ("battery_charge_v", 13.0),
        ("live_frac", 0.75),
        ("dead_v", 0.5),
        ("overload_factor", 1.35),
        ("tap_mm", 300.0),
        ("cranking_s", 30.0),
        ("stall_s", 5.0),
        ("blown_factor", 2.0),
        ("lamp_exponent", 0.55),
        ("motor_free_below_v", 1.5),
        ("copper_zero_k", 234.5),
        ("power_earth_star_ohm", 0.005),
        ("sensor_earth_star_ohm", 0.02),
        ("input_ohm", 1e6),
        ("meter_volts_ohm", 1e7),
        ("sensor_offset_v", 0.02),
        ("design_ambient_c", 40.0),
        ("cranking_ambient_c", -10.0),
        ("insulation_c", 105.0),
    ],
)
def test_constants_hold_what_the_contract_says(name: str, value: float) -> None:
    assert constant(name) == value


def test_a_constant_that_is_not_there_is_refused() -> None:
    with pytest.raises(OutOfReach):
        constant("luck")
