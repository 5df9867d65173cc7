"""A small loom that is being built, before and after a change, for tests."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from loomwright.job.job import Job
from loomwright.job.reading import job_from_text
from loomwright.loom.as_built import as_built
from loomwright.loom.as_built_records import AsBuilt, BuiltWire

Cells = Mapping[str, str]

WIRES: Mapping[str, Cells] = {
    "W1": {"circuit": "lamps", "from": "ECU.A1", "to": "L1.1", "size_mm2": "1.5", "colour": "RD", "length_mm": "900"},
    "W2": {"circuit": "lamps", "from": "ECU.A2", "to": "L1.2", "size_mm2": "1.5", "colour": "BK", "length_mm": "900"},
    "W3": {"circuit": "other", "from": "L2.1", "to": "L2.2", "size_mm2": "0.5", "colour": "BU", "length_mm": "400"},
}
BASE: Mapping[str, Sequence[Cells]] = {
    "circuits": [{"id": "lamps", "class": "lighting"}, {"id": "other", "class": "lighting"}],
    "parts": [
        {"id": "BAT", "kind": "battery"},
        {"id": "ECU", "kind": "controller"},
        {"id": "L1", "kind": "lamp"},
        {"id": "L2", "kind": "lamp"},
        {"id": "E1", "kind": "earth_point"},
    ],
    "controller_pins": [
        {"id": name, "part": "ECU", "terminal": name, "abilities": "low_side"} for name in ("A1", "A2", "A3", "B1")
    ],
    "connectors": [
        {"id": "XA", "part": "ECU", "terminals": "A*", "family": "small"},
        {"id": "XB", "part": "ECU", "terminals": "B*", "family": "small"},
    ],
}
THEN = 3
"""The revision that progress is made from, where a test does not say another. [-]"""


def job(
    changes: Mapping[str, Cells | None] | None = None,
    progress: Sequence[Cells] = (),
    **sheets: Sequence[Cells],
) -> Job:
    """The loom with some cells of its wires changed; None takes a wire out."""
    rows = {name: dict(cells) for name, cells in WIRES.items()}
    for name, cells in (changes or {}).items():
        if cells is None:
            del rows[name]
        else:
            rows[name] = {**rows.get(name, {}), **cells}
    battery = [{"id": "B1", "from": "BAT.+", "to": "L2.1"}, {"id": "B2", "from": "BAT.-", "to": "body"}]
    kept = [{**cells, "fitted": "kept"} for cells in battery]
    wires = [*kept, *({"id": name, **cells} for name, cells in rows.items())]
    return job_from_text({**BASE, "wires": wires, "progress": list(progress), **sheets})


def done(wire: str = "W1", *steps: str, revision: str = str(THEN), **more: str) -> list[Cells]:
    """Progress of a wire: `cut`, `from:crimped` ...; its length is cut with the allowance unless said."""
    rows: list[Cells] = []
    for step in steps or ("cut",):
        end, _, word = step.rpartition(":")
        cells = {"wire": wire, "end": end or "both", "step": word, "revision": revision}
        rows.append({**cells, "length_mm": "940", **more} if word == "cut" else cells)
    return rows


WHOLE = ("cut", "both:crimped", "both:seated", "both:labelled")
"""Everything done to a wire but proving it."""


def built(
    changes: Mapping[str, Cells | None] | None = None,
    progress: Sequence[Cells] = (),
    was: Mapping[str, Cells | None] | None = None,
    ways_mm: Mapping[str, float] | None = None,
    renamed: Mapping[str, str] | None = None,
    **sheets: Sequence[Cells],
) -> AsBuilt:
    """What the loom asks after some changes, built at revision `THEN`, when it stood as `was` says."""
    now = job(changes, progress, **sheets)
    return as_built(now, earlier={THEN: job(was)}, ways_mm=ways_mm, renamed=renamed)


def only(told: AsBuilt, wire: str = "W1") -> BuiltWire:
    """What is asked of one wire."""
    return next(one for one in told.wires if one.wire == wire)


def does(told: AsBuilt, wire: str = "W1") -> list[str]:
    """The words of what is asked of one wire."""
    return [ask.does for ask in only(told, wire).asks]
