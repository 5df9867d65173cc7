"""Small cars for tests of the network, written in a few lines: parts by id, wires by their ends."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from loomwright.job.job import Job
from loomwright.job.points import kinds_of
from loomwright.job.reading import job_from_text
from loomwright.network.build import build_network
from loomwright.network.compiled import Compiled, compile_network
from loomwright.network.meter import Bench
from loomwright.network.records import Changes
from loomwright.network.solve import Solved, solve
from loomwright.tables.kinds import load_kinds

__all__ = ["bench", "compiled", "job", "solved"]

State = Mapping[str, str | float]
END_OHM = 0.0003
"""One crimped wire end, from the table of joints. [ohm]"""


def job(
    parts: Mapping[str, str], wires: Sequence[str], /, vehicle: str = "", **sheets: Sequence[Mapping[str, str]]
) -> Job:  # fmt: skip
    """A car from short lines.

    Args:
        parts: id -> `kind` or `kind; setting=value; setting=value`. A battery BAT is there unless named.
        wires: `W1 BAT.+ F1.1 2.5 mm2 1 m`; without size and length a wire has 1 mohm and its two crimps.
        vehicle: `earth=positive system_voltage=24`; the car is at 20 degC.
        sheets: more rows by sheet.
    """
    rows: dict[str, list[dict[str, str]]] = {
        "vehicle": [{"name": "title", "value": "a small car"}, {"name": "design_ambient_c", "value": "20"}],
        "parts": [],
        "wires": [],
    }
    rows["vehicle"] += [dict(zip(("name", "value"), pair.split("="), strict=True)) for pair in vehicle.split()]
    for name, text in {"BAT": "battery", **parts}.items():
        kind, _, settings = text.partition(";")
        rows["parts"].append({"id": name, "kind": kind.strip(), "settings": settings.strip()})
    for line in wires:
        name, from_, to, *more = line.split()
        row = {"id": name, "from": from_, "to": to}
        if more:
            row |= {"size_mm2": more[0], "length_mm": f"{more[2]} m"}
        else:
            row |= {"size_mm2": "2.5", "length_mm": "1000", "ohm_per_m": "0.001"}
        rows["wires"].append(row)
    for sheet, added in sheets.items():
        rows.setdefault(sheet, []).extend(dict(row) for row in added)
    return job_from_text(rows)


def compiled(made: Job, changes: Changes | None = None) -> Compiled:
    """A car's network, ready to be solved."""
    return compile_network(build_network(made, kinds_of(made, load_kinds()), changes or Changes()))


def solved(
    made: Job, state: State | None = None, before: State | None = None, changes: Changes | None = None
) -> Solved:
    """A car in one state."""
    return solve(compiled(made, changes), state or {}, before)


def bench(made: Job, state: State | None = None, changes: Changes | None = None) -> Bench:
    """A car with a meter beside it."""
    return Bench(job=made, kinds=kinds_of(made, load_kinds()), changes=changes or Changes(), state=state or {})
