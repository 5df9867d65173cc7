"""How do flat rows become a data frame?

In: rows, such as `car.rows("wires")` gives. Out: a polars data frame with the same headings in the same order, each
typed: text, figures, whole numbers, yes and no. Nothing known is null. Rows of an answer know their headings and types
even where there is no row; for other rows both are taken from what stands in them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

import polars as pl

from loomwright.handover.plain_rows import Columns, Plain, Rows
from loomwright.refusals import OutOfReach

__all__ = ["frame"]

_TYPES: Mapping[type, type[pl.DataType]] = {str: pl.String, float: pl.Float64, int: pl.Int64, bool: pl.Boolean}


def frame(rows: Sequence[Mapping[str, Plain]]) -> pl.DataFrame:
    """Flat rows as a data frame.

    Args:
        rows: as `car.rows` gives them, or any list of rows with plain values.
    Raises:
        OutOfReach: a cell that is no plain value, or one that does not go with the others of its column.
    Example:
        >>> frame([{"wire": "W1", "size_mm2": 2.5}, {"wire": "W2", "size_mm2": None}]).schema["size_mm2"]
        Float64
    """
    columns = rows.columns if isinstance(rows, Rows) else _columns(rows)
    return pl.DataFrame(
        [[row.get(name) for name in columns] for row in rows],
        schema={name: _TYPES[kind] for name, kind in columns.items()},
        orient="row",
    )


def _columns(rows: Sequence[Mapping[str, Plain]]) -> Columns:
    names = dict.fromkeys(name for row in rows for name in row)
    return {name: _kind(name, (row.get(name) for row in rows)) for name in names}


def _kind(name: str, cells: Iterable[Plain]) -> type:
    """The one type that all cells of a column have; whole numbers among figures count as figures."""
    found = {type(cell) for cell in cells if cell is not None}
    if found <= {int, float} and float in found:
        return float
    if len(found) > 1 or not found <= set(_TYPES):
        raise OutOfReach(
            f"column {name}", " ".join(sorted(kind.__name__ for kind in found)), "one of str float int bool"
        )
    return next(iter(found), str)
