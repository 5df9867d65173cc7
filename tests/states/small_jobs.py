"""Small sound cars for tests, and the questions asked of them.

`car()` is the least car that is right in every way: battery, both straps, key, fuse, switch and lamp. Rows are
added by sheet (`car(parts=[...])`), changed by id (`changed={"W6": {"to": "body"}}`) or left out (`without=("W7",)`).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from types import ModuleType

from loomwright.findings import Finding
from loomwright.job.job import Job
from loomwright.job.reading import job_from_text
from loomwright.network.build import build_network
from loomwright.network.compiled import compile_network
from loomwright.network.records import Changes
from loomwright.states.asking.folding import folded
from loomwright.states.asking.scene import Scene, scene_of
from loomwright.states.asking.search import search
from loomwright.states.asking.telling import told_of
from loomwright.tables.kinds import load_kinds

Row = dict[str, str]

VEHICLE: tuple[Row, ...] = ({"name": "title", "value": "small car"},)
PARTS: tuple[Row, ...] = (
    {"id": "BAT", "kind": "battery"},
    {"id": "KEY", "kind": "key_switch"},
    {"id": "F1", "kind": "fuse", "settings": "rating_a=10"},
    {"id": "SW1", "kind": "switch"},
    {"id": "LA1", "kind": "lamp", "circuit": "work", "settings": "watt=21"},
)
CIRCUITS: tuple[Row, ...] = ({"id": "work", "class": "lighting", "feed": "15"},)


def wire(id: str, from_: str, to: str, size_mm2: str = "1.5", length_mm: str = "1000", **more: str) -> Row:
    """One row of the sheet wires."""
    return {"id": id, "from": from_, "to": to, "size_mm2": size_mm2, "length_mm": length_mm, **more}


WIRES: tuple[Row, ...] = (
    wire("W1", "BAT.-", "body", "25", "500"),
    wire("W2", "body", "engine", "25", "500"),
    wire("W3", "BAT.+", "F1.1", "2.5", "300"),
    wire("W4", "F1.2", "KEY.30", "2.5"),
    wire("W5", "KEY.15", "SW1.1", circuit="work"),
    wire("W6", "SW1.2", "LA1.1", circuit="work"),
    wire("W7", "LA1.2", "body", circuit="work"),
)


def car(
    *,
    without: Iterable[str] = (),
    changed: Mapping[str, Mapping[str, str]] | None = None,
    **sheets: Sequence[Mapping[str, str]],
) -> Job:
    """The least sound car, with rows added, changed or left out.

    Args:
        without: ids of rows that are left out.
        changed: id -> the cells that differ.
        sheets: rows added, by sheet.
    """
    rows: dict[str, list[Row]] = {
        "vehicle": [*VEHICLE],
        "parts": [*PARTS],
        "circuits": [*CIRCUITS],
        "wires": [*WIRES],
    }
    for sheet, added in sheets.items():
        rows.setdefault(sheet, []).extend(dict(row) for row in added)
    left_out = set(without)
    edits = changed or {}
    kept = {
        sheet: [{**row, **edits.get(row.get("id", ""), {})} for row in many if row.get("id") not in left_out]
        for sheet, many in rows.items()
    }
    return job_from_text(kept)


def scene(job: Job) -> Scene:
    """The scene of a job, its network compiled."""
    kinds = load_kinds()
    return scene_of(job, kinds, compile_network(build_network(job, kinds)))


def findings(job: Job, *rules: ModuleType) -> tuple[Finding, ...]:
    """What the rule modules find in a job, consequences folded beneath their roots."""
    seen = scene(job)
    found = search(
        seen.compiled, tuple(watch for rule in rules if hasattr(rule, "watches") for watch in rule.watches(seen))
    )
    told = [told_of(seen.compiled, found.space, broken) for broken in found.broken]
    for rule in rules:
        told.extend(rule.sheet_findings(seen) if hasattr(rule, "sheet_findings") else ())

    def with_trial(trial: Changes):  # type: ignore[no-untyped-def]
        return compile_network(build_network(job, load_kinds(), trial))

    return folded(told, found.space, found.states, with_trial)


def codes(job: Job, *rules: ModuleType) -> list[tuple[str, str, str]]:
    """Rule, severity and first place of every finding that stands on its own, in order."""
    return sorted((one.rule, one.severity, one.at[0] if one.at else "") for one in findings(job, *rules))
