"""How does an answer look as flat rows that any program can take: a list, a spreadsheet, a data frame, JSON?

One row is a `dict` of headings to plain values: text, a figure, a whole number, yes or no, or nothing known. A list
inside a row is text with blanks between, as in the sheets; a condition is text as it is typed. All rows of one answer
have the same headings, which `Rows` knows even where there is no row. Headings end with their unit as everywhere;
`volts` and `amps` are whole answers.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from math import isfinite
from types import MappingProxyType
from typing import TypeVar

from loomwright.findings import id_order

__all__ = ["Columns", "Plain", "Rows", "by_id", "known", "listed", "typed_headings"]

_T = TypeVar("_T")

Plain = str | float | int | bool | None
"""What may stand in a cell; None: not known, or nothing there."""

Columns = Mapping[str, type]
"""Heading -> `str`, `float`, `int` or `bool`, in order."""

_TYPES: Mapping[str, type] = {kind.__name__: kind for kind in (str, float, int, bool)}


class Rows(list[dict[str, Plain]]):
    """Flat rows with one and the same headings; a plain list otherwise.

    columns: heading -> the type of its values, in order.

    Example:
        >>> rows = Rows({"point": str, "volts": float}, [("ECU.A1", 12.4), ("X1.2p", None)])
        >>> rows[1], list(rows.columns), len(Rows({"point": str}, ()))
        ({'point': 'X1.2p', 'volts': None}, ['point', 'volts'], 0)
    """

    __slots__ = ("columns",)

    def __init__(self, columns: Columns, cells: Iterable[Sequence[Plain]]) -> None:
        """Rows under headings.

        Args:
            cells: the values of each row, in the order of the headings.
        Raises:
            ValueError: a row with more or fewer values than there are headings.
        """
        super().__init__(dict(zip(columns, row, strict=True)) for row in cells)
        self.columns: Columns = MappingProxyType(dict(columns))


def typed_headings(words: str) -> Columns:
    """Headings with the types of their values: text, or what stands behind a colon.

    Args:
        words: headings apart by blanks, `wire length_mm:float done:bool`.
    Example:
        >>> typed_headings("wire length_mm:float")["length_mm"]
        <class 'float'>
    """
    pieces = (word.partition(":") for word in words.split())
    return {name: _TYPES[kind or "str"] for name, _, kind in pieces}


def listed(words: Iterable[object]) -> str:
    """Several words as one cell.

    Example:
        >>> listed(("W1", "W2")), listed(())
        ('W1 W2', '')
    """
    return " ".join(str(word) for word in words)


def known(value: float | None) -> float | None:
    """A figure that other programs can take: none where there is no number, as where a supply collapsed.

    Example:
        >>> known(12.5), known(float("nan")), known(None)
        (12.5, None, None)
    """
    return None if value is None or not isfinite(value) else value


def by_id(answers: Mapping[str, _T]) -> list[tuple[str, _T]]:
    """The entries of a mapping by id, W2 before W10."""
    return sorted(answers.items(), key=lambda item: id_order(item[0]))
