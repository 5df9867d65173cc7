"""A small sound car with an engine: key, main relay, controller, injector, coil, pump, starter, alternator.

    car 15 -> main relay coil, charge lamp and its diode, controller's key line      30 -> main relay -> BR (bar)
    BR -> controller, injector, coil, pump relay coil          key 50 -> start contact of the selector -> start relay

Rows are added, changed and left out as in `small_jobs.car`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from loomwright.job.job import Job
from tests.states.small_jobs import Row, car, wire

PARTS: tuple[Row, ...] = (
    {"id": "ALT", "kind": "alternator", "settings": "max_a=70; idle_output_a=45"},
    {"id": "FA", "kind": "fuse", "settings": "rating_a=80; family=strip_sf30"},
    {"id": "STA", "kind": "starter"},
    {"id": "KST", "kind": "relay"},
    {"id": "FST", "kind": "fuse", "settings": "rating_a=30"},
    {"id": "SEL", "kind": "selector_switch"},
    {"id": "KMR", "kind": "relay", "role": "main_relay"},
    {"id": "FMR", "kind": "fuse", "settings": "rating_a=30"},
    {"id": "BR", "kind": "busbar"},
    {"id": "ECU", "kind": "controller", "settings": "draw_a=0.5; minimum_v=7; reset_v=5.5; ride_through_ms=5"},
    {"id": "INJ", "kind": "injector", "circuit": "injection"},
    {"id": "COL", "kind": "coil_with_igniter", "circuit": "ignition"},
    {"id": "KPM", "kind": "relay"},
    {"id": "FPM", "kind": "fuse", "settings": "rating_a=15"},
    {"id": "PMP", "kind": "fuel_pump", "role": "fuel_pump", "circuit": "pump"},
    {"id": "CHG", "kind": "lamp", "role": "charge_lamp", "settings": "watt=2.2", "circuit": "warning"},
    {"id": "DCH", "kind": "diode"},
)
CIRCUITS: tuple[Row, ...] = (
    {"id": "injection", "class": "injection", "feed": "main_relay"},
    {"id": "ignition", "class": "ignition", "feed": "main_relay"},
    {"id": "pump", "class": "fuel", "feed": "KPM.87"},
    {"id": "warning", "class": "warning", "feed": "15"},
)
WIRES: tuple[Row, ...] = (
    wire("E1", "BAT.+", "STA.30", "35"),
    wire("E2", "BAT.+", "FA.1", "25", "300"),
    wire("E3", "FA.2", "ALT.B+", "25"),
    wire("E4", "BAT.+", "FST.1", "10", "300"),
    wire("E5", "FST.2", "KST.30", "6", "300"),
    wire("E6", "KST.87", "STA.50", "6"),
    wire("E7", "KEY.50", "SEL.start1", "2.5"),
    wire("E8", "SEL.start2", "KST.86", "1.5"),
    wire("E9", "KST.85", "body", "1.5"),
    wire("M1", "BAT.+", "FMR.1", "6", "300"),
    wire("M2", "FMR.2", "KMR.30", "6", "300"),
    wire("M3", "KMR.87", "BR.1", "6", "300"),
    wire("M4", "KEY.15", "KMR.86", "1.5"),
    wire("M5", "KMR.85", "body", "1.5", "500"),
    wire("C1", "BR.2", "ECU.1", "1.5"),
    wire("C2", "ECU.2", "engine", "2.5"),
    wire("C3", "KEY.15", "ECU.3", "0.75"),
    wire("I1", "BR.3", "INJ.1", "1.5", circuit="injection"),
    wire("I2", "INJ.2", "ECU.4", "1", circuit="injection"),
    wire("I3", "BR.4", "COL.supply", "1.5", circuit="ignition"),
    wire("I4", "COL.earth", "engine", "1.5", "500", circuit="ignition"),
    wire("I5", "COL.signal", "ECU.5", "0.75", circuit="ignition"),
    wire("P1", "BAT.+", "FPM.1", "4", "300"),
    wire("P2", "FPM.2", "KPM.30", "2.5", "300"),
    wire("P3", "KPM.87", "PMP.+", "4", "3000", circuit="pump"),
    wire("P4", "PMP.-", "body", "2.5", "500", circuit="pump"),
    wire("P5", "BR.5", "KPM.86", "1", "300"),
    wire("P6", "KPM.85", "ECU.6", "0.75"),
    wire("L1", "KEY.15", "CHG.1", "1", circuit="warning"),
    wire("L2", "CHG.2", "DCH.a", "1", circuit="warning"),
    wire("L3", "DCH.k", "ALT.D+", "1", circuit="warning"),
)
PINS: tuple[Row, ...] = (
    {"id": "A1", "part": "ECU", "terminal": "1", "abilities": "supply"},
    {"id": "A2", "part": "ECU", "terminal": "2", "abilities": "power_earth"},
    {"id": "A3", "part": "ECU", "terminal": "3", "abilities": "key_input"},
    {"id": "A4", "part": "ECU", "terminal": "4", "abilities": "injector", "max_a": "3"},
    {"id": "A5", "part": "ECU", "terminal": "5", "abilities": "ignition"},
    {"id": "A6", "part": "ECU", "terminal": "6", "abilities": "low_side", "max_a": "1.5"},
)
TURNING = "engine=cranking|idle|running"
DRIVES: tuple[Row, ...] = (
    {"output": "A4", "when": TURNING, "duty_frac": "0.2"},
    {"output": "A5", "when": TURNING},
    {"output": "A6", "when": TURNING},
    {"output": "A6", "when": "key=run, engine=stopped", "for_s": "2"},
)


def engine_car(
    *,
    without: Iterable[str] = (),
    changed: Mapping[str, Mapping[str, str]] | None = None,
    drives: Sequence[Mapping[str, str]] = DRIVES,
    pins: Sequence[Mapping[str, str]] = PINS,
    parts: Sequence[Mapping[str, str]] = (),
    wires: Sequence[Mapping[str, str]] = (),
    circuits: Sequence[Mapping[str, str]] = (),
    **sheets: Sequence[Mapping[str, str]],
) -> Job:
    """The sound engine car with rows added, changed or left out.

    Args:
        drives, pins: the whole sheet.
        parts, wires, circuits, sheets: rows added.
    """
    return car(
        without=without,
        changed={"F1": {"settings": "rating_a=15"}, **(changed or {})},
        parts=(*PARTS, *parts),
        circuits=(*CIRCUITS, *circuits),
        wires=(*WIRES, *wires),
        controller_pins=pins,
        drives=drives,
        **sheets,
    )
