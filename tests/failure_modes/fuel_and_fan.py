"""Pump and fan: feeds, earths, and what keeps them running."""

from __future__ import annotations

from tests.failure_modes.scenario import Scenario, edited, wire
from tests.failure_modes.sound_cars import ENGINE, SMALL

__all__ = ["SCENARIOS"]

_FAN = edited(
    SMALL,
    parts=[
        {"id": "FF", "kind": "fuse", "settings": "rating_a=30"},
        {"id": "TS", "kind": "temperature_switch"},
        {"id": "KF", "kind": "relay"},
        {"id": "FAN", "kind": "fan", "circuit": "cool", "settings": "running_a=12"},
        {"id": "HN", "kind": "horn", "circuit": "horn"},
        {"id": "SH", "kind": "switch"},
        {"id": "JE", "kind": "splice"},
    ],
    circuits=[{"id": "cool", "class": "cooling", "feed": "15"}, {"id": "horn", "class": "signalling"}],
    wires=[
        wire("A1", "BAT.+", "FF.1", "6", "300"),
        wire("A2", "FF.2", "KF.30", "6"),
        wire("A3", "KF.87", "FAN.+", "4", circuit="cool"),
        wire("A4", "FAN.-", "JE.1", "4", circuit="cool"),
        wire("A5", "KEY.15", "KF.86"),
        wire("A6", "KF.85", "TS.1"),
        wire("H1", "F1.2", "SH.1"),
        wire("H2", "SH.2", "HN.+", circuit="horn"),
        wire("H3", "HN.-", "JE.2", circuit="horn"),
        wire("JB", "JE.3", "body", "4"),
    ],
)
_CRASH = edited(
    ENGINE,
    parts=[{"id": "CRS", "kind": "crash_switch", "role": "crash_switch"}],
    changed={"P2": {"to": "CRS.1"}},
    wires=[wire("P2b", "CRS.2", "KPM.30", "2.5", "300")],
    requirements=[{"id": "R1", "point": "PMP.+", "when": "CRS=tripped", "must": "dead", "why": "no fuel in a crash"}],
)
_ALWAYS = {
    **ENGINE,
    "drives": (
        *(row for row in ENGINE["drives"] if row["output"] != "A6"),
        {"output": "A6", "when": "always"},
    ),
}
# a fan of 10 A that draws 60 A at first, from the battery by its own fuse
_KICK = edited(
    ENGINE,
    parts=[
        {"id": "FF", "kind": "fuse", "settings": "rating_a=30"},
        {"id": "TS", "kind": "temperature_switch"},
        {"id": "KF", "kind": "relay"},
        {"id": "FAN", "kind": "fan", "circuit": "cool", "settings": "running_a=10; inrush_a=60"},
    ],
    circuits=[{"id": "cool", "class": "cooling"}],
    changed={"M2": {"size_mm2": "4", "length_mm": "1000"}, "M3": {"size_mm2": "4", "length_mm": "1000"}},
    wires=[
        wire("A1", "BAT.+", "FF.1", "6", "300"),
        wire("A2", "FF.2", "KF.30", "4"),
        wire("A3", "KF.87", "FAN.+", "4", circuit="cool"),
        wire("A4", "FAN.-", "body", "4", circuit="cool"),
        wire("A5", "KEY.15", "KF.86"),
        wire("A6", "KF.85", "TS.1"),
    ],
)
_KICK_15 = edited(_KICK, changed={"cool": {"feed": "15"}})

SCENARIOS = (
    Scenario(
        number=31,
        title="a long thin feed to the pump",
        mark="relay-bulletin",
        sound=ENGINE,
        wrong=edited(
            ENGINE,
            changed={"P3": {"size_mm2": "0.75", "length_mm": "6000"}, "FPM": {"settings": "rating_a=10"}},
        ),
        rule="DRP-1",
        at="P3",
    ),
    Scenario(
        number=32,
        title="the pump relay is earthed past the controller: the pump runs for ever",
        sound=ENGINE,
        wrong=edited(ENGINE, changed={"P6": {"to": "body"}}),
        rule="KEY-5",
        at="PMP",
    ),
    Scenario(
        number=33,
        title="the pump is driven whenever the key is on, with the engine stalled too",
        sound=ENGINE,
        wrong=_ALWAYS,
        rule="KEY-5",
        at="PMP",
    ),
    Scenario(
        number=33,
        title="a link past the crash switch",
        sound=_CRASH,
        wrong=edited(_CRASH, wires=[wire("X1", "FPM.2", "KPM.30", "2.5", "300")]),
        rule="REQ-1",
        at="PMP.+",
    ),
    Scenario(
        number=34,
        title="no earth at the tank",
        sound=ENGINE,
        wrong=edited(ENGINE, without=["P4"]),
        rule="NET-1",
        at="PMP.-",
        folded=("NET-3", "KEY-3"),
    ),
    Scenario(
        number=34,
        title="the pump relay's contact hangs on a feed that is dead in start",
        sound=ENGINE,
        wrong=edited(ENGINE, changed={"P1": {"from": "KEY.75"}}),
        rule="KEY-3",
        at="FPM",
    ),
    Scenario(
        number=35,
        title="the earth that fan and horn share is open: each returns through the other",
        sound=_FAN,
        wrong=edited(_FAN, without=["JB"]),
        rule="NET-3",
        at="JE.1",
        folded=("SNK-3", "NET-3"),
    ),
    Scenario(
        number=72,
        title="the fan's thermal switch hangs on a permanent feed: the fan runs all night",
        sound=_FAN,
        wrong=edited(_FAN, changed={"A5": {"from": "F1.2"}}),
        rule="LIV-1",
        at="FAN",
    ),
    Scenario(
        number=72,
        title="the fan relay's coil hangs on D+: it works while the alternator charges, key off or not",
        sound=_KICK_15,
        wrong=edited(_KICK_15, changed={"A5": {"from": "ALT.D+"}}),
        rule="SUP-5",
        at="KF",
        folded=("LIV-1",),
    ),
    Scenario(
        number=73,
        title="the fan is fed from the controller's main relay: the engine stumbles each time it starts",
        sound=_KICK,
        wrong=edited(_KICK, changed={"A1": {"from": "BR.6"}}),
        rule="SUP-1",
        at="M2",
        severity="warning",
    ),
)
