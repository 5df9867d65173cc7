"""What fuel table stands in the controller, and how is a proposal written over it?

In: a table as text (engine speeds along the top, loads down the side), or the rows of the sheet `vehicle` that begin
with `fuel.`. Out: its breakpoints and figures, and back again. A job keeps one table: `fuel.rpm` holds the engine
speeds, `fuel.60` the figures at 60 kPa.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from loomwright.logs.cells import Grid
from loomwright.logs.proposal import Proposed
from loomwright.refusals import NoAnswer, OutOfReach

__all__ = ["FuelTable", "table_from_rows", "table_from_text", "table_rows", "table_with"]

_MARK = "fuel."
_RPM = "rpm"
_WHAT = "What the fuel table says"


@dataclass(frozen=True, slots=True, kw_only=True)
class FuelTable:
    """A table as it stands, low loads first.

    figures: a row a load. [-]
    """

    grid: Grid
    figures: tuple[tuple[float, ...], ...]


def table_from_text(text: str) -> FuelTable:
    """A fuel table: engine speeds along the top, a load at the beginning of each line.

    Raises:
        NoAnswer: it is no such table.
    Example:
        >>> table_from_text("load,1000,2000\\n30,50,55\\n60,60,66").grid.rpm
        (1000.0, 2000.0)
    """
    sign = max(",;\t", key=text.count)
    rows = [row for row in csv.reader(text.splitlines(), delimiter=sign) if any(cell.strip() for cell in row)]
    try:
        rpm = tuple(float(cell) for cell in rows[0][1:] if cell.strip())
        body = sorted(([float(cell) for cell in row[: len(rpm) + 1]] for row in rows[1:]), key=lambda row: row[0])
    except (ValueError, IndexError):
        body, rpm = [], ()
    return _made(rpm, body)


def table_from_rows(properties: Iterable[tuple[str, str]]) -> FuelTable | None:
    """The table of a job, from (property, value) pairs of the sheet `vehicle`; None where it keeps none.

    Raises:
        NoAnswer: what stands there is no table.
    Example:
        >>> table_from_rows([("fuel.rpm", "1000 2000"), ("fuel.30", "50 55"), ("fuel.60", "60 66")]).figures
        ((50.0, 55.0), (60.0, 66.0))
    """
    kept = {name.removeprefix(_MARK): value for name, value in properties if name.startswith(_MARK)}
    if not kept:
        return None
    try:
        rpm = tuple(float(one) for one in kept.pop(_RPM, "").split())
        body = sorted([float(load), *(float(one) for one in value.split())] for load, value in kept.items())
    except ValueError:
        body, rpm = [], ()
    return _made(rpm, body)


def table_rows(table: FuelTable) -> dict[str, str]:
    """The rows of the sheet `vehicle` that keep a table: property -> value."""
    loads = zip(table.grid.load, table.figures, strict=True)
    rows = {f"{_MARK}{load:g}": " ".join(f"{one:.6g}" for one in figures) for load, figures in loads}
    return {f"{_MARK}{_RPM}": " ".join(f"{one:g}" for one in table.grid.rpm), **rows}


def table_with(table: FuelTable, proposal: Sequence[Proposed]) -> FuelTable:
    """The table with a proposal's factors written over it; cells it leaves alone stay to the digit.

    Args:
        proposal: of the same breakpoints, low loads first.
    """
    width = len(table.grid.rpm)
    flat = [figure for row in table.figures for figure in row]
    new = [old if one.factor == 1.0 else old * one.factor for old, one in zip(flat, proposal, strict=True)]
    return FuelTable(grid=table.grid, figures=tuple(tuple(new[k : k + width]) for k in range(0, len(new), width)))


def _made(rpm: tuple[float, ...], body: Sequence[Sequence[float]]) -> FuelTable:
    """The table of engine speeds and lines that begin with their load."""
    if not body or any(len(row) != len(rpm) + 1 for row in body):
        raise NoAnswer(_WHAT, ("Engine speeds stand along the top, a load and its figures on each line.",))
    try:
        grid = Grid(rpm=rpm, load=tuple(row[0] for row in body))
    except OutOfReach as fault:
        raise NoAnswer(_WHAT, (f"{fault.name} is to be {fault.allowed}.",)) from fault
    return FuelTable(grid=grid, figures=tuple(tuple(row[1:]) for row in body))
