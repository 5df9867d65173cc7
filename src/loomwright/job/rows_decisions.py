"""What the tool decided for cells that were left blank, and why: records kept beside the sheets.

A decision never stands in the sheet it is about. It is used as if it stood there until a person adopts it, types
something else, or the rows it rests on change. Each has several reasons, one a limit that was looked at; the one that
ruled is named by `decided_by`.
"""

from __future__ import annotations

from dataclasses import dataclass

from loomwright.job.columns import column as cell
from loomwright.job.conditions import ALWAYS, Condition
from loomwright.job.row import Row

__all__ = ["Decision", "Reason"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision(Row):
    """One cell the tool decided. value: as it would be typed there; a setting's column is `settings.rating_a`.

    digest: of the rows it rests on, to know when it must be worked out anew.
    """

    sheet: str = cell("text", "sheet of the cell", key=True)
    row: str = cell("text", "name of the row", key=True)
    column: str = cell("text", "heading of the column, settings.rating_a for a setting", key=True)
    value: str = cell("text", "what was decided, as it would be typed there", required=True)
    decided_by: str = cell("text", "the limit that ruled")
    digest: str = cell("text", "tells whether the rows it rests on are still the same")


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason(Row):
    """One limit that was looked at for a decision. asks: the least (or most) that would satisfy this limit alone."""

    sheet: str = cell("text", "sheet of the cell", required=True)
    row: str = cell("text", "name of the row", required=True)
    column: str = cell("text", "heading of the column", required=True)
    limit: str = cell("text", "the limit: heat, volts, fuse, strength, route ...", required=True)
    asks: str = cell("text", "what this limit alone would ask for")
    says: str = cell("text", "the limit in a sentence, with its figures")
    when: Condition = cell("condition", "the worst state of the car", blank=ALWAYS)  # noqa: RUF009
    rests_on: tuple[str, ...] = cell("list", "wires, parts, runs and places it rests on, apart by spaces")
    method: str = cell("text", "what worked it out")
    table: str = cell("text", "the table and its row")
    source: str = cell("text", "where that figure is from, and the place there")
