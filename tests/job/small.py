"""A small sound job as text, and how a test asks what is wrong with a changed one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from loomwright.job.job import Job
from loomwright.job.reading import job_from_text
from loomwright.refusals import BadDocument, Problem

Rows = list[dict[str, str]]

SOUND: Mapping[str, Rows] = {
    "vehicle": [
        {"name": "title", "value": "a small car"},
        {"name": "system_voltage", "value": "12"},
        {"name": "earth", "value": "negative"},
        {"name": "bolted", "value": "engine-gearbox"},
    ],
    "places": [{"id": "bay", "zone": "engine_bay", "ambient_c": "90"}, {"id": "cabin"}],
    "runs": [{"id": "R1", "from": "bay", "to": "cabin", "length_mm": "900", "hazards": "hot wet"}],
    "circuits": [
        {"id": "supply", "class": "supply", "feed": "30"},
        {"id": "lamps", "class": "lighting", "feed": "F1.2"},
        {"id": "cooling", "class": "cooling", "feed": "15"},
    ],
    "parts": [
        {"id": "B1", "kind": "battery", "place": "bay", "circuit": "supply"},
        {"id": "F1", "kind": "fuse", "place": "bay", "circuit": "supply", "settings": "rating_a=10; family=blade_c"},
        {"id": "KEY", "kind": "key_switch", "place": "cabin"},
        {"id": "K1", "kind": "relay", "place": "bay"},
        {"id": "L1", "kind": "lamp", "place": "bay", "circuit": "lamps", "role": "reverse_lamp"},
        {"id": "fan1", "kind": "fan", "place": "bay", "circuit": "cooling"},
        {"id": "TS", "kind": "temperature_switch", "place": "bay", "settings": "closes_when=coolant_c>=95"},
        {"id": "E1", "kind": "earth_point", "place": "bay", "settings": "on=body"},
        {"id": "SP1", "kind": "splice", "place": "bay"},
        {"id": "X1", "kind": "inline_connector", "place": "bay"},
        {"id": "ECU", "kind": "controller", "place": "cabin"},
        {"id": "STALK", "kind": "switch_matrix", "place": "cabin"},
        {"id": "OF1", "kind": "old_feed", "settings": "live_when=key=run|start"},
    ],
    "contacts": [
        {"part": "STALK", "gang": "turn", "position": "off", "momentary": "no"},
        {"part": "STALK", "gang": "turn", "position": "left", "joins": "49a+L"},
        {"part": "STALK", "gang": "dip", "position": "low", "joins": "56+56b"},
        {"part": "STALK", "gang": "dip", "position": "flash", "joins": "30+56a 56+56b", "momentary": "yes"},
    ],
    "controller_pins": [
        {"id": "A1", "part": "ECU", "terminal": "A1", "abilities": "supply"},
        {"id": "A2", "part": "ECU", "terminal": "A2", "abilities": "power_earth"},
        {"id": "A3", "part": "ECU", "terminal": "A3", "abilities": "low_side switch_to_earth", "max_a": "2"},
    ],
    "needs": [
        {
            "id": "run_fan",
            "part": "K1",
            "terminal": "85",
            "ability": "low_side",
            "option": "cooling/relay",
            "rank": "1",
        },
        {"id": "spare", "apart": "run_fan"},
    ],
    "drives": [{"output": "run_fan", "when": "key=run, coolant_c>=95"}],
    "wires": [
        {"id": "W1", "circuit": "supply", "from": "B1.+", "to": "F1.1", "size_mm2": "6", "colour": "RD", "via": "R1"},
        {"id": "W2", "circuit": "lamps", "from": "F1.2", "to": "L1.1", "size_mm2": "16 AWG", "colour": "wh/bu"},
        {"id": "W3", "from": "L1.2", "to": "E1", "length_mm": "1.2 m"},
        {"id": "W4", "from": "B1.-", "to": "body", "circuit": "linkage"},
        {"id": "W5", "from": "SP1.7", "to": "X1.3p"},
        {"id": "W6", "from": "X1.3s", "to": "STALK.49a", "cable": "C1"},
        {"id": "W7", "from": "ECU.A3", "to": "K1.85"},
        {"id": "W8", "from": "OF1", "to": ""},
    ],
    "connectors": [
        {"id": "P1", "part": "ECU", "terminals": "A*", "ways": "24", "side": "pin", "mates": "P2"},
        {"id": "P2", "part": "ECU", "terminals": "A1 A2 A3", "side": "socket", "mates": "P1"},
    ],
    "cables": [{"id": "C1", "cores": "2", "drain_to": "E1.1"}],
    "metals": [{"id": "bonnet", "spread_mohm": "2"}],
    "bonds": [{"from": "bonnet", "to": "body", "mohm": "0,5"}],
    "requirements": [
        {"id": "lit", "point": "L1.1", "when": "key=run, selector=R", "must": ">= 9 V", "why": "seen from behind"},
        {"id": "cable", "point": "W1", "when": "", "must": "<= 40 A"},
        {"id": "plug", "point": "P1.A1", "when": "unplugged=P1", "must": "live"},
        {"id": "after", "point": "body", "when": "before.key=run, engine=idle", "must": "dead"},
    ],
    "old_wires": [{"id": "o1", "colour": "BN", "fate": "keep", "joins_to": "L1.1"}],
    "readings": [
        {"old_wire": "o1", "when": "key=run, side_lights=on", "measure": "volts", "value": "12,3", "unit": "V"}
    ],
    "variables": [{"name": "prime", "values": "no yes", "momentary": "yes"}, {"name": "oil_kpa"}],
    "waived": [{"rule": "SUP-2", "reason": "an isolator is fitted", "who": "the owner"}],
}


def sheets(**changed: Sequence[dict[str, str]] | None) -> dict[str, Rows]:
    """The sound job's sheets with some replaced; None takes one out."""
    named = {name: [dict(row) for row in rows] for name, rows in SOUND.items()}
    for name, rows in changed.items():
        if rows is None:
            named.pop(name, None)
        else:
            named[name] = [dict(row) for row in rows]
    return named


def more(sheet: str, *rows: dict[str, str]) -> dict[str, Rows]:
    """The sound job's sheets with rows added to one of them."""
    named = sheets()
    named.setdefault(sheet, []).extend(dict(row) for row in rows)
    return named


def without(sheet: str, name: str) -> Rows:
    """The rows of one of the sound job's sheets without the one of that id."""
    return [dict(row) for row in SOUND[sheet] if row.get("id") != name]


def changed(sheet: str, name: str, **cells: str) -> dict[str, Rows]:
    """The sound job's sheets with cells of one row typed anew; `from_` and `class_` stand for the headings."""
    named = sheets()
    for row in named[sheet]:
        if row.get("id", row.get("name")) == name:
            row.update({column.removesuffix("_"): text for column, text in cells.items()})
            return named
    raise KeyError(name)


def read(named: Mapping[str, Sequence[Mapping[str, str]]]) -> Job:
    """The job those sheets describe."""
    return job_from_text(named)


def problems(named: Mapping[str, Sequence[Mapping[str, str]]]) -> tuple[Problem, ...]:
    """What those sheets are refused for; none where they are read."""
    try:
        job_from_text(named)
    except BadDocument as refusal:
        return refusal.problems
    return ()


def only(named: Mapping[str, Sequence[Mapping[str, str]]]) -> Problem:
    """The one problem those sheets have."""
    found = problems(named)
    assert len(found) == 1, [problem.says for problem in found]
    return found[0]


def row_of(sheet: str, name: str) -> int:
    """The spreadsheet row in which the sound job has a row of that id."""
    return [row.get("id", row.get("name")) for row in SOUND[sheet]].index(name) + 2
