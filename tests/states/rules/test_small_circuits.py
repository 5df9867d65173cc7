"""Mistakes of the trade in small circuits beside the engine, each beside the sound circuit, which is silent."""

from __future__ import annotations

from loomwright.states.rules import net
from tests.states.rules.engine_car import PINS, engine_car
from tests.states.small_jobs import car, findings, wire

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
