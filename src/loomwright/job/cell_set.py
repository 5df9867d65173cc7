"""Many cells of jobs, held so that thousands of them take little room and are compared in a few steps.

A column of a sheet is one number with a bit for each of its rows; joining two sets, and asking whether they have a cell
in common, takes one step a column.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

__all__ = ["Cell", "Cells", "Column", "row_bit"]

Cell = tuple[str, str, int, str]
"""Which job, sheet, row counted from 0, name of the row's field; -1 and nothing: which rows there are. [-]"""

Column = tuple[str, str, str]
"""Which job, sheet, name of the field."""


def row_bit(row: int) -> int:
    """The bit of a row, counted from 0; of -1 the first. [-]"""
    return 1 << row + 1


class Cells:
    """A set of cells.

    Example:
        >>> colours = Cells([("typed", "wires", 0, "colour"), ("typed", "wires", 7, "colour")])
        >>> colours.isdisjoint(Cells([("typed", "wires", 7, "colour")])), colours.isdisjoint(Cells())
        (False, True)
        >>> list(colours)
        [('typed', 'wires', 0, 'colour'), ('typed', 'wires', 7, 'colour')]
    """

    __slots__ = ("_bits",)

    def __init__(self, cells: Iterable[Cell] = ()) -> None:
        self._bits: dict[Column, int] = {}
        for which, sheet, row, name in cells:
            self.add((which, sheet, name), row_bit(row))

    def add(self, column: Column, bits: int) -> None:
        """Some rows of a column.

        Args:
            bits: of the rows (`row_bit`). [-]
        """
        self._bits[column] = self._bits.get(column, 0) | bits

    def update(self, *others: Cells) -> None:
        """All cells of other sets."""
        own = self._bits
        for other in others:
            for column, bits in other._bits.items():
                own[column] = own.get(column, 0) | bits

    def isdisjoint(self, other: Cells) -> bool:
        """Whether no cell is in both."""
        few, many = (self._bits, other._bits) if len(self._bits) < len(other._bits) else (other._bits, self._bits)
        return not any(bits & many.get(column, 0) for column, bits in few.items())

    def __iter__(self) -> Iterator[Cell]:
        """The cells, column by column."""
        for (which, sheet, name), bits in self._bits.items():
            for row in range(-1, bits.bit_length() - 1):
                if bits & row_bit(row):
                    yield which, sheet, row, name

    def __eq__(self, other: object) -> bool:
        """Whether another set holds the same."""
        return isinstance(other, Cells) and self._bits == other._bits

    __hash__ = None  # type: ignore[assignment]  # it grows
