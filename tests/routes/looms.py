"""Small looms for tests: places, runs between them, parts at the places, and wires.

`loom()` reads its rows as sheets, so whatever a test writes is what a person could have typed. Runs are given in one
line each, `R1 box nose 800`; a run without a figure has a blank length.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from loomwright.job.job import Job
from loomwright.job.reading import job_from_text
from loomwright.routes.records import Routes
from loomwright.routes.wire_routes import wire_routes
from loomwright.tables.kinds import load_kinds

Row = Mapping[str, str]


def run_rows(lines: Iterable[str]) -> list[dict[str, str]]:
    """Rows of the sheet runs: name, place, place, length where it has one."""
    return [dict(zip(("id", "from", "to", "length_mm"), line.split(), strict=False)) for line in lines]


def loom(
    runs: Iterable[str] = (),
    wires: Iterable[Row] = (),
    parts: Iterable[Row] = (),
    places: Iterable[Row] = (),
    vehicle: Mapping[str, str] | None = None,
    **sheets: Sequence[Row],
) -> Job:
    """A job of these rows; places that runs name are added, and so is a battery, without a place.

    Every place `p` has a lamp `L_p`, so that a wire may run between any two: `{"from": "L_a.1", "to": "L_b.1"}`.
    """
    lines = run_rows(runs)
    own = [dict(row) for row in places]
    named = dict.fromkeys(row[end] for row in lines for end in ("from", "to"))
    own += [{"id": name} for name in named if name not in {row["id"] for row in own}]
    lamps = [{"id": f"L_{row['id']}", "kind": "lamp", "place": row["id"]} for row in own]
    return job_from_text(
        {
            "vehicle": [{"name": name, "value": value} for name, value in (vehicle or {}).items()],
            "places": own,
            "runs": lines,
            "parts": [{"id": "BAT", "kind": "battery"}, *lamps, *(dict(row) for row in parts)],
            "wires": [dict(row) for row in wires],
            **{name: [dict(row) for row in rows] for name, rows in sheets.items()},
        }
    )


def between(id: str, a: str, b: str, **more: str) -> dict[str, str]:
    """A wire from the lamp at one place to the lamp at another; `from_`-like words are not needed."""
    return {"id": id, "from": f"L_{a}.1", "to": f"L_{b}.2", "size_mm2": "1", **more}


def routes(job: Job) -> Routes:
    """The routes of a job, by the library's kinds."""
    return wire_routes(job, load_kinds())
