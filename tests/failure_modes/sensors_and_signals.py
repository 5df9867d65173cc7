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


_ROUTED = edited(
    SMALL,
    parts=[{"id": "SPL", "kind": "splice", "place": "arch", "settings": "sealed=yes"}],
    places=[{"id": "bay"}, {"id": "cabin"}, {"id": "arch", "wet": "yes"}],
    runs=[{"id": "R1", "from": "bay", "to": "cabin", "length_mm": "200", "surface_c": "90", "covering": "conduit"}],
    changed={"BAT": {"place": "bay"}, "F1": {"place": "cabin"}},
)
_TELL_TALE = edited(
    SMALL,
    parts=[
        {"id": "SW2", "kind": "switch"},
        {"id": "KX", "kind": "relay", "settings": "suppression=diode"},
        {"id": "TT", "kind": "led_lamp"},
        {"id": "LA2", "kind": "lamp", "settings": "watt=5"},
    ],
    wires=[
        wire("K0", "KEY.15", "SW2.1"),
        wire("K1", "SW2.2", "KX.86"),
        wire("K2", "KX.85", "body"),
        wire("K3", "KEY.15", "KX.30"),
        wire("K4", "KX.87", "LA2.1"),
        wire("K5", "KX.86", "TT.+"),
        wire("K6", "TT.-", "body"),
        wire("K7", "LA2.2", "body"),
    ],
)
_IGNITER = edited(
    ENGINE,
    changed={
        "COL": {"kind": "coil_plain", "settings": "peak_a=6"},
        "I3": {"to": "COL.15"},
        "I4": {"from": "IGN.earth"},
        "I5": {"from": "IGN.in"},
    },
    parts=[{"id": "IGN", "kind": "igniter"}],
    wires=[wire("X1", "COL.1", "IGN.out"), wire("X2", "BR.6", "IGN.supply")],
)
_COIL = edited(
    _IGNITER,
    parts=[{"id": "REV", "kind": "tacho_pulse", "settings": "input_max_v=400"}],
    wires=[
        wire("X3", "COL.1", "REV.signal"),
        wire("X4", "SW1.2", "REV.supply"),
        wire("X5", "REV.earth", "body"),
    ],
)
_SENSED = edited(
    _IGNITER,
    changed={"I3": {"to": "REV.in"}},
    parts=[{"id": "REV", "kind": "tacho_series"}],
    wires=[wire("X3", "REV.out", "COL.15")],
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
        number=6,
        title="the loom's run lies against the manifold, without a sleeve",
        sound=_ROUTED,
        wrong=edited(_ROUTED, changed={"R1": {"surface_c": "400", "covering": ""}}),
        rule="RTE-6",
        at="R1",
        severity="warning",
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
        number=42,
        title="an LED tell-tale beside a relay's coil with nothing across it",
        sound=_TELL_TALE,
        wrong=edited(_TELL_TALE, changed={"KX": {"settings": ""}}),
        rule="NET-8",
        at="TT.+",
        severity="warning",
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
        number=63,
        title="a splice in the wheel arch without a sealed sleeve",
        sound=_ROUTED,
        wrong=edited(_ROUTED, changed={"SPL": {"settings": ""}}),
        rule="RTE-7",
        at="SPL",
        severity="warning",
    ),
    Scenario(
        number=67,
        title="a gauge of engine speed that senses current, and the coil's feed does not come through it",
        sound=_SENSED,
        wrong=edited(_SENSED, changed={"I3": {"to": "COL.15"}, "X2": {"to": "REV.in"}, "X3": {"to": "IGN.supply"}}),
        rule="SGN-5",
        at="REV",
        severity="warning",
    ),
    Scenario(
        number=68,
        title="a gauge of engine speed with a logic input on the coil's low side",
        sound=_COIL,
        wrong=edited(_COIL, changed={"REV": {"settings": "input_max_v=30"}}),
        rule="NET-8",
        at="REV.signal",
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
        number=69,
        title="B and I of the gauges' stabiliser are exchanged",
        sound=_GAUGES,
        wrong=edited(_GAUGES, changed={"G1": {"to": "STB.I"}, "G2": {"from": "STB.B"}}),
        rule="NET-4",
        at="STB",
        folded=("RAT-1", "NET-3"),
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
