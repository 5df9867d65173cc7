"""Mistakes of the trade in small circuits beside the engine, each beside the sound circuit, which is silent."""

from __future__ import annotations

import pytest

from loomwright.car import Car
from loomwright.states.rules import key, live, net, rating, signal
from tests.states.rules.engine_car import PINS, engine_car
from tests.states.small_jobs import car, codes, findings, wire

# a second battery behind a split-charge relay on D+, with something of its own to feed

_SECOND = {
    "parts": [
        {"id": "BA2", "kind": "battery"},
        {"id": "KSP", "kind": "relay", "settings": "contact_a=70; make_a=200"},
        {"id": "FS1", "kind": "fuse", "settings": "rating_a=60; family=strip_sf30"},
        {"id": "FS2", "kind": "fuse", "settings": "rating_a=60; family=strip_sf30"},
        {"id": "FFR", "kind": "fuse", "settings": "rating_a=10"},
        {"id": "FRI", "kind": "constant_load", "circuit": "fridge", "settings": "average_a=5"},
    ],
    "circuits": [{"id": "fridge", "class": "accessories", "feed": "BA2.+"}],
    "wires": [
        wire("S1", "BAT.+", "FS1.1", "25", "250"),
        wire("S2", "FS1.2", "KSP.30", "25", "600"),
        wire("S3", "KSP.87", "FS2.1", "25", "3000"),
        wire("S4", "FS2.2", "BA2.+", "25", "250"),
        wire("S5", "ALT.D+", "KSP.86", "1"),
        wire("S6", "KSP.85", "body", "1"),
        wire("S7", "BA2.-", "body", "25", "300"),
        wire("S8", "BA2.+", "FFR.1", "4", "250"),
        wire("S9", "FFR.2", "FRI.supply", "2.5", circuit="fridge"),
        wire("S10", "FRI.earth", "body", "2.5", circuit="fridge"),
    ],
}


def told(job, *rules):
    """Severity, rule and places of what is told of some rules, folded ones left out."""
    return [(one.severity, one.rule, one.at) for one in findings(job, net) if one.rule in rules]


def test_a_second_battery_the_wrong_way_round_is_told_at_its_posts():
    assert told(engine_car(**_SECOND), "NET-4") == []
    turned = {"S4": {"to": "BA2.-"}, "S7": {"from": "BA2.+"}, "S8": {"from": "BA2.-"}}
    found = [one for one in findings(engine_car(**_SECOND, changed=turned), net) if one.rule == "NET-4"]
    assert [one.at for one in found] == [("BA2", "BA2.+", "BA2.-")]
    assert "dead short" in found[0].wrong
    # the box behind it is fed the wrong way round because of it
    assert ("NET-4", "FRI") in {(one.rule, one.at[0]) for one in found[0].folded}


def test_two_batteries_in_series_are_neither_of_them_wrong():
    job = car(
        vehicle=[{"name": "system_voltage", "value": "24"}],
        parts=[{"id": "BA2", "kind": "battery"}],
        changed={"W3": {"from": "BA2.+"}},
        wires=[wire("S1", "BAT.+", "BA2.-", "25", "300")],
    )
    assert told(job, "NET-4") == []


def test_a_controller_without_an_earth_is_told_at_its_earth_pin_and_not_at_its_inside():
    found = findings(engine_car(without=["C2"]), net)
    roots = [one for one in found if one.rule == "NET-3"]
    assert roots[0].at[0] == "ECU.2"
    words = [text for one in roots for text in (*one.at, one.wrong, one.mend, *(in_.wrong for in_ in one.folded))]
    assert [text for text in words if "._" in text] == []


def test_of_a_box_with_both_ends_on_earth_the_end_marked_plus_is_the_one_to_move():
    box = {
        "parts": [{"id": "BOX", "kind": "constant_load", "circuit": "work"}],
        "wires": [wire("X1", "BOX.supply", "body"), wire("X2", "BOX.earth", "body")],
    }
    (found,) = [one for one in findings(car(**box), net) if one.at[0] == "BOX"]
    assert found.mend == "Move BOX.supply to its feed"


def test_an_open_terminal_marked_as_earth_is_to_be_earthed_though_a_feed_can_reach_it():
    dynamo = {
        "parts": [{"id": "DYN", "kind": "dynamo"}, {"id": "CBX", "kind": "control_box"}],
        "wires": [
            wire("D1", "DYN.D", "CBX.D", "6"),
            wire("D2", "DYN.F", "CBX.F", "2.5"),
            wire("D3", "CBX.B", "BAT.+", "6"),
        ],
    }
    (found,) = [one for one in findings(car(**dynamo), net) if one.at == ("CBX.E",)]
    assert found.mend == "Wire CBX.E to its earth"


def test_a_pin_that_is_no_power_earth_is_not_named_for_the_inside():
    # the pins stand in any order: the first power earth is the one named
    found = findings(engine_car(without=["C2"], pins=tuple(reversed(PINS))), net)
    assert [one.at[0] for one in found if one.rule == "NET-3"] == ["ECU.2"]


# a fuse that opens is the root of what is dead behind it


def test_a_fuse_far_too_small_holds_the_loads_that_are_dead_because_of_it():
    found = findings(car(changed={"F1": {"settings": "rating_a=0.5"}}), net, rating)
    (root,) = [one for one in found if one.severity == "fault"]
    assert (root.rule, root.at[0]) == ("RAT-1", "F1")
    assert "opens" in root.wrong
    assert [(one.rule, one.at[0]) for one in root.folded] == [("NET-3", "LA1")]


@pytest.mark.parametrize(("rating_a", "words"), [("1.7", "ages until it opens"), ("1.2", "will not stay whole")])
def test_a_fuse_a_little_too_small_is_no_root_and_its_words_go_by_its_gates(rating_a, words):
    # 21 W at 12.5 V: 1.79 A; blade fuses need not open below 135 %, common practice from memory
    (found,) = findings(car(changed={"F1": {"settings": f"rating_a={rating_a}"}}), rating)
    assert words in found.wrong
    assert found.folded == ()


# motors that are reversed by contacts resting on earth


def lock_car(**cells):
    """A lock motor between two relays, each at rest on earth; a switch with a middle position works them."""
    sheets = {
        "parts": [
            {"id": "KLK", "kind": "relay"},
            {"id": "KUL", "kind": "relay"},
            {"id": "SLC", "kind": "switch_changeover", "settings": "centre_off=yes"},
            {"id": "MOT", "kind": "reversing_motor", "settings": "running_a=3; inrush_a=7"},
        ],
        "wires": [
            wire("Q1", "F1.2", "KLK.87"),
            wire("Q2", "F1.2", "KUL.87"),
            wire("Q3", "F1.2", "SLC.c"),
            wire("Q4", "SLC.a", "KLK.86"),
            wire("Q5", "SLC.b", "KUL.86"),
            wire("Q6", "KLK.85", "body"),
            wire("Q7", "KUL.85", "body"),
            wire("Q8", "KLK.87a", "body"),
            wire("Q9", "KUL.87a", "body"),
            wire("Q10", "KLK.30", "MOT.a"),
            wire("Q11", "KUL.30", "MOT.b"),
        ],
    }
    return car(**{**sheets, **cells})


def test_a_motor_that_turns_both_ways_and_rests_on_earth_is_fine():
    assert codes(lock_car(), net) == []


def test_a_motor_that_can_not_be_earthed_on_one_side_turns_one_way_only():
    (found,) = findings(lock_car(without=["Q8"]), net)
    assert (found.rule, found.severity, found.at) == ("NET-3", "fault", ("MOT", "MOT.a", "MOT.b"))
    assert found.wrong == "turns one way only: no state feeds MOT.b and earths MOT.a"


def test_a_motor_that_never_turns_is_told_once():
    found = findings(lock_car(without=["Q8", "Q9"]), net)
    assert [one.at[0] for one in found if one.rule == "NET-3"] == ["MOT"]
    assert "one way" not in found[0].wrong


# gauges


def gauge_car(settings="", **cells):
    """A thermal gauge behind a stabiliser, its sender in the tank."""
    sheets = {
        "parts": [
            {"id": "STB", "kind": "stabiliser"},
            {"id": "GFU", "kind": "gauge_thermal", "settings": settings},
            {"id": "SFU", "kind": "sender_fuel"},
        ],
        "wires": [
            wire("Y1", "KEY.15", "STB.B"),
            wire("Y2", "STB.I", "GFU.supply"),
            wire("Y3", "GFU.signal", "SFU.1"),
            wire("Y4", "STB.E", "body"),
        ],
    }
    return car(**{**sheets, **cells})


def test_a_gauge_made_for_a_stabiliser_is_told_where_it_gets_the_battery():
    assert told(gauge_car(), "NET-5") == []
    past = {"Y2": {"from": "KEY.15"}}
    (found,) = [one for one in findings(gauge_car(changed=past), net) if one.rule == "NET-5"]
    assert found.at == ("GFU", "GFU.supply")
    # 10 V times 1.15
    assert round(found.allowed or 0.0, 2) == 11.5
    assert told(gauge_car("stabilised=no", changed=past), "NET-5") == []
    # with no stabiliser in the car nobody knows what the gauge is made for, unless its row says so
    alone = {"without": ["STB", "Y1", "Y4"], "changed": past}
    assert told(gauge_car(**alone), "NET-5") == []
    assert told(gauge_car("stabilised=yes", **alone), "NET-5") == [("fault", "NET-5", ("GFU", "GFU.supply"))]


def test_a_stabiliser_fed_at_its_way_out_is_the_root_of_what_its_clamp_does():
    exchanged = {"Y1": {"to": "STB.I"}, "Y2": {"from": "STB.B"}}
    assert told(gauge_car(), "NET-4") == []
    (one,) = [one for one in Car(gauge_car(changed=exchanged)).findings() if one.severity == "fault"]
    assert (one.rule, one.at) == ("NET-4", ("STB", "STB.B", "STB.I"))
    assert "Exchange the wires at STB.B and STB.I" in one.mend
    # the network's clamp opens the fuse: what hangs on it comes of it, and so does the gauge
    assert {(inner.rule, inner.at[0]) for inner in one.folded} == {("RAT-1", "F1"), ("NET-3", "LA1"), ("NET-3", "GFU")}


def test_a_converter_fed_at_its_way_out_is_told():
    def built(feed, load):
        return car(
            parts=[{"id": "CNV", "kind": "dc_dc"}, {"id": "LB", "kind": "lamp"}],
            wires=[
                wire("Y1", "SW1.2", f"CNV.{feed}"),
                wire("Y2", f"CNV.{load}", "LB.1"),
                wire("Y3", "LB.2", "body"),
                wire("Y4", "CNV.earth", "body"),
            ],
        )

    assert told(built("supply", "out"), "NET-4") == []
    assert told(built("out", "supply"), "NET-4") == [("fault", "NET-4", ("CNV", "CNV.supply", "CNV.out"))]


def led_car(kind="led_lamp", settings="", beside=()):
    """The engine car with another charge lamp, and with what lies beside it."""
    ends = ("+", "-") if kind == "led_lamp" else ("1", "2")
    return engine_car(
        without=["CHG", "L1", "L2"],
        parts=[{"id": "LED", "kind": kind, "role": "charge_lamp", "settings": settings}, *beside],
        wires=[
            wire("L5", "KEY.15", f"LED.{ends[0]}", "1"),
            wire("L6", f"LED.{ends[1]}", "DCH.a", "1"),
            *(wire(f"L7{row['id']}", "KEY.15", f"{row['id']}.1", "1") for row in beside),
            *(wire(f"L8{row['id']}", f"{row['id']}.2", "DCH.a", "1") for row in beside),
        ],
    )


def test_an_led_whose_watts_nobody_wrote_is_a_warning_where_it_alone_wakes_the_alternator():
    (one,) = [one for one in findings(led_car(), net) if one.rule == "NET-3"]
    assert (one.severity, one.at) == ("warning", ("LED", "ALT"))
    assert "wakes only by the 2 W taken for it" in one.wrong


@pytest.mark.parametrize(
    ("settings", "expected"),
    # 2 W and 1.5 W wake it, as written; 0.25 W does not, and is told at the alternator
    [("watt=2", []), ("watt=1.5", []), ("watt=0.25", [("fault", "NET-3", ("ALT",))])],
)
def test_with_its_watts_written_it_is_taken_at_its_word(settings, expected):
    assert told(led_car(settings=settings), "NET-3") == expected


def test_a_resistor_beside_it_wakes_the_alternator_whatever_it_takes():
    assert told(led_car(beside=[{"id": "RX", "kind": "resistor", "settings": "ohm=100"}]), "NET-3") == []


def test_a_filament_lamp_is_not_asked_for_its_watts():
    assert told(led_car("lamp"), "NET-3") == []


def test_a_sender_whose_case_is_bolted_to_nothing_has_no_earth():
    free = {"SFU": {"settings": "bolted_to=none"}}
    assert told(gauge_car(changed=free), "NET-1") == [("fault", "NET-1", ("SFU.case",))]
    # with a wire of its own it needs no bolt
    assert told(gauge_car(changed={**free, "Y4": {"from": "body", "to": "SFU.case"}}), "NET-1") == [
        ("fault", "NET-1", ("STB.E",))
    ]


# a dynamo and its control box


def test_a_dynamos_armature_and_field_go_to_their_own_letters():
    parts = [{"id": "DYN", "kind": "dynamo"}, {"id": "CBX", "kind": "control_box"}]
    rest = [wire("D3", "CBX.B", "BAT.+", "6"), wire("D4", "CBX.E", "body", "2.5")]
    right = [wire("D1", "DYN.D", "CBX.D", "6"), wire("D2", "DYN.F", "CBX.F", "2.5")]
    crossed = [wire("D1", "DYN.D", "CBX.F", "6"), wire("D2", "DYN.F", "CBX.D", "2.5")]
    assert told(car(parts=parts, wires=[*right, *rest]), "NET-7") == []
    assert [at for _, _, at in told(car(parts=parts, wires=[*crossed, *rest]), "NET-7")] == [
        ("D1", "DYN.D", "CBX.F"),
        ("D2", "DYN.F", "CBX.D"),
    ]


# a heater in the sensors' earth


def test_a_sensors_heater_in_the_sensor_earth_is_told_at_its_own_wire():
    pins = (
        *PINS,
        {"id": "S1", "part": "ECU", "terminal": "11", "abilities": "analog_input"},
        {"id": "S2", "part": "ECU", "terminal": "12", "abilities": "sensor_earth"},
    )

    def job(earth: str):
        return engine_car(
            pins=pins,
            parts=[{"id": "WB", "kind": "wideband"}],
            wires=[
                wire("X1", "BR.6", "WB.supply"),
                wire("X2", "WB.earth", earth),
                wire("X3", "WB.signal", "ECU.11", "0.5"),
                wire("X4", "WB.signal_earth", "ECU.12", "0.5"),
            ],
        )

    assert [one for one in findings(job("engine"), signal) if one.rule == "SGN-1"] == []
    (found,) = [one for one in findings(job("WB.signal_earth"), signal) if one.rule == "SGN-1"]
    assert found.severity == "fault"
    assert found.at[0] in ("X2", "X4")
    assert "supply current of WB" in found.wrong


# the battery isolator


def isolated(feed: str):
    """The engine car with an isolator in the battery's lead; the controller's key line from `feed`."""
    moved = {name: {"from": "ISO.2"} for name in ("W3", "E1", "E2", "E4", "M1", "P1")}
    return engine_car(
        parts=[{"id": "ISO", "kind": "isolator", "role": "isolator", "settings": "rating_a=250"}],
        changed={**moved, "M4": {"from": feed}, "C3": {"from": feed}, "L1": {"from": feed}},
        wires=[wire("O1", "BAT.+", "ISO.1", "35", "300"), wire("O2", "KEY.15", "ISO.ign1", "1.5")],
    )


def test_an_isolator_in_the_batterys_lead_alone_does_not_stop_a_running_engine():
    assert [one for one in findings(isolated("ISO.ign2"), key) if one.at[0] == "ISO"] == []
    (found,) = [one for one in findings(isolated("KEY.15"), key) if one.at[0] == "ISO"]
    assert (found.rule, found.severity, found.at) == ("KEY-2", "fault", ("ISO", "ALT"))
    assert dict(found.when) == {"key": "run", "engine": "running", "ISO": "off", "before.ISO": "on"}
    assert "ECU" in found.touches


# a controller on the battery with a key line


def test_a_controller_on_30_with_a_key_line_is_asked_for_its_supply_only():
    kept = {"parts": [{"id": "FE", "kind": "fuse", "settings": "rating_a=10"}]}
    feeds = [wire("X1", "BAT.+", "FE.1", "2.5", "200"), wire("X2", "FE.2", "ECU.1", "1.5", circuit="memory")]
    circuits = [{"id": "memory", "class": "supply", "feed": "30"}]
    job = engine_car(**kept, wires=feeds, circuits=circuits, without=["C1"], changed={"ECU": {"circuit": "memory"}})
    assert [one for one in findings(job, live) if one.at[0] == "ECU"] == []
    late = engine_car(
        wires=[wire("X2", "KEY.15", "ECU.1", "1.5", circuit="memory")],
        circuits=circuits,
        without=["C1"],
        changed={"ECU": {"circuit": "memory"}},
    )
    (found,) = [one for one in findings(late, live) if one.at[0] == "ECU"]
    assert "its supply at ECU.1 is dead with the key at off" in found.wrong


# a resistor that is too small for what passes it


@pytest.mark.parametrize(
    ("settings", "is_told"), [("ohm=6; watt=10", True), ("ohm=6; watt=30", False), ("ohm=6", False)]
)
def test_a_resistor_is_held_against_the_watts_that_its_row_says(settings, is_told):
    # beside a lamp of 21 W, 12.5 V over 6 ohm: 26 W
    job = car(
        parts=[{"id": "RL", "kind": "resistor", "settings": settings}],
        wires=[wire("X1", "LA1.1", "RL.1"), wire("X2", "RL.2", "body")],
    )
    found = [one for one in findings(job, rating) if one.at == ("RL",)]
    assert bool(found) == is_told
    if is_told:
        # the root of 10 W / 6 ohm
        assert found[0].allowed == pytest.approx(1.29, abs=0.01)
        assert found[0].found == pytest.approx(2.08, abs=0.05)


def test_what_a_crash_switch_must_cut_is_not_told_to_go_over_a_relay():
    job = car(
        parts=[{"id": "INE", "kind": "crash_switch", "settings": "rating_a=1"}],
        changed={"W6": {"to": "INE.1"}},
        wires=[wire("X1", "INE.2", "LA1.1")],
    )
    (found,) = [one for one in findings(job, rating) if one.at == ("INE",)]
    assert "has to go through it" in found.mend


# a starter that nobody asked


def test_a_starter_on_the_run_contact_turns_by_itself():
    assert [one for one in findings(engine_car(), key) if one.rule == "KEY-1"] == []
    found = findings(engine_car(changed={"E7": {"from": "KEY.15"}}), key)
    # the way goes back through the relay's coil to the wire that was moved
    assert {"E6", "KST", "E7"} <= set(next(one for one in found if one.rule == "KEY-1").path)
    assert ("fault", ("STA", "E6")) in [(one.severity, one.at) for one in found if one.rule == "KEY-1"]


def test_a_push_that_starts_is_a_switch_somebody_moved():
    push = engine_car(
        parts=[{"id": "PSH", "kind": "switch"}],
        changed={"E7": {"from": "PSH.2"}},
        wires=[wire("X1", "KEY.15", "PSH.1", "2.5")],
    )
    assert [one for one in findings(push, key) if one.rule == "KEY-1"] == []
