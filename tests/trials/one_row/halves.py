"""The van cut in two, so that a check takes a moment: what the engine needs, and what the old body needs.

Both keep battery, alternator, starter, key switch and tell-tales. A half is a sound car of its own; a change whose
points lie in one half can be judged there.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

__all__ = ["HALVES", "half_of"]

Sheets = Mapping[str, Sequence[Mapping[str, str]]]

_BOTH = ("battery", "charge", "start", "key", "tell_tale", "range")
HALVES = {
    "engine": (*_BOTH, "ecu", "inject", "coils", "pump", "fan1", "fan2", "sensors", "gearbox"),
    "body": (
        *_BOTH,
        "head",
        "head_left",
        "head_right",
        "side",
        "brake",
        "turn",
        "reverse",
        "wiper",
        "heater",
        "horn",
        "gauges",
    ),
}
_NAMED = {"crash": "CRASH", "light": "LSW", "coolant_c": "ECU"}
"""Words of a requirement's condition, and the part without which nobody knows them."""
_NOT_IN = {"engine": ("FWIP", "FHTR", "FSIG"), "body": ()}
"""Fuses of the key switch whose loads are all in the other half."""
_METALS = ("body", "engine", "gearbox", "column", "plate_left", "plate_right")


def half_of(sheets: Sheets, half: str) -> dict[str, list[dict[str, str]]]:
    """The sheets with only the parts of one half, and what joins them.

    Args:
        half: a key of `HALVES`.
    """
    made = {name: [dict(row) for row in rows] for name, rows in sheets.items()}
    made["parts"] = [row for row in made["parts"] if row["circuit"] in HALVES[half] and row["id"] not in _NOT_IN[half]]
    there = {row["id"] for row in made["parts"]} | set(_METALS)
    made["wires"] = [row for row in made["wires"] if all(row[end].split(".")[0] in there for end in ("from", "to"))]
    left = {row["id"] for row in made["wires"]}
    for name in ("contacts", "connectors", "controller_pins"):
        made[name] = [row for row in made.get(name, []) if row["part"] in there]
    pins = {row["id"] for row in made["controller_pins"]}
    made["needs"] = [row for row in made["needs"] if row["part"] in there and row["pin"] in pins]
    needs = {row["id"] for row in made["needs"]}
    made["drives"] = [row for row in made["drives"] if row["output"] in needs]
    if "TURN" not in there:
        made["variables"] = [row for row in made["variables"] if row["name"] != "turn"]
    made["requirements"] = [
        row
        for row in made["requirements"]
        if row["point"].split(".")[0] in there | left
        and all(part in there for word, part in _NAMED.items() if word in row["when"])
    ]
    for name in ("snags", "questions", "wishes", "changes", "hours", "decisions", "reasons", "cables"):
        if name != "cables" or "CRK" not in there:
            made[name] = []
    return made
