"""Relays with their legs exchanged or their diode the wrong way round."""

from __future__ import annotations

from tests.failure_modes.scenario import Scenario, edited, wire
from tests.failure_modes.sound_cars import ENGINE, SMALL

__all__ = ["SCENARIOS"]

_FAN = edited(
    SMALL,
    changed={
        "F1": {"settings": "rating_a=20"},
        "SW1": {"settings": "rating_a=10"},
        **{id: {"size_mm2": "2.5"} for id in ("W4", "W5", "W6")},
    },
    parts=[
        {"id": "FF", "kind": "fuse", "settings": "rating_a=30"},
        {"id": "KF", "kind": "relay"},
        {"id": "FAN", "kind": "fan", "circuit": "cool", "settings": "running_a=15"},
    ],
    circuits=[{"id": "cool", "class": "cooling", "feed": "KF.87"}],
    wires=[
        wire("A1", "BAT.+", "FF.1", "6", "300"),
        wire("A2", "FF.2", "KF.30", "6"),
        wire("A3", "KF.87", "FAN.+", "4", circuit="cool"),
        wire("A4", "FAN.-", "body", "4", circuit="cool"),
        wire("A5", "SW1.2", "KF.86", "2.5"),
        wire("A6", "KF.85", "body", "2.5"),
    ],
)
_DIODE = edited(ENGINE, changed={"KPM": {"settings": "suppression=diode; diode_cathode=86"}})

SCENARIOS = (
    Scenario(
        number=9,
        title="feed and trigger of a fan relay exchanged: the fan's amps go through the dash switch",
        sound=_FAN,
        wrong=edited(_FAN, changed={"A2": {"to": "KF.86"}, "A5": {"to": "KF.30"}}),
        rule="RAT-1",
        at="SW1",
        # its coil now hangs on the battery for ever
        folded=("SUP-2",),
    ),
    Scenario(
        number=14,
        title="feed and trigger of the start relay exchanged: it stands pulled with the key off",
        sound=ENGINE,
        wrong=edited(ENGINE, changed={"E5": {"to": "KST.86"}, "E8": {"to": "KST.30"}}),
        rule="SUP-2",
        at="KST",
        severity="warning",
    ),
    Scenario(
        number=43,
        title="a relay with a diode put in a socket of the other polarity",
        mark="suppression-note",
        sound=_DIODE,
        wrong=edited(_DIODE, changed={"KPM": {"settings": "suppression=diode; diode_cathode=85"}}),
        rule="NET-4",
        at="KPM",
        folded=("RAT-1", "NET-3", "KEY-3"),
    ),
)
