"""What the sheets become: each wire its ohms, each joint its ohms, metals apart, and what a question changes."""

from __future__ import annotations

import pytest

from loomwright.network.build import build_network, points_off
from loomwright.network.records import Changes, Element, Short
from loomwright.refusals import NoAnswer
from loomwright.tables.kinds import load_kinds
from tests.network.cars import compiled, job, solved

LAMP = {"F1": "fuse; rating_a=10", "SW": "switch", "LA": "lamp; watt=21"}
WIRES = ("W1 BAT.+ F1.1", "W2 F1.2 SW.1", "W3 SW.2 LA.1", "W4 LA.2 body", "W5 BAT.- body")
ON = {"SW": "on"}
NOTHING = pytest.approx(0.0, abs=1e-9)


def element(network, name: str) -> Element:  # type: ignore[no-untyped-def]
    """The element of a name."""
    return next(one for one in network.elements if one.name == name)


def ohm(car, name: str) -> float:  # type: ignore[no-untyped-def]
    """Resistance of a straight-line element in its first row. [ohm]"""
    return 1.0 / element(build_network(car, load_kinds()), name).figures[0][0]


def test_a_lamp_circuit_loses_volts_in_every_piece():
    answer = solved(job(LAMP, WIRES), ON)
    amps = answer.amps["LA.filament"]
    # by hand: 21 W at 12 V is 1.75 A; battery 8 mohm, four wires of 1.6 mohm, switch 5 mohm, fuse a few mohm
    assert amps == pytest.approx(1.75 * (answer.volts["LA.1"] - answer.volts["LA.2"]) ** 0.55 / 12.0**0.55, rel=1e-6)
    assert answer.volts["BAT.+"] == pytest.approx(12.6 - 0.008 * amps, abs=1e-6)
    assert answer.volts["SW.1"] - answer.volts["SW.2"] == pytest.approx(0.005 * amps, abs=1e-6)
    assert answer.volts["LA.2"] == pytest.approx(2 * 0.0016 * amps, abs=1e-6)


def test_a_copper_wire_has_its_metres_and_two_crimps():
    car = job(LAMP, [*WIRES[:3], "W4 LA.2 body 2.5 mm2 4", WIRES[4]])
    # class 5, 2.5 mm2: 7.98 ohm/km at 20 degC; the car's first row is its cranking ambient, -10 degC
    cold = 7.98e-3 * 4.0 * (234.5 - 10.0) / 254.5
    assert ohm(car, "W4") == pytest.approx(cold + 2 * 0.0003, rel=1e-4)


def test_an_end_in_a_connector_has_a_contact_more():
    bare = ohm(job(LAMP, WIRES), "W3")
    plug = [{"id": "X1", "part": "LA", "terminals": "1"}]
    assert ohm(job(LAMP, WIRES, connectors=plug), "W3") == pytest.approx(bare + 0.002, rel=1e-6)


def test_a_wire_by_a_hot_engine_has_more_ohms_while_it_turns():
    car = job(
        LAMP,
        [*WIRES[:3], "W4 LA.2 body 2.5 mm2 4", WIRES[4]],
        places=[{"id": "bay", "ambient_c": "100"}],
    )
    hot = job(
        {**LAMP},
        [*WIRES[:3], "W4 LA.2 body 2.5 mm2 4", WIRES[4]],
        places=[{"id": "bay", "ambient_c": "100"}],
        parts=[{"id": "L2", "kind": "lamp", "place": "bay"}],
        wires=[
            {"id": "W9", "from": "L2.1", "to": "body", "size_mm2": "2.5", "length_mm": "4 m"},
            {"id": "W10", "from": "L2.2", "to": "body", "size_mm2": "2.5", "length_mm": "4 m"},
        ],
    )
    rows = element(build_network(hot, load_kinds()), "W9").figures
    cool = element(build_network(car, load_kinds()), "W4").figures
    # rows: -10 degC standing and turning, 20 degC standing and turning; a bay of 100 degC is 80 K over the car's 20
    assert [1.0 / row[0] for row in cool] == pytest.approx([0.0288, 0.0288, 0.0325, 0.0325], rel=0.01)
    factor = (234.5 + 100.0) / (234.5 + 20.0)
    assert 1.0 / rows[3][0] - 0.0006 == pytest.approx((1.0 / rows[2][0] - 0.0006) * factor, rel=1e-4)


def test_what_is_blank_is_taken_provisionally_and_said():
    car = job(LAMP, WIRES[:4], wires=[{"id": "W5", "from": "BAT.-", "to": "body"}])
    notes = build_network(car, load_kinds()).notes
    assert any(note.startswith("W5: length not given, 1 m") for note in notes)
    assert any(note.startswith("W5: size not given") for note in notes)
    assert not any(note.startswith("W1") for note in notes)


def test_metals_are_joined_only_by_what_is_stated():
    bare = solved(job(LAMP, WIRES), ON)
    assert bare.volts["engine"] is None
    strapped = solved(job(LAMP, [*WIRES, "W6 engine body"]), ON)
    assert strapped.volts["engine"] == pytest.approx(bare.volts["body"], abs=1e-9)
    bonded = solved(job(LAMP, WIRES, bonds=[{"from": "engine", "to": "body", "mohm": "2"}]), ON)
    assert bonded.volts["engine"] == pytest.approx(bare.volts["body"], abs=1e-9)


def test_the_whole_car_without_a_battery_has_no_answer():
    car = job(LAMP, WIRES)
    battery = next(part for part in car.parts if part.id == "BAT")
    with pytest.raises(NoAnswer) as said:
        build_network(car, load_kinds(), Changes(removed=(battery.id,)))
    assert "battery" in said.value.reasons[0]


def test_a_pulled_fuse_leaves_what_follows_floating():
    answer = solved(job(LAMP, WIRES), ON, changes=Changes(pulled=("F1",)))
    assert answer.volts["F1.1"] == pytest.approx(12.6)
    assert answer.volts["F1.2"] == pytest.approx(0.0, abs=1e-9), "through the lamp to the body"
    assert answer.amps["LA.filament"] == NOTHING
    off = solved(job(LAMP, WIRES), changes=Changes(pulled=("F1",)))
    assert off.volts["F1.2"] is None, "the switch is open too"


def test_an_opened_wire_carries_nothing_and_keeps_its_place():
    car = job(LAMP, WIRES)
    answer = solved(car, ON, changes=Changes(opened=("W4",)))
    assert answer.amps["W4"] == NOTHING
    assert answer.amps["LA.filament"] == NOTHING
    assert answer.volts["LA.2"] == pytest.approx(12.6, abs=1e-9), "at battery volts: nothing flows"
    whole, opened = (compiled(car, changes).network for changes in (Changes(), Changes(opened=("W4",))))
    assert [one.name for one in whole.elements] == [one.name for one in opened.elements]


def test_ohms_put_in_a_wire_are_lost_there():
    answer = solved(job(LAMP, WIRES), ON, changes=Changes(series=(("W4", 2.0),)))
    bare = solved(job(LAMP, WIRES), ON)
    assert answer.volts["LA.2"] == pytest.approx((2.0016 + 0.0016) * answer.amps["LA.filament"], rel=1e-6)
    assert answer.amps["LA.filament"] < bare.amps["LA.filament"]


def test_a_short_across_the_lamp_takes_its_current():
    answer = solved(job(LAMP, WIRES), ON, changes=Changes(shorts=(Short("LA.1", "LA.2", 5.0),)))
    across = answer.volts["LA.1"] - answer.volts["LA.2"]
    assert answer.amps["bridge.1"] == pytest.approx(across / 5.0, rel=1e-6)
    assert answer.amps["W1"] == pytest.approx(answer.amps["bridge.1"] + answer.amps["LA.filament"], rel=1e-6)


@pytest.mark.parametrize(("name", "holds"), [("LA", "1 2"), ("X1", "1 2"), ("X1", "")])
def test_an_unplugged_lamp_is_dark_and_its_loom_side_live(name, holds):
    car = job(LAMP, WIRES, connectors=[{"id": "X1", "part": "LA", "terminals": holds}])
    answer = solved(car, ON, changes=Changes(unplugged=(name,)))
    assert answer.volts["LA.1"] == pytest.approx(12.6)
    assert answer.volts["~LA.1"] is None
    assert answer.amps["LA.filament"] == NOTHING


def test_unplugging_takes_off_only_the_cavities_of_that_connector():
    car = job(
        {"LA": "lamp_head"},
        ["W1 BAT.+ LA.56a", "W2 BAT.+ LA.56b", "W3 LA.31 body", "W4 BAT.- body"],
        connectors=[{"id": "XM", "part": "LA", "terminals": "56a"}, {"id": "XD", "part": "LA"}],
    )
    # whose row names none holds what no other holds
    assert points_off(car, load_kinds(), Changes(unplugged=("XD",))) == frozenset({"LA.56b", "LA.31"})
    assert points_off(car, load_kinds(), Changes(unplugged=("XM",))) == frozenset({"LA.56a"})
    answer = solved(car, changes=Changes(unplugged=("XM",)))
    assert answer.amps["LA.main"] == NOTHING
    # 55 W at 12 V takes a little more at 12.5 V
    assert answer.amps["LA.dip"] == pytest.approx(55.0 / 12.0 * (12.5 / 12.0) ** 0.55, rel=0.01)


def test_an_unplugged_connector_between_two_looms_opens_every_way():
    car = job(
        {"X": "inline_connector", "LA": "lamp"},
        ["W1 BAT.+ X.1p", "W2 X.1s LA.1", "W3 LA.2 X.2p", "W4 X.2s body", "W5 BAT.- body"],
    )
    assert solved(car).amps["LA.filament"] > 0.4
    assert solved(car, changes=Changes(unplugged=("X",))).amps["LA.filament"] == NOTHING


def test_a_stuck_switch_and_a_stuck_relay_conduct_unasked():
    car = job(LAMP, WIRES)
    assert solved(car).amps["LA.filament"] == NOTHING
    assert solved(car, changes=Changes(stuck=("SW",))).amps["LA.filament"] > 1.7
    relay = job(
        {"K": "relay", "SW": "switch", "LA": "lamp"},
        [
            "W1 BAT.+ K.30",
            "W2 K.87 LA.1",
            "W3 LA.2 body",
            "W4 BAT.+ SW.1",
            "W5 SW.2 K.86",
            "W6 K.85 body",
            "W7 BAT.- body",
        ],
    )
    assert solved(relay).amps["LA.filament"] == NOTHING
    stuck = solved(relay, changes=Changes(stuck=("K",)))
    assert stuck.amps["LA.filament"] > 0.4
    assert stuck.amps["K.coil"] == NOTHING


def test_a_part_with_one_terminal_is_named_without_it():
    car = job(
        {"E1": "earth_point; joint_mohm=20", "LA": "lamp; watt=21"}, ["W1 BAT.+ LA.1", "W2 LA.2 E1", "W3 BAT.- body"]
    )
    answer = solved(car)
    amps = answer.amps["LA.filament"]
    assert answer.volts["E1.1"] - answer.volts["body"] == pytest.approx(0.020 * amps, rel=1e-6)


def test_a_case_hangs_on_its_metal_unless_it_is_bolted_to_none():
    wires = ["W1 BAT.+ LA.1", "W2 BAT.- body"]
    earthed = solved(job({"LA": "lamp_case; watt=21"}, wires))
    free = solved(job({"LA": "lamp_case; watt=21; bolted_to=none"}, wires))
    assert earthed.volts["LA.case"] - earthed.volts["body"] == pytest.approx(
        0.001 * earthed.amps["LA.filament"], rel=1e-6
    )
    assert free.amps["LA.filament"] == NOTHING


def test_a_splice_joins_all_that_ends_in_it():
    car = job(
        {"S": "splice", "L1": "lamp; watt=21", "L2": "lamp; watt=5"},
        ["W1 BAT.+ S.1", "W2 S.2 L1.1", "W3 S.3 L2.1", "W4 L1.2 body", "W5 L2.2 body", "W6 BAT.- body"],
    )
    answer = solved(car)
    assert answer.amps["W1"] == pytest.approx(answer.amps["L1.filament"] + answer.amps["L2.filament"], rel=1e-9)
    # each wire into the barrel has half of 0.3 mohm
    assert answer.volts["S.1"] - answer.volts["S.2"] == pytest.approx(
        0.00015 * (answer.amps["W1"] + answer.amps["W2"]), rel=1e-3
    )


def test_a_positive_earth_car_has_its_live_volts_below_nothing():
    car = job({"LA": "lamp; watt=21"}, ["W1 BAT.- LA.1", "W2 LA.2 body", "W3 BAT.+ body"], vehicle="earth=positive")
    answer = solved(car)
    assert answer.volts["BAT.+"] == 0.0
    assert answer.volts["BAT.-"] == pytest.approx(-12.585, abs=0.002)
    assert answer.amps["LA.filament"] == pytest.approx(-1.79, abs=0.01), "from earth to live"


def test_a_24_volt_car_has_twice_the_volts_and_coils_made_for_them():
    parts = {"K": "relay", "LA": "lamp; watt=21"}
    wires = ["W1 BAT.+ K.86", "W2 K.85 body", "W3 BAT.+ K.30", "W4 K.87 LA.1", "W5 LA.2 body", "W6 BAT.- body"]
    answer = solved(job(parts, wires, vehicle="system_voltage=24"))
    assert answer.volts["BAT.+"] == pytest.approx(25.2, abs=0.05)
    # coil: twice the volts, four times the ohms: 85 ohm becomes 340
    assert answer.amps["K.coil"] == pytest.approx(25.2 / 340.0, rel=0.01)
    assert answer.relays == {"K": "pulled"}
    assert answer.amps["LA.filament"] == pytest.approx(21.0 / 24.0 * (25.1 / 24.0) ** 0.55, rel=0.01)


def test_a_fitting_that_was_removed_is_not_there():
    car = job(LAMP, WIRES[:4], wires=[{"id": "W5", "from": "BAT.-", "to": "body", "fitted": "removed"}])
    assert solved(car, ON).amps["LA.filament"] == NOTHING
    assert "W5" not in solved(car, ON).amps


def test_the_rows_of_a_switch_join_its_terminals_by_position():
    car = job(
        {"ST": "switch_matrix", "L": "lamp", "R": "lamp"},
        ["W1 BAT.+ ST.49", "W2 ST.L L.1", "W3 ST.R R.1", "W4 L.2 body", "W5 R.2 body", "W6 BAT.- body"],
        contacts=[
            {"part": "ST", "gang": "turn", "position": "off"},
            {"part": "ST", "gang": "turn", "position": "left", "joins": "49+L"},
            {"part": "ST", "gang": "turn", "position": "both", "joins": "49+L+R"},
        ],
    )
    lit = {
        position: tuple(solved(car, {"ST": position}).amps[f"{lamp}.filament"] > 0.1 for lamp in "LR")
        for position in ("off", "left", "both")
    }
    assert lit == {"off": (False, False), "left": (True, False), "both": (True, True)}
