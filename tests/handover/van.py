"""A small car with one of everything the papers tell about, as text rows.

Battery, straps, key, three fuses, a relay that works a fan, side lights, a brake lamp behind its own switch, and a
controller that drives the relay and pulses a valve. Sizes, lengths and settings are invented.
"""

from __future__ import annotations

from collections.abc import Mapping

from loomwright.job.job import Job
from loomwright.job.points import kinds_of
from loomwright.job.reading import job_from_text
from loomwright.network.build import build_network
from loomwright.network.compiled import Compiled, compile_network
from loomwright.tables.kinds import Kind, load_kinds

Rows = list[dict[str, str]]


def wire(id: str, from_: str, to: str, circuit: str, size_mm2: str = "1.5", **more: str) -> dict[str, str]:
    """One row of the sheet wires, a metre long."""
    return {
        "id": id,
        "circuit": circuit,
        "from": from_,
        "to": to,
        "size_mm2": size_mm2,
        "length_mm": "1000",
        **more,
    }


def rows() -> dict[str, Rows]:
    """The sheets, new each time so that a test may change them."""
    return {
        "vehicle": [{"name": "title", "value": "small van"}],
        "places": [
            {"id": "bay", "name": "engine bay", "zone": "engine_bay", "ambient_c": "40"},
            {"id": "rear", "name": "rear lamps"},
        ],
        "circuits": [
            {"id": "supply", "class": "supply", "feed": "30"},
            {"id": "lights", "class": "lighting", "feed": "30"},
            {"id": "brake", "class": "lighting", "feed": "30"},
            {"id": "fan", "class": "cooling", "feed": "15"},
            {"id": "ecu", "class": "supply", "feed": "15"},
        ],
        "parts": [
            {"id": "BAT", "kind": "battery", "place": "bay", "circuit": "supply"},
            {"id": "KEY", "kind": "key_switch"},
            {"id": "F1", "kind": "fuse", "name": "lights", "place": "bay", "settings": "rating_a=10; box=A; way=3"},
            {"id": "F2", "kind": "fuse", "name": "fan", "place": "bay", "settings": "rating_a=20"},
            {"id": "F3", "kind": "fuse", "name": "key switch", "place": "bay", "settings": "rating_a=5"},
            {"id": "LSW", "kind": "switch", "circuit": "lights", "settings": "variable=lights"},
            {"id": "SBRK", "kind": "switch", "circuit": "brake", "settings": "variable=brake"},
            {"id": "TL", "kind": "lamp", "name": "left tail lamp", "place": "rear", "circuit": "lights"},
            {"id": "TR", "kind": "lamp", "name": "right tail lamp", "place": "rear", "circuit": "lights"},
            {"id": "BL", "kind": "lamp", "name": "brake lamp", "place": "rear", "circuit": "brake"},
            {"id": "KF", "kind": "relay", "name": "fan relay", "circuit": "fan", "place": "bay"},
            {"id": "FAN", "kind": "fan", "circuit": "fan", "role": "cooling_fan", "place": "bay"},
            {"id": "ECU", "kind": "controller", "circuit": "ecu", "settings": "draw_a=0.5; minimum_v=7; reset_v=6"},
            {"id": "VALVE", "kind": "solenoid", "circuit": "ecu", "settings": "ohm=12"},
        ],
        "controller_pins": [
            {"id": "A1", "part": "ECU", "terminal": "A1", "abilities": "supply"},
            {"id": "A2", "part": "ECU", "terminal": "A2", "abilities": "power_earth"},
            {"id": "A3", "part": "ECU", "terminal": "A3", "abilities": "low_side", "max_a": "1"},
            {"id": "A4", "part": "ECU", "terminal": "A4", "abilities": "pwm low_side", "max_a": "3"},
        ],
        "drives": [
            {"output": "A3", "when": "engine=idle|running"},
            {"output": "A4", "when": "engine=idle|running", "duty_frac": "0.4"},
        ],
        "wires": [
            wire("W1", "BAT.-", "body", "supply", "25"),
            wire("W2", "body", "engine", "supply", "25"),
            wire("W3", "BAT.+", "F1.1", "supply", "2.5", colour="RD", length_mm="200"),
            wire("W4", "BAT.+", "F2.1", "supply", "4", colour="RD/BK", length_mm="200"),
            wire("W5", "BAT.+", "F3.1", "supply", "4", colour="RD/YE", length_mm="200", notes="from the stud"),
            wire("W6", "F1.2", "LSW.1", "lights"),
            wire("W7", "LSW.2", "TL.1", "lights", colour="GY/BK"),
            wire("W8", "LSW.2", "TR.1", "lights", colour="GY/RD"),
            wire("W9", "TL.2", "body", "lights", colour="BN"),
            wire("W10", "TR.2", "body", "lights", colour="BN"),
            wire("W11", "F1.2", "SBRK.1", "brake"),
            wire("W12", "SBRK.2", "BL.1", "brake", colour="BK/OG"),
            wire("W13", "BL.2", "body", "brake", colour="BN"),
            wire("W14", "F2.2", "KF.30", "fan", "2.5"),
            wire("W15", "KF.87", "FAN.+", "fan", "2.5", colour="BU", fitted="kept"),
            wire("W16", "FAN.-", "body", "fan", "2.5", colour="BN"),
            wire("W17", "KEY.15", "KF.86", "fan", "0.75"),
            wire("W18", "KF.85", "ECU.A3", "fan", "0.75"),
            wire("W19", "KEY.15", "ECU.A1", "ecu"),
            wire("W20", "ECU.A2", "body", "ecu"),
            wire("W21", "KEY.15", "VALVE.1", "ecu"),
            wire("W22", "VALVE.2", "ECU.A4", "ecu"),
            wire("W24", "F3.2", "KEY.30", "supply", "2.5", colour="RD/YE"),
            wire("W23", "FAN.+", "body", "fan", fitted="removed"),
        ],
    }  # fmt: skip


def changed(sheet: str, id: str, **cells: str) -> dict[str, Rows]:
    """The sheets with cells of one row typed anew."""
    sheets = rows()
    row = next(row for row in sheets[sheet] if row["id"] == id)
    row.update(cells)
    return sheets


def solved(sheets: Mapping[str, Rows]) -> tuple[Job, Mapping[str, Kind], Compiled]:
    """The job, its kinds and its compiled network."""
    job = job_from_text(sheets)
    kinds = kinds_of(job, load_kinds())
    return job, kinds, compile_network(build_network(job, kinds))
