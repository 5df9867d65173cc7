"""Straps, earths, fuses and unfused leads."""

from __future__ import annotations

from tests.failure_modes.scenario import Scenario, edited, wire
from tests.failure_modes.sound_cars import ENGINE, SMALL

__all__ = ["SCENARIOS"]

# the controller earthed on the body; a control cable of 60 milliohm lies between engine and body
_WITH_CABLE = edited(
    ENGINE,
    changed={"C2": {"to": "body"}},
    wires=[wire("CB", "engine", "body", "10", "1000", circuit="cable", ohm_per_m="0.06")],
    circuits=[{"id": "cable", "class": "linkage"}],
)
_ISOLATED = edited(
    SMALL,
    parts=[
        {"id": "ISO", "kind": "isolator"},
        {"id": "F2", "kind": "fuse", "settings": "rating_a=10"},
        {"id": "SW2", "kind": "switch"},
        {"id": "LA2", "kind": "lamp", "settings": "watt=10"},
    ],
    changed={"W3": {"from": "ISO.2"}},
    wires=[
        wire("Z1", "BAT.+", "ISO.1", "10", "250"),
        wire("Z2", "ISO.2", "F2.1", "2.5", "250"),
        wire("Z3", "F2.2", "SW2.1"),
        wire("Z4", "SW2.2", "LA2.1"),
        wire("Z5", "LA2.2", "body"),
    ],
    requirements=[{"id": "R1", "point": "SW2.1", "when": "ISO=off", "must": "dead", "why": "work with it off"}],
)
_EYELET = edited(
    ENGINE, parts=[{"id": "EP", "kind": "earth_point", "settings": "on=body"}], changed={"W1": {"to": "EP.1"}}
)
_STRAP_AT_THE_BOX = edited(ENGINE, changed={"W2": {"to": "gearbox"}})

# a main fuse, a bar, and a fuse for each branch
_BOX = edited(
    SMALL,
    parts=[
        {"id": "FM", "kind": "fuse", "settings": "rating_a=60; family=strip_sf30"},
        {"id": "BB", "kind": "busbar"},
        {"id": "FX", "kind": "fuse", "settings": "rating_a=10"},
        {"id": "SWX", "kind": "switch"},
        {"id": "LX", "kind": "lamp", "settings": "watt=10"},
    ],
    changed={"W3": {"from": "BB.2"}},
    wires=[
        wire("B1", "BAT.+", "FM.1", "16", "250"),
        wire("B2", "FM.2", "BB.1", "16", "300"),
        wire("B3", "BB.3", "FX.1", "1.5", "200"),
        wire("B4", "FX.2", "SWX.1", "1"),
        wire("B5", "SWX.2", "LX.1", "1"),
        wire("B6", "LX.2", "body", "1"),
    ],
)

SCENARIOS = (
    Scenario(
        number=1,
        title="no strap from engine to body: the starter's current returns through a control cable",
        mark="drop-starter-sheet",
        sound=_WITH_CABLE,
        wrong=edited(_WITH_CABLE, without=["W2"]),
        rule="NET-1",
        at="engine",
        # the solenoid lets go with the key however few volts are left, so nothing starts in gear
        folded=("DRP-1", "KEY-3"),
    ),
    Scenario(
        number=5,
        title="the battery's earth lead has ten milliohm too many",
        mark="drop-manual",
        sound=ENGINE,
        wrong=edited(ENGINE, changed={"W1": {"ohm_per_m": "0.02"}}),
        rule="DRP-1",
        at="W1",
    ),
    Scenario(
        number=7,
        title="a long feed from the battery with no fuse",
        sound=SMALL,
        wrong=edited(SMALL, changed={"W3": {"length_mm": "2000"}}),
        rule="PRO-1",
        at="W3",
    ),
    Scenario(
        number=10,
        title="a bigger fuse than the wire stands",
        mark="cfr-33-183-425",
        sound=SMALL,
        # 25 A before 1.0 mm2
        wrong=edited(SMALL, changed={"F1": {"settings": "rating_a=25"}, "W6": {"size_mm2": "1"}}),
        rule="PRO-2",
        at="F1",
    ),
    Scenario(
        number=10,
        title="a branch fuse three times too large: the main fuse before it is not meant",
        mark="cfr-33-183-425",
        sound=_BOX,
        wrong=edited(_BOX, changed={"FX": {"settings": "rating_a=30"}}),
        rule="PRO-2",
        at="FX",
        folded=("PRO-2",),
    ),
    Scenario(
        number=24,
        title="the cable from a battery in the boot has its fuse at the far end",
        sound=ENGINE,
        wrong=edited(ENGINE, changed={"E2": {"length_mm": "4000"}}),
        rule="PRO-1",
        at="E2",
    ),
    Scenario(
        number=26,
        title="a main feed lies past the isolator",
        sound=_ISOLATED,
        wrong=edited(_ISOLATED, changed={"Z2": {"from": "BAT.+"}}),
        rule="REQ-1",
        at="SW2.1",
    ),
    Scenario(
        number=82,
        title="paint under the battery's earth eyelet",
        mark="drop-manual",
        sound=_EYELET,
        wrong=edited(_EYELET, changed={"EP": {"settings": "on=body; joint_mohm=15"}}),
        rule="DRP-1",
        at="EP",
    ),
    Scenario(
        number=84,
        title="the strap at the gearbox was not refitted after the gearbox was out",
        sound=_STRAP_AT_THE_BOX,
        wrong=edited(_STRAP_AT_THE_BOX, without=["W2"]),
        rule="NET-1",
        at="engine",
        folded=("NET-3",),
    ),
)
