"""NET-6 wrong pins, NET-7 marks that differ, NET-8 peaks, and half-wired contacts: one that makes each, one that just
does not.
"""

from __future__ import annotations

from loomwright.states.rules import net
from tests.states.rules.engine_car import PINS, engine_car
from tests.states.small_jobs import car, findings, wire

NEEDS = (
    {"id": "inject", "part": "INJ", "terminal": "2", "ability": "injector", "pin": "A4"},
    {"id": "spark", "part": "COL", "terminal": "signal", "ability": "ignition", "pin": "A5"},
)


def places(job, rule):
    """Severity and places of every finding of a rule, folded ones left out."""
    return [(one.severity, one.at) for one in findings(job, net) if one.rule == rule]


# NET-6


def test_a_need_wired_to_another_pin_than_its_own_is_told_with_both_pins():
    crossed = engine_car(needs=NEEDS, changed={"I2": {"to": "ECU.5"}, "I5": {"to": "ECU.4"}})
    assert places(crossed, "NET-6") == [
        ("fault", ("INJ.2", "ECU.5", "ECU.4")),
    ]


def test_a_wire_in_its_neighbours_hole_is_one_finding():
    """INJ's wire sits beside the coil's in pin 5, and pin 4 is empty: three facts, one wire to move."""
    found = findings(engine_car(needs=NEEDS, changed={"I2": {"to": "ECU.5"}}), net)
    [one] = [one for one in found if one.rule in ("NET-1", "NET-2", "NET-6")]
    assert (one.rule, one.at) == ("NET-2", ("ECU.5",))
    assert [(inner.rule, inner.at[0]) for inner in one.folded][:2] == [("NET-6", "INJ.2"), ("NET-1", "ECU.4")]
    assert one.mend == "Take the wire of INJ.2 from ECU.5 to ECU.4, which its need is given"


def test_a_wire_in_another_hole_by_itself_holds_the_hole_that_is_empty():
    pins = (*PINS, {"id": "A9", "part": "ECU", "terminal": "9", "abilities": "injector"})
    found = findings(engine_car(needs=NEEDS, pins=pins, changed={"I2": {"to": "ECU.9"}}), net)
    [one] = [one for one in found if one.rule in ("NET-1", "NET-6")]
    assert (one.rule, one.at) == ("NET-6", ("INJ.2", "ECU.9", "ECU.4"))
    assert ("NET-1", ("ECU.4",)) in [(inner.rule, inner.at) for inner in one.folded]


def test_a_need_wired_to_its_pin_is_not_told_nor_one_whose_way_meets_no_pin():
    assert places(engine_car(needs=NEEDS), "NET-6") == []
    # the way of the key line leads over the key: no pin is met at KEY.30
    key_line = {"id": "key", "part": "KEY", "terminal": "30", "ability": "key_input", "pin": "A3"}
    assert places(engine_car(needs=[*NEEDS, key_line]), "NET-6") == []


def test_needs_that_are_built_together_are_asked_and_those_of_a_choice_are_not():
    changed = {"I2": {"to": "ECU.5"}, "I5": {"to": "ECU.4"}}
    whole = [{**need, "option": "fire/all"} for need in NEEDS]
    assert places(engine_car(needs=whole, changed=changed), "NET-6") == [("fault", ("INJ.2", "ECU.5", "ECU.4"))]
    choice = [{**need, "option": f"fire/{need['id']}"} for need in NEEDS]
    assert places(engine_car(needs=choice, changed=changed), "NET-6") == []


def test_a_need_at_a_way_of_a_joint_that_lost_its_wire_is_told_there():
    # a way of a splice is there only while something is wired to it
    need = {"id": "park", "part": "SPX", "terminal": "3", "ability": "switch_to_earth", "pin": "A9"}
    job = engine_car(
        needs=[need],
        pins=(*PINS, {"id": "A9", "part": "ECU", "terminal": "9", "abilities": "switch_to_earth"}),
        parts=[{"id": "SPX", "kind": "splice"}],
        wires=[wire("X1", "KEY.15", "SPX.1"), wire("X2", "SPX.2", "LA1.1")],
    )
    assert ("fault", ("SPX.3",)) in places(job, "NET-1")


# NET-7

_WIPER = {
    "parts": [{"id": "WIP", "kind": "wiper"}, {"id": "WSW", "kind": "switch_matrix"}],
    "contacts": [
        {"part": "WSW", "position": "off"},
        {"part": "WSW", "position": "slow", "joins": "53a+53"},
        {"part": "WSW", "position": "fast", "joins": "53a+53b"},
    ],
}
_WIPER_WIRES = [
    wire("X1", "KEY.15", "WSW.53a"),
    wire("X2", "WSW.53", "WIP.53"),
    wire("X3", "WSW.53b", "WIP.53b"),
    wire("X4", "WIP.31", "body"),
]


def test_the_brushes_of_a_wiper_exchanged_are_told_at_both_wires():
    turned = [*_WIPER_WIRES]
    turned[1] = wire("X2", "WSW.53", "WIP.53b")
    turned[2] = wire("X3", "WSW.53b", "WIP.53")
    assert places(car(**_WIPER, wires=turned), "NET-7") == [
        ("warning", ("X2", "WSW.53", "WIP.53b")),
        ("warning", ("X3", "WSW.53b", "WIP.53")),
    ]


def test_a_brush_on_the_washers_terminal_of_a_stalk_that_has_its_own_is_told():
    stalk = [
        *_WIPER["contacts"],
        {"part": "WSW", "gang": "wash", "position": "on", "joins": "53a+W", "momentary": "yes"},
    ]
    washer = {"id": "PUMP", "kind": "motor"}
    job = {"parts": [*_WIPER["parts"], washer], "contacts": stalk}
    pump = [wire("X5", "PUMP.-", "body"), wire("X6", "WSW.W", "PUMP.+")]
    assert places(car(**job, wires=[*_WIPER_WIRES, *pump]), "NET-7") == []
    turned = [*_WIPER_WIRES, pump[0], wire("X6", "WSW.53b", "PUMP.+")]
    turned[2] = wire("X3", "WSW.W", "WIP.53b")
    assert places(car(**job, wires=turned), "NET-7") == [("warning", ("X3", "WSW.W", "WIP.53b"))]


def test_like_to_like_is_no_crossing_nor_a_wire_to_an_unmarked_terminal():
    assert places(car(**_WIPER, wires=_WIPER_WIRES), "NET-7") == []


# NET-1 of contacts


def test_a_contact_wired_on_one_side_only_is_a_warning():
    without = [one for one in _WIPER_WIRES if one["id"] != "X3"]
    assert ("warning", ("WSW.53b",)) in places(car(**_WIPER, wires=without), "NET-1")


def test_a_contact_wired_on_neither_side_is_wanted_by_nobody():
    spare = {**_WIPER, "contacts": [*_WIPER["contacts"], {"part": "WSW", "position": "spare", "joins": "61+62"}]}
    assert places(car(**spare, wires=_WIPER_WIRES), "NET-1") == []


def test_the_position_contacts_of_a_gear_selector_are_not_asked():
    assert places(engine_car(), "NET-1") == []


# NET-4 of motors

_BLOWER = [wire("B1", "SW1.2", "BLW.+"), wire("B2", "BLW.-", "body")]


def test_a_motor_made_for_one_direction_is_told_when_its_wires_are_exchanged():
    parts = [{"id": "BLW", "kind": "motor"}]
    assert places(car(parts=parts, wires=_BLOWER), "NET-4") == []
    turned = [wire("B1", "SW1.2", "BLW.-"), wire("B2", "BLW.+", "body")]
    assert places(car(parts=parts, wires=turned), "NET-4") == [("fault", ("BLW", "BLW.+", "BLW.-"))]


# NET-8

_RELAY = [{"id": "KX", "kind": "relay"}, {"id": "TT", "kind": "led_lamp"}, {"id": "SW2", "kind": "switch"}]
_RELAY_WIRES = [
    wire("K0", "KEY.15", "SW2.1"),
    wire("K1", "SW2.2", "KX.86"),
    wire("K2", "KX.85", "body"),
    wire("K3", "BAT.+", "KX.30", "4", "200"),
    wire("K4", "KX.87", "body", "4", "200"),
    wire("K5", "KX.86", "TT.+"),
    wire("K6", "TT.-", "body"),
]


def test_an_led_beside_a_coil_with_nothing_across_it_is_told():
    assert places(car(parts=_RELAY, wires=_RELAY_WIRES), "NET-8") == [("warning", ("TT.+", "KX.86"))]


def test_a_coil_with_a_resistor_or_an_led_with_a_wire_of_its_own_is_not_told():
    damped = [{**_RELAY[0], "settings": "suppression=resistor"}, *_RELAY[1:]]
    assert places(car(parts=damped, wires=_RELAY_WIRES), "NET-8") == []
    apart = [*_RELAY_WIRES[:5], wire("K5", "KEY.15", "TT.+"), _RELAY_WIRES[6]]
    assert places(car(parts=_RELAY, wires=apart), "NET-8") == []


def test_a_lamp_beside_the_coil_takes_its_peak():
    lamp = {"id": "LA2", "kind": "lamp"}
    beside = [wire("K8", "KX.86", "LA2.1"), wire("K9", "LA2.2", "body")]
    assert places(car(parts=[*_RELAY, lamp], wires=[*_RELAY_WIRES, *beside]), "NET-8") == []


def test_a_diode_of_the_job_across_the_coil_takes_its_peak():
    parts = [*_RELAY, {"id": "DX", "kind": "diode"}]
    wires = [*_RELAY_WIRES, wire("K7", "KX.85", "DX.a", "1", "50"), wire("K8", "DX.k", "KX.86", "1", "50")]
    assert places(car(parts=parts, wires=wires), "NET-8") == []


def _tacho(stands_v):
    return car(
        parts=[
            {"id": "COL", "kind": "coil_plain"},
            {"id": "PTS", "kind": "switch"},
            {"id": "REV", "kind": "tacho_pulse", "settings": f"input_max_v={stands_v}"},
        ],
        wires=[
            wire("T1", "KEY.15", "COL.15"),
            wire("T2", "COL.1", "PTS.1"),
            wire("T6", "PTS.2", "body"),
            wire("T3", "COL.1", "REV.signal"),
            wire("T4", "KEY.15", "REV.supply"),
            wire("T5", "REV.earth", "body"),
        ],
    )


def test_a_counting_gauge_on_an_ignition_coil_is_told_where_its_input_does_not_stand_the_peak():
    assert places(_tacho(30), "NET-8") == [("fault", ("REV.signal", "COL.1"))]
    assert places(_tacho(400), "NET-8") == []


def test_what_is_on_the_coils_fed_end_gets_no_peak():
    # the pump's relay coil in the engine car is cut by the controller, which has a clamp
    assert places(engine_car(pins=PINS), "NET-8") == []
