"""Sensors, gauges, screens and the bus."""

from __future__ import annotations

from tests.failure_modes.scenario import Rows, Scenario, edited, wire
from tests.failure_modes.sound_cars import ENGINE, SENSORS, SMALL

__all__ = ["SCENARIOS"]

_SCREENED = edited(
    SENSORS,
    changed={"V1": {"twist": "", "cable": "C1"}, "V2": {"twist": "", "cable": "C1"}},
    cables=[{"id": "C1", "kind": "screened pair", "cores": "2", "drain_to": "ECU.12"}],
)
_APART = edited(
    SENSORS,
    places=[{"id": "here"}, {"id": "there"}],
    runs=[
        {"id": "R1", "from": "here", "to": "there", "length_mm": "1000", "noise": "starter cable"},
        {"id": "R2", "from": "here", "to": "there", "length_mm": "1000"},
    ],
    changed={"V1": {"via": "R2"}, "V2": {"via": "R2"}},
)
_THROTTLE = edited(
    SENSORS,
    parts=[{"id": "TPS", "kind": "sensor_0_5v"}],
    controller_pins=[{"id": "S9", "part": "ECU", "terminal": "19", "abilities": "analog_input"}],
    wires=[
        wire("Y1", "TPS.5v", "MAP.5v", "0.5"),
        wire("Y2", "TPS.signal", "ECU.19", "0.5"),
        wire("Y3", "TPS.earth", "SP.5", "0.5"),
    ],
)
_GAUGES = edited(
    SMALL,
    parts=[
        {"id": "STB", "kind": "stabiliser"},
        {"id": "GF", "kind": "gauge_thermal"},
        {"id": "FS", "kind": "sender_fuel"},
    ],
    wires=[
        wire("G1", "KEY.15", "STB.B"),
        wire("G2", "STB.I", "GF.supply"),
        wire("G3", "GF.signal", "FS.1"),
        wire("G4", "STB.E", "body"),
    ],
)


def _bus(*ohms: str) -> Rows:
    """A bus: nodes of those ohms in a row, one behind the other."""
    nodes = [
        {"id": f"N{k}", "kind": "can_node", **({"settings": f"ohm={ohm}"} if ohm else {})} for k, ohm in enumerate(ohms)
    ]
    wires = [
        wire(f"B{k}{side}", f"N{k}.{side}", f"N{k + 1}.{side}", "0.35", twist="T9")
        for k in range(len(ohms) - 1)
        for side in "HL"
    ]
    return edited(ENGINE, parts=nodes, wires=wires)


SCENARIOS = (
    Scenario(
        number=4,
        title="the pump's earth is crimped into the sensors' earth",
        sound=SENSORS,
        wrong=edited(SENSORS, changed={"P4": {"to": "SP.4"}}),
        rule="SGN-1",
        at="P4",
    ),
    Scenario(
        number=16,
        title="one wire of the crank sensor is gone",
        sound=SENSORS,
        wrong=edited(SENSORS, without=["V1"]),
        rule="NET-1",
        at="CRK.+",
    ),
    Scenario(
        number=19,
        title="the crank sensor's screen is earthed at both ends",
        sound=_SCREENED,
        wrong=edited(_SCREENED, wires=[wire("V3", "CRK.screen", "engine", "0.5")]),
        rule="SGN-3",
        at="C1",
        severity="warning",
    ),
    Scenario(
        number=19,
        title="the crank sensor's pair lies beside the starter cable",
        sound=_APART,
        wrong=edited(_APART, changed={"V1": {"via": "R1"}, "V2": {"via": "R1"}}),
        rule="SGN-3",
        at="V1",
        severity="warning",
        # each wire of the pair is told
        beside=(("SGN-3", "V2"),),
    ),
    Scenario(
        number=47,
        title="the 5 V supply is joined to the sensors' earth inside one plug",
        sound=SENSORS,
        wrong=edited(SENSORS, wires=[wire("X1", "MAP.5v", "MAP.earth", "0.5", "50")]),
        rule="RAT-1",
        at="ECU.17",
        # the sensor has no supply, and the short's amps go down the sensors' earth
        beside=(("NET-3", "MAP"), ("SGN-1", "T4")),
    ),
    Scenario(
        number=48,
        title="a 5 V sensor's supply wire ends on the key's 12 V",
        sound=edited(SENSORS, changed={"T4": {"size_mm2": "1"}}),
        wrong=edited(SENSORS, changed={"T4": {"size_mm2": "1", "to": "KEY.15"}}),
        rule="NET-5",
        at="MAP",
    ),
    Scenario(
        number=49,
        title="the coolant sensor's wire is open",
        mark="manual-coolant-sensor",
        sound=SENSORS,
        wrong=edited(SENSORS, without=["T1"]),
        rule="NET-1",
        at="CLT.1",
    ),
    Scenario(
        number=52,
        title="the ends of the throttle's track are exchanged",
        sound=_THROTTLE,
        wrong=edited(_THROTTLE, changed={"Y1": {"from": "TPS.earth"}, "Y3": {"from": "TPS.5v"}}),
        rule="NET-4",
        at="TPS",
        # what shares the 5 V joint with its earth terminal is told at the controller
        beside=(("NET-3", "ECU"),),
    ),
    Scenario(
        number=58,
        title="a plug of four ways pinned as seen from the other side",
        sound=SENSORS,
        wrong=edited(
            SENSORS,
            changed={
                "T4": {"from": "MAP.earth"},
                "T5": {"from": "MAP.iat"},
                "T6": {"from": "MAP.map"},
                "T7": {"from": "MAP.5v"},
            },
        ),
        rule="NET-4",
        at="MAP",
        # its earth terminal now leads to the 5 V pin
        beside=(("NET-3", "MAP.earth"),),
    ),
    Scenario(
        number=69,
        title="the gauges' stabiliser has lost its earth",
        sound=_GAUGES,
        wrong=edited(_GAUGES, without=["G4"]),
        rule="NET-1",
        at="STB.E",
    ),
    Scenario(
        number=79,
        title="one end of the bus has no resistor",
        mark="manual-bus-resistors",
        sound=_bus("120", "", "120"),
        wrong=_bus("120", "", ""),
        rule="SGN-3",
        at="N0",
        severity="warning",
    ),
    Scenario(
        number=79,
        title="three end resistors on the bus",
        mark="manual-bus-resistors",
        sound=_bus("120", "", "120"),
        wrong=_bus("120", "120", "120"),
        rule="SGN-3",
        at="N0",
        severity="warning",
    ),
)
