"""The controller's own feeds and earths, and what hangs on its outputs."""

from __future__ import annotations

from tests.failure_modes.scenario import Row, Rows, Scenario, edited, wire
from tests.failure_modes.sound_cars import ENGINE

__all__ = ["SCENARIOS"]

_SPLICED_EARTH = edited(
    ENGINE,
    parts=[{"id": "SE", "kind": "splice"}],
    changed={"C2": {"to": "SE.1"}},
    wires=[wire("G2", "SE.2", "engine", "2.5")],
)
_SENSITIVE = edited(ENGINE, changed={"ECU": {"settings": "draw_a=0.5; minimum_v=8; reset_v=8; ride_through_ms=5"}})
_VALVE = edited(
    ENGINE,
    parts=[{"id": "IV", "kind": "idle_valve_2wire", "circuit": "injection", "settings": "diode_cathode=1"}],
    controller_pins=[{"id": "A8", "part": "ECU", "terminal": "8", "abilities": "low_side", "max_a": "2"}],
    drives=[{"output": "A8", "when": "engine=idle|running"}],
    wires=[wire("V8", "BR.12", "IV.1"), wire("V9", "IV.2", "ECU.8")],
)
_BOX = edited(_VALVE, changed={"IV": {"kind": "solenoid", "settings": "ohm=28"}})
_PROBE = edited(
    ENGINE,
    parts=[{"id": "LH", "kind": "heater", "settings": "watt=18"}],
    controller_pins=[{"id": "A8", "part": "ECU", "terminal": "8", "abilities": "low_side", "max_a": "3"}],
    drives=[{"output": "A8", "when": "engine=idle|running"}],
    wires=[wire("V8", "BR.12", "LH.1"), wire("V9", "LH.2", "ECU.8")],
    requirements=[{"id": "R1", "point": "V8", "when": "engine=stopped", "must": "<0.1 A", "why": "wet and cold"}],
)
_HELD = edited(
    ENGINE,
    parts=[{"id": "TCC", "kind": "solenoid_linear"}],
    controller_pins=[{"id": "A8", "part": "ECU", "terminal": "8", "abilities": "pwm", "max_a": "3"}],
    drives=[{"output": "A8", "when": "engine=idle|running"}],
    wires=[wire("V8", "BR.12", "TCC.1"), wire("V9", "TCC.2", "ECU.8")],
)


def _with_pins(rows: Rows, **cells: Row) -> Rows:
    """Rows with cells of controller pins changed: their ids are those of needs and parts too."""
    pins = ({**row, **cells.get(row["id"], {})} for row in rows["controller_pins"])
    return {**rows, "controller_pins": tuple(pins)}


_AT_REST = _with_pins(ENGINE, A4={"boot": "open"}, A5={"boot": "low"}, A6={"boot": "open", "unpowered": "open"})

SCENARIOS = (
    Scenario(
        number=21,
        title="the pump's earth is crimped into the controller's",
        sound=_SPLICED_EARTH,
        wrong=edited(_SPLICED_EARTH, changed={"P4": {"to": "SE.3"}}),
        rule="SGN-2",
        at="P4",
    ),
    Scenario(
        number=22,
        title="a long thin battery lead: the controller resets in the starter's first rush",
        sound=_SENSITIVE,
        wrong=edited(_SENSITIVE, changed={"W1": {"size_mm2": "16", "length_mm": "6000"}}),
        # so thin a lead costs the cranking starter its volts, and the controller with it
        rule="DRP-1",
        at="W1",
        folded=("SUP-1",),
    ),
    Scenario(
        number=44,
        title="injectors of 2.2 ohm on outputs for 14 ohm",
        mark="page-injectors",
        sound=ENGINE,
        wrong=edited(ENGINE, changed={"INJ": {"settings": "ohm=2.2"}}),
        rule="RAT-1",
        at="ECU.4",
    ),
    Scenario(
        number=45,
        title="a plain coil on an output that only gives a signal",
        sound=ENGINE,
        wrong=edited(
            edited(ENGINE, without=["COL", "I3", "I4", "I5"]),
            parts=[{"id": "COL", "kind": "coil_plain", "settings": "ohm=0.5", "circuit": "ignition"}],
            wires=[
                wire("I3", "BR.4", "COL.15", circuit="ignition"),
                wire("I5", "COL.1", "ECU.5", circuit="ignition"),
            ],
        ),
        rule="NET-3",
        at="COL",
        # and so the engine cannot fire
        beside=(("KEY-3", "I5"),),
    ),
    Scenario(
        number=45,
        title="the coil's signal stands high while the controller starts: the coil burns at key-on",
        sound=_AT_REST,
        wrong=_with_pins(_AT_REST, A5={"boot": "high"}),
        rule="KEY-6",
        at="COL",
    ),
    Scenario(
        number=45,
        title="an injector's output is low while the controller starts: fuel runs into the engine",
        sound=_AT_REST,
        wrong=_with_pins(_AT_REST, A4={"boot": "low"}),
        rule="KEY-6",
        at="INJ",
    ),
    Scenario(
        number=54,
        title="the exhaust sensor's heater is on before the engine runs",
        sound=_PROBE,
        wrong=edited(_PROBE, changed={"V9": {"to": "engine"}}),
        rule="REQ-1",
        at="V8",
    ),
    Scenario(
        number=55,
        title="an idle valve with a diode wired the wrong way round",
        sound=_VALVE,
        wrong=edited(_VALVE, changed={"V8": {"to": "IV.2"}, "V9": {"from": "IV.1"}}),
        rule="NET-4",
        at="IV",
        folded=("RAT-1", "NET-3"),
    ),
    Scenario(
        number=76,
        title="the gearbox's solenoid has no feed",
        mark="manual-automatic-gearbox",
        sound=_BOX,
        wrong=edited(_BOX, without=["V8"]),
        rule="NET-1",
        at="IV.1",
        folded=("NET-3",),
    ),
    Scenario(
        number=76,
        title="a solenoid of 4 ohm where the gearbox has 28",
        mark="manual-automatic-gearbox",
        sound=_BOX,
        wrong=edited(_BOX, changed={"IV": {"settings": "ohm=4"}}),
        rule="RAT-1",
        at="ECU.8",
    ),
    Scenario(
        number=76,
        title="a solenoid that is to be held at 1.1 A hangs on a plain output",
        mark="manual-automatic-gearbox-linear",
        sound=_HELD,
        wrong=_with_pins(_HELD, A8={"abilities": "low_side"}),
        rule="RAT-1",
        at="TCC",
    ),
)
