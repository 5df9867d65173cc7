"""What does a truth table say, as words, as flat rows for a workbook, and as plain data?

One row a combination; a point with a figure has two columns in a workbook, its word and its figure, so that a
spreadsheet can reckon with it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from loomwright.handover.lists import PackList
from loomwright.states.truth.asked import AskedPoint
from loomwright.states.truth.table import TruthCell, TruthRow, TruthTable

__all__ = ["cell_text", "changed_by_history", "note_words", "truth_list", "truth_plain", "truth_says"]

_DIGITS = {"V": 2, "A": 3}
_UNITS = {"volts": "V", "amps": "A"}
_PLAIN_DIGITS = 9


def cell_text(cell: TruthCell) -> str:
    """A cell as it is printed in a line.

    Example:
        >>> cell_text(TruthCell(word="live", number=12.634, unit="V")), cell_text(TruthCell(word="floating", unit="V"))
        ('live 12.63 V', 'floating')
    """
    return f"{cell.word} {_figure(cell)} {cell.unit}" if cell.number is not None else cell.word


def truth_list(table: TruthTable) -> PackList:
    """The table as a list of a workbook."""
    headings = [*table.variables]
    figures = []
    for point in table.points:
        headings.append(point.name)
        if point.what in _UNITS:
            figures.append(f"{point.name} in {_UNITS[point.what]}")
            headings.append(figures[-1])
    headings += ["if it comes from", "then", "note"]
    return PackList(
        name="truth table",
        headings=tuple(headings),
        rows=tuple(tuple(_cells(table, row)) for row in table.rows),
        figures=tuple(figures),
    )


def truth_plain(table: TruthTable) -> dict[str, object]:
    """The table as plain data."""
    return {
        "variables": list(table.variables),
        "points": [
            {"name": point.name, "what": point.what, "unit": _UNITS.get(point.what, "")} for point in table.points
        ],
        "at": dict(table.at),
        "before": dict(table.before),
        "impossible": table.impossible,
        "untried": table.untried,
        "rows": [
            {
                "state": dict(zip(table.variables, row.values, strict=True)),
                "cells": _plain(table.points, row.cells),
                "other": row.other
                and {"before": dict(row.other.before), "cells": _plain(table.points, row.other.cells)},
                "buzzes": row.buzzes,
                "collapsed": row.collapsed,
            }
            for row in table.rows
        ],
    }


def truth_says(table: TruthTable) -> tuple[str, ...]:
    """What is to be known of the whole table, a sentence each."""
    set_so = _pairs(table.at) or "everything else at rest"
    says = [f"{len(table.rows)} combinations of {', '.join(table.variables)}; {set_so}."]
    if table.before:
        says.append(f"Each is come to from {_pairs(table.before)}.")
    if table.impossible:
        says.append(f"{table.impossible} more cannot occur: the engine cranks only where a starter is in.")
    if table.untried:
        says.append(f"{table.untried} rows with relays that could hold were not asked from where they are come to.")
    return tuple(says)


def changed_by_history(points: tuple[AskedPoint, ...], row: TruthRow) -> Iterable[str]:
    """The points that history changes, with what they then are."""
    other = row.other.cells if row.other is not None else row.cells
    for point, cell, now in zip(points, row.cells, other, strict=True):
        if cell_text(cell) != cell_text(now):
            yield f"{point.name} {cell_text(now)}"


def note_words(row: TruthRow) -> tuple[str, ...]:
    """What does not hold still in a row."""
    found = (("a relay buzzes", row.buzzes), ("the supply gives way", row.collapsed))
    return tuple(words for words, is_so in found if is_so)


def _cells(table: TruthTable, row: TruthRow) -> Iterable[str]:
    yield from row.values
    for point, cell in zip(table.points, row.cells, strict=True):
        yield cell.word
        if point.what in _UNITS:
            yield "" if cell.number is None else _figure(cell)
    yield "" if row.other is None else _pairs(row.other.before)
    yield "" if row.other is None else "; ".join(changed_by_history(table.points, row))
    yield ", ".join(note_words(row))


def _plain(points: tuple[AskedPoint, ...], cells: tuple[TruthCell, ...]) -> dict[str, object]:
    return {
        point.name: {
            "word": cell.word,
            "number": None if cell.number is None else round(cell.number, _PLAIN_DIGITS) + 0.0,
        }
        for point, cell in zip(points, cells, strict=True)
    }


def _figure(cell: TruthCell) -> str:
    digits = _DIGITS.get(cell.unit, 2)
    return f"{round(cell.number or 0.0, digits) + 0.0:.{digits}f}"


def _pairs(state: Mapping[str, str]) -> str:
    return ", ".join(f"{name} {value}" for name, value in state.items())
