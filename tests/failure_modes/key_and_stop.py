"""The key, what stays alive past it, and the way to the starter."""

from __future__ import annotations

from tests.failure_modes.scenario import Scenario, edited, wire
from tests.failure_modes.sound_cars import ENGINE, SMALL

__all__ = ["SCENARIOS"]

# the starter straight from the key, as old cars have it; a solenoid that wants 77 A at 10 V to go in
_OLD_START = edited(
    edited(SMALL, without=["F1", "W4"]),
    parts=[
        {"id": "STA", "kind": "starter", "settings": "pull_ohm=0.13"},
        {"id": "SEL", "kind": "selector_switch", "settings": "start_a=80; start_make_a=150"},
        {"id": "F2", "kind": "fuse", "settings": "rating_a=10"},
    ],
    changed={
        "KEY": {"settings": "rating_50_a=80; make_50_a=150"},
        "W3": {"to": "KEY.30", "size_mm2": "10", "fitted": "kept"},
        "W5": {"from": "F2.2"},
    },
    wires=[
        wire("E0", "KEY.15", "F2.1", "6", "300"),
        wire("E1", "BAT.+", "STA.30", "35"),
        wire("E7", "KEY.50", "SEL.start1", "6", "500", fitted="kept"),
        wire("E8", "SEL.start2", "STA.50", "6", fitted="kept"),
    ],
    requirements=[
        {
            "id": "R1",
            "point": "STA.50",
            "when": "key=start, selector=P|N, engine=stopped",
            "must": ">=7.5 V",
            "why": "the solenoid goes in, hot too",
        }
    ],
)
_HEATED = edited(
    SMALL,
    parts=[{"id": "HT", "kind": "heater", "settings": "watt=120"}],
    wires=[wire("H1", "KEY.15", "HT.1", "4"), wire("H2", "HT.2", "body", "4")],
    changed={
        "F1": {"settings": "rating_a=30"},
        "KEY": {"settings": "rating_a=15"},
        **{id: {"size_mm2": "4"} for id in ("W3", "W4", "W5", "W6")},
    },
)
_IGNITION = edited(ENGINE, changed={"COL": {"settings": "average_a=3"}})
_MUST_START = edited(
    ENGINE,
    requirements=[
        {"id": "R1", "point": "KST.86", "when": "key=start, selector=P|N", "must": "live", "why": "starts in both"}
    ],
)

SCENARIOS = (
    Scenario(
        number=2,
        title="the controller's key line hangs on a contact that is open in start",
        sound=ENGINE,
        wrong=edited(ENGINE, changed={"C3": {"from": "KEY.75"}}),
        rule="KEY-3",
        at="C3",
    ),
    Scenario(
        number=3,
        title="the charge lamp has no diode and keeps the engine running with the key off",
        mark="page-charge-lamp",
        sound=ENGINE,
        wrong=edited(ENGINE, without=["DCH", "L2", "L3"], wires=[wire("L9", "CHG.2", "ALT.D+", "1")]),
        rule="KEY-2",
        at="L9",
        folded=("SNK-1", "SNK-3"),
    ),
    Scenario(
        number=11,
        title="a long thin start wire: on a hot day the solenoid clicks and does not go in",
        mark="manual-starter-solenoid",
        sound=_OLD_START,
        wrong=edited(_OLD_START, changed={"E8": {"size_mm2": "1.5", "length_mm": "6000"}}),
        rule="REQ-1",
        at="STA.50",
        # and a wire so thin is too hot by the pull-in winding's amps
        beside=(("RAT-2", "E8"),),
    ),
    Scenario(
        number=12,
        title="the start relay's coil was never earthed",
        sound=ENGINE,
        wrong=edited(ENGINE, without=["E9"]),
        rule="NET-1",
        at="KST.85",
        folded=("NET-3",),
    ),
    Scenario(
        number=13,
        title="a link across the start contacts of the selector: it starts in gear",
        sound=ENGINE,
        wrong=edited(ENGINE, wires=[wire("X1", "SEL.start1", "SEL.start2", "1.5", "100")]),
        rule="KEY-1",
        at="KST",
    ),
    Scenario(
        number=13,
        title="the selector switch sits one place off: it starts in reverse",
        sound=ENGINE,
        wrong=edited(ENGINE, changed={"SEL": {"settings": "start_at=N R"}}),
        rule="KEY-1",
        at="KST",
    ),
    Scenario(
        number=64,
        title="a heater added on the key's own contact",
        sound=_HEATED,
        wrong=edited(_HEATED, changed={"HT": {"settings": "watt=240"}}),
        rule="RAT-1",
        at="KEY",
    ),
    Scenario(
        number=66,
        title="the old resistance lead was left in the coil's feed",
        sound=_IGNITION,
        # 1.5 ohm at 3 A take 4.5 V
        wrong=edited(_IGNITION, changed={"I3": {"ohm_per_m": "1.5"}}),
        rule="DRP-1",
        at="I3",
    ),
    Scenario(
        number=77,
        title="the selector's switch closes in N and not in P",
        sound=_MUST_START,
        wrong=edited(_MUST_START, changed={"SEL": {"settings": "start_at=N"}}),
        rule="REQ-1",
        at="KST.86",
    ),
)
