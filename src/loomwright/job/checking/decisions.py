"""Do the kept decisions name cells that can be decided, and can what they say stand there?"""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.job.cells import CellFault, read_cell
from loomwright.job.checking.look import Look
from loomwright.job.rows import Decision
from loomwright.job.schema import column_of
from loomwright.refusals import Problem

__all__ = ["DECIDED", "check_decisions"]

DECIDED = {"wires": ("size_mm2", "length_mm"), "parts": ("settings.rating_a",), "needs": ("pin",)}
"""Sheet -> the columns that may be decided for a blank cell."""


def check_decisions(look: Look) -> Iterator[Problem]:
    """Decisions about a cell nobody decides, or with a text that could not be typed there.

    A decision about a row that is gone is no problem: rows go, and the next working out forgets it.
    """
    for index, one in enumerate(look.job.decisions):
        columns = DECIDED.get(one.sheet)
        if columns is None:
            yield _told(look, index, "sheet", one.sheet, " ".join(DECIDED))
        elif one.column not in columns:
            yield _told(look, index, "column", one.column, " ".join(columns))
        elif not _can_stand(one):
            yield _told(look, index, "value", one.value, "a figure that could be typed in that cell")


def _told(look: Look, index: int, column: str, found: str, allowed: str) -> Problem:
    mend = "Take the row out; it is worked out anew when asked for"
    return look.problem("decisions", index, column, found=found, allowed=allowed, mend=mend)


def _can_stand(one: Decision) -> bool:
    if one.sheet == "needs":
        return bool(one.value.strip())  # a pin that is gone is no problem: the next working out finds another
    column = column_of("contacts", "rating_a") if one.sheet == "parts" else column_of("wires", one.column)
    try:
        return read_cell(column, one.value) is not None
    except CellFault:
        return False
