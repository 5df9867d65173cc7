"""Lamps: lost earths, exchanged plugs, switches that are not what somebody said."""

from __future__ import annotations

from tests.failure_modes.scenario import Row, Rows, Scenario, edited, wire
from tests.failure_modes.sound_cars import SMALL

__all__ = ["SCENARIOS"]


def _contacts(part: str, **positions: str) -> list[Row]:
    """Rows of the sheet contacts, tested: position -> joins."""
    return [{"part": part, "position": name, "joins": joins, "verified": "yes"} for name, joins in positions.items()]


_REAR = edited(
    SMALL,
    parts=[
        {"id": "FB", "kind": "fuse", "settings": "rating_a=10"},
        {"id": "BRK", "kind": "switch", "settings": "variable=brake"},
        {"id": "LSW", "kind": "switch_matrix", "settings": "variable=light"},
        {"id": "TL", "kind": "lamp_tail", "role": "tail_left"},
        {"id": "TR", "kind": "lamp_tail", "role": "tail_right"},
    ],
    contacts=_contacts("LSW", off="", side="30+58"),
    wires=[
        wire("W20", "BAT.+", "FB.1", "1.5", "300"),
        wire("W21", "FB.2", "BRK.1"),
        wire("W22", "FB.2", "LSW.30"),
        wire("W34", "LSW.58", "TL.58"),
        wire("W35", "TL.58", "TR.58"),
        wire("W36", "BRK.2", "TL.54"),
        wire("W37", "TL.54", "TR.54"),
        wire("W38", "TL.31", "body"),
        wire("W39", "TR.31", "body"),
    ],
)
_DOOR = edited(
    SMALL,
    parts=[
        {"id": "IL", "kind": "lamp", "settings": "watt=10", "circuit": "inside", "role": "interior_lamp"},
        {"id": "DS", "kind": "door_switch"},
    ],
    circuits=[{"id": "inside", "class": "lighting", "feed": "30"}],
    wires=[wire("D1", "F1.2", "IL.1", circuit="inside"), wire("D2", "IL.2", "DS.1", circuit="inside")],
)


def _turning() -> Rows:
    """Turn lamps, one a corner, on an electronic flasher, with a hazard switch."""
    sides = {"TFL": "turn_left_front", "TRL": "turn_left_rear", "TFR": "turn_right_front", "TRR": "turn_right_rear"}
    return edited(
        SMALL,
        changed={"F1": {"settings": "rating_a=15"}},
        parts=[
            *({"id": id, "kind": "lamp", "role": role, "settings": "watt=21"} for id, role in sides.items()),
            {"id": "FS", "kind": "flasher_electronic"},
            {"id": "ST", "kind": "switch_matrix", "settings": "variable=turn"},
            {"id": "HZ", "kind": "switch_matrix", "settings": "variable=hazard", "role": "hazard_switch"},
        ],
        contacts=[
            *_contacts("ST", off="", left="49a+L", right="49a+R"),
            *_contacts("HZ", off="15+49", on="30+49 49a+L 49a+R"),
        ],
        wires=[
            wire("W20", "KEY.15", "HZ.15"),
            wire("W21", "F1.2", "HZ.30"),
            wire("W22", "HZ.49", "FS.49"),
            wire("W23", "FS.49a", "HZ.49a"),
            wire("W24", "HZ.49a", "ST.49a"),
            wire("W25", "HZ.L", "ST.L"),
            wire("W26", "HZ.R", "ST.R"),
            wire("W31", "ST.L", "TFL.1"),
            wire("W32", "ST.L", "TRL.1"),
            wire("W33", "ST.R", "TFR.1"),
            wire("W34", "ST.R", "TRR.1"),
            wire("W39", "FS.31", "body"),
            *(wire(f"E{id}", f"{id}.2", "body") for id in sides),
        ],
    )


_TURNING = _turning()
_REVERSE = edited(
    SMALL,
    parts=[
        {"id": "SEL", "kind": "selector_switch"},
        {"id": "XR", "kind": "inline_connector"},
        {"id": "RL", "kind": "lamp", "role": "reverse_lamp", "settings": "watt=21"},
    ],
    wires=[
        wire("R1", "KEY.15", "XR.1p"),
        wire("R2", "XR.1s", "SEL.reverse1"),
        wire("R3", "SEL.reverse2", "RL.1"),
        wire("R4", "RL.2", "body"),
    ],
)

# one fuse for all that burns on terminal 58
_SIDE = edited(
    _REAR,
    parts=[
        {"id": "FS", "kind": "fuse", "settings": "rating_a=7.5"},
        {"id": "PL", "kind": "lamp", "role": "position_left"},
        {"id": "PR", "kind": "lamp", "role": "position_right"},
        {"id": "NP", "kind": "lamp", "role": "plate_lamp"},
    ],
    changed={"W22": {"from": "FS.2"}},
    wires=[
        wire("S0", "BAT.+", "FS.1", "1.5", "300"),
        *(wire(f"S{id}", "LSW.58", f"{id}.1") for id in ("PL", "PR", "NP")),
        *(wire(f"E{id}", f"{id}.2", "body") for id in ("PL", "PR", "NP")),
    ],
)

_TRAILER = edited(
    _REAR,
    parts=[{"id": "TRS", "kind": "trailer_socket", "circuit": "trail", "settings": "tail_w=10; brake_w=42"}],
    circuits=[{"id": "trail", "class": "lighting"}],
    changed={"FB": {"settings": "rating_a=15"}},
    wires=[
        wire("T3", "TRS.3", "body", "2.5", "500", circuit="trail"),
        wire("T5", "LSW.58", "TRS.5", "1.5", "4000", circuit="trail"),
        wire("T6", "BRK.2", "TRS.6", "1.5", "4000", circuit="trail"),
        wire("T7", "LSW.58", "TRS.7", "1.5", "4000", circuit="trail"),
    ],
)

SCENARIOS = (
    Scenario(
        number=37,
        title="the left rear lamp has no earth: the brake's current goes back through the tail filament",
        sound=_REAR,
        wrong=edited(_REAR, without=["W38"]),
        rule="NET-1",
        at="TL.31",
        folded=("LMP-2", "LMP-1", "SNK-2"),
    ),
    Scenario(
        number=37,
        title="a long thin earth of the trailer's socket: its lamps return through each other",
        sound=_TRAILER,
        wrong=edited(_TRAILER, changed={"T3": {"size_mm2": "0.5", "length_mm": "8000"}}),
        rule="DRP-1",
        at="T3",
        folded=("LMP-2",),
    ),
    Scenario(
        number=39,
        title="a door switch to earth with its lamp between feed and earth: the lamp is always lit",
        sound=_DOOR,
        wrong=edited(_DOOR, changed={"D2": {"to": "body"}}, wires=[wire("D3", "IL.1", "DS.1")]),
        rule="LMP-2",
        at="IL",
        folded=("RAT-1", "SUP-2"),
    ),
    Scenario(
        number=2,
        title="the side lamps are fed from terminal 15: the car that has stopped cannot be lit",
        sound=_SIDE,
        wrong=edited(_SIDE, changed={"S0": {"from": "KEY.15"}}),
        rule="LMP-1",
        at="TL",
        folded=("LMP-1",),
    ),
    Scenario(
        number=2,
        title="the hazard switch is fed from terminal 15",
        sound=_TURNING,
        wrong=edited(_TURNING, changed={"W21": {"from": "KEY.15"}}),
        rule="LMP-1",
        at="TFL",
        folded=("LMP-1",),
    ),
    Scenario(
        number=41,
        title="the light switch's terminals stand as somebody said, and nobody has tested them",
        sound=_REAR,
        wrong={**_REAR, "contacts": tuple({**row, "verified": "no"} for row in _REAR["contacts"])},
        rule="JOB-1",
        at="LSW",
        severity="note",
    ),
    Scenario(
        number=59,
        title="the like plugs of the two rear turn lamps are exchanged",
        sound=_TURNING,
        wrong=edited(_TURNING, changed={"W32": {"to": "TRR.1"}, "W34": {"to": "TRL.1"}}),
        rule="NET-7",
        at="TRL",
        # each of the four is dark or lit with the wrong one
        folded=("LMP-1", "LMP-2"),
    ),
    Scenario(
        number=74,
        title="the plug in the reverse lamp's feed was left out with the old selector",
        sound=_REVERSE,
        wrong=edited(_REVERSE, without=["R2"]),
        rule="NET-1",
        at="XR.1p",
        folded=("NET-3",),
    ),
)
