"""Sound cars that mistakes are made in: a key and a lamp; an engine with its controller; sensors on top of it.

Every rule is asked of them and none finds a fault or a warning.
"""

from __future__ import annotations

from tests.failure_modes.scenario import Row, Rows, edited, wire
from tests.states import small_jobs
from tests.states.rules import engine_car

__all__ = ["ENGINE", "SENSORS", "SMALL"]

SMALL: Rows = {
    "vehicle": small_jobs.VEHICLE,
    "parts": small_jobs.PARTS,
    "circuits": small_jobs.CIRCUITS,
    "wires": small_jobs.WIRES,
}

ENGINE: Rows = edited(
    SMALL,
    # the fuses' rules are asked here too: each fuse is one that its thinnest wire stands
    changed={"F1": {"settings": "rating_a=15"}},
    parts=engine_car.PARTS,
    circuits=engine_car.CIRCUITS,
    wires=engine_car.WIRES,
    controller_pins=engine_car.PINS,
    drives=engine_car.DRIVES,
)
ENGINE = edited(
    ENGINE, changed={"FMR": {"settings": "rating_a=20"}, "P5": {"size_mm2": "1.5"}, "C3": {"size_mm2": "1"}}
)
"""Battery, key, main relay, controller, injector, coil, pump, starter behind its relay and the selector, alternator."""

_SENSOR_PINS: tuple[Row, ...] = (
    {"id": "S1", "part": "ECU", "terminal": "11", "abilities": "temperature_input"},
    {"id": "S2", "part": "ECU", "terminal": "12", "abilities": "sensor_earth"},
    {"id": "S3", "part": "ECU", "terminal": "13", "abilities": "vr_input"},
    {"id": "S4", "part": "ECU", "terminal": "14", "abilities": "vr_input"},
    {"id": "S5", "part": "ECU", "terminal": "15", "abilities": "power_earth"},
    {"id": "S6", "part": "ECU", "terminal": "16", "abilities": "analog_input"},
    {"id": "S7", "part": "ECU", "terminal": "17", "abilities": "supply_5v", "max_a": "0.1"},
    {"id": "S8", "part": "ECU", "terminal": "18", "abilities": "temperature_input"},
)

SENSORS: Rows = edited(
    ENGINE,
    controller_pins=_SENSOR_PINS,
    parts=[
        {"id": "CLT", "kind": "sensor_ntc"},
        {"id": "MAP", "kind": "map_iat"},
        {"id": "CRK", "kind": "sensor_vr"},
        {"id": "SP", "kind": "splice"},
    ],
    wires=[
        wire("T1", "CLT.1", "ECU.11", "0.5"),
        wire("T2", "CLT.2", "SP.1", "0.5"),
        wire("T3", "SP.2", "ECU.12", "0.5"),
        wire("T4", "MAP.5v", "ECU.17", "0.5"),
        wire("T5", "MAP.map", "ECU.16", "0.5"),
        wire("T6", "MAP.iat", "ECU.18", "0.5"),
        wire("T7", "MAP.earth", "SP.3", "0.5"),
        wire("V1", "CRK.+", "ECU.13", "0.5", twist="T1"),
        wire("V2", "CRK.-", "ECU.14", "0.5", twist="T1"),
    ],
)
"""The engine car with coolant, manifold and crank sensors; the sensors' earths meet in a splice of their own."""
