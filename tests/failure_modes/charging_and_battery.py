"""Charging, what wakes the alternator, and what empties the battery."""

from __future__ import annotations

from tests.failure_modes.scenario import Scenario, edited, wire
from tests.failure_modes.sound_cars import ENGINE, SMALL

__all__ = ["SCENARIOS"]

_DASH_PLUG = edited(
    ENGINE,
    parts=[{"id": "XB", "kind": "inline_connector", "settings": "rating_a=80"}],
    changed={"E3": {"from": "XB.1s"}},
    wires=[wire("E3a", "FA.2", "XB.1p", "25", "500")],
)
# a resistor beside the lamp wakes the alternator too
_WITH_RESISTOR = edited(
    ENGINE,
    parts=[{"id": "RX", "kind": "resistor", "settings": "ohm=100"}],
    wires=[wire("L5", "KEY.15", "RX.1", "1"), wire("L6", "RX.2", "DCH.a", "1")],
)
_RADIO = edited(
    SMALL,
    parts=[{"id": "RAD", "kind": "radio"}],
    wires=[
        wire("R1", "SW1.2", "RAD.supply"),
        wire("R2", "RAD.earth", "body"),
        wire("R3", "F1.2", "RAD.memory"),
    ],
)
_PLUS_EARTH = edited(
    SMALL,
    vehicle=[{"name": "earth", "value": "positive"}],
    changed={"W1": {"from": "BAT.+"}, "W3": {"from": "BAT.-"}},
)
_LED = edited(
    edited(ENGINE, without=["CHG", "L1", "L2"]),
    changed={"KMR": {"settings": "suppression=resistor"}},
    parts=[{"id": "CHG", "kind": "led_lamp", "role": "charge_lamp", "settings": "watt=2"}],
    wires=[wire("L1", "KEY.15", "CHG.+", "1"), wire("L2", "CHG.-", "DCH.a", "1")],
)
# a second battery for the living side, joined by a relay on D+
_TWIN = edited(
    ENGINE,
    parts=[
        {"id": "KSP", "kind": "relay", "settings": "contact_a=70; make_a=200; suppression=diode"},
        {"id": "BA2", "kind": "battery"},
        {"id": "FT1", "kind": "fuse", "settings": "rating_a=60; family=strip_sf30"},
        {"id": "FT2", "kind": "fuse", "settings": "rating_a=60; family=strip_sf30"},
        {"id": "FLV", "kind": "fuse", "settings": "rating_a=10"},
        {"id": "SLV", "kind": "switch"},
        {"id": "LLV", "kind": "lamp", "settings": "watt=10"},
    ],
    wires=[
        wire("T1", "BAT.+", "FT1.1", "16", "250"),
        wire("T2", "FT1.2", "KSP.30", "16"),
        wire("T3", "KSP.87", "FT2.1", "16", "3000"),
        wire("T4", "FT2.2", "BA2.+", "16", "250"),
        wire("T5", "DCH.k", "KSP.86", "1"),
        wire("T6", "KSP.85", "body", "1"),
        wire("T7", "BA2.-", "body", "25", "300"),
        wire("T8", "BA2.+", "FLV.1", "1.5", "250"),
        wire("T9", "FLV.2", "SLV.1"),
        wire("T10", "SLV.2", "LLV.1"),
        wire("T11", "LLV.2", "body"),
    ],
)

SCENARIOS = (
    Scenario(
        number=8,
        title="a larger alternator charges through an old plug of the dash",
        sound=_DASH_PLUG,
        wrong=edited(_DASH_PLUG, changed={"XB": {"settings": "rating_a=30"}}),
        rule="RAT-1",
        at="XB",
    ),
    Scenario(
        number=28,
        title="an LED in place of the charge lamp: the alternator never wakes",
        mark="page-charge-lamp",
        sound=ENGINE,
        wrong=edited(
            edited(ENGINE, without=["CHG", "L1", "L2"]),
            # 10 mA
            parts=[{"id": "CHG", "kind": "led_lamp", "role": "charge_lamp", "settings": "watt=0.12"}],
            wires=[wire("L1", "KEY.15", "CHG.+", "1"), wire("L2", "CHG.-", "DCH.a", "1")],
        ),
        rule="NET-3",
        at="ALT",
        # the battery carries the car alone; the LED hangs beside the main relay's coil, which nothing damps
        beside=(("SUP-3", "ALT"), ("NET-8", "CHG.+")),
    ),
    Scenario(
        number=28,
        title="an LED charge lamp whose watts nobody wrote",
        mark="page-charge-lamp",
        sound=_LED,
        wrong=edited(_LED, changed={"CHG": {"settings": ""}}),
        rule="NET-3",
        at="CHG",
        severity="warning",
    ),
    Scenario(
        number=29,
        title="the charge lamp returns to the body and not to D+: it never goes out",
        sound=_WITH_RESISTOR,
        wrong=edited(_WITH_RESISTOR, changed={"L2": {"to": "body"}}),
        rule="LMP-4",
        at="CHG",
    ),
    Scenario(
        number=30,
        title="the charging lead loses more than it may",
        mark="drop-encyclopaedia",
        sound=ENGINE,
        wrong=edited(ENGINE, changed={"E3": {"ohm_per_m": "0.1"}}),
        rule="DRP-1",
        at="E3",
    ),
    Scenario(
        number=71,
        title="a box that draws a fifth of an ampere day and night",
        sound=SMALL,
        wrong=edited(
            SMALL,
            parts=[{"id": "BOX", "kind": "constant_load", "settings": "average_a=0.2"}],
            wires=[wire("X1", "F1.2", "BOX.supply"), wire("X2", "BOX.earth", "body")],
        ),
        rule="SUP-2",
        at="BOX",
        severity="warning",
    ),
    Scenario(
        number=71,
        title="the split-charge relay hangs on a permanent feed: the second battery flattens the first",
        sound=_TWIN,
        wrong=edited(_TWIN, changed={"T5": {"from": "F1.2"}}),
        rule="SUP-4",
        at="KSP",
        folded=("RAT-1",),
    ),
    Scenario(
        number=80,
        title="the battery is in the wrong way round",
        sound=_RADIO,
        wrong=edited(_RADIO, changed={"W1": {"from": "BAT.+"}, "W3": {"from": "BAT.-"}}),
        rule="NET-4",
        at="BAT",
        # each thing that minds is told, and the body has no way to the post it should be on
        beside=(("NET-1", "body"),),
    ),
    Scenario(
        number=80,
        title="a radio for negative earth in a car with its plus on the body",
        sound=_PLUS_EARTH,
        wrong=edited(_PLUS_EARTH, parts=_RADIO["parts"][-1:], wires=_RADIO["wires"][-3:]),
        rule="NET-4",
        at="RAD",
    ),
)
