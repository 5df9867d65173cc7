"""Where in a sheet of a workbook do cells stand, and which of them are dates, faults, formulas?

A look at the sheet's XML before its values are read. The reader of values (python-calamine) sets aside memory for every
cell between the first and the last, copies a text for every cell that shares it, and gives a blank for a cell fault, a
formula that was never worked out, and a figure with a comment in it. So the sheet is looked at first: what lies too far
out or would become too much is refused, what would be lost is noted and told. Blank cells behind the last that holds
something (a format drawn down a million rows) are cut off here and cost nothing further.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from loomwright.sheets.workbook_xml import Attributes, DamagedPart, walk

__all__ = [
    "FURTHEST_ROW",
    "MOST_AREA",
    "MOST_CELLS",
    "MOST_COLUMNS",
    "MOST_TEXT_BYTES",
    "Cell",
    "SheetLook",
    "TooMuch",
    "cell_name",
    "look_at",
    "shared_text_bytes",
    "trimmed",
]

Cell = tuple[int, int]
"""Row and column, each counted from 1. [-]"""

MOST_COLUMNS = 256
"""Columns a sheet may reach over [-]; the widest of the contract has 21."""

FURTHEST_ROW = 100_000
"""Row that a sheet may reach to, blank ones between counted. [-]"""

MOST_CELLS = 1_000_000
"""Cells of a workbook that may hold something. [-]"""

MOST_AREA = 4_000_000
"""Cells of a workbook that may lie between the first of a sheet and its last, blank ones too. [-]"""

MOST_TEXT_BYTES = 32 * 1024 * 1024
"""Most text that the cells of a workbook may take from those they share. [bytes]"""

_LAST_ROW, _LAST_COLUMN = 1_048_576, 16_384
_MOST_MERGED = 100_000
_DIGITS = "0123456789"
_LONGEST_TAG = 64
_VALUES = (b"v>", b"is>", b"f>", b"<f", b":f ", b":f/")
_AFTER_VALUE = re.compile(rb"\s*</(?:(\w+):)?c\s*>")
_DATA_BEGINS = re.compile(rb"<(?:\w+:)?sheetData\s*>")
_DATA_ENDS = re.compile(rb"</(?:\w+:)?sheetData\s*>")
_SHARED = re.compile(rb' t="s"[^<>]*><v>(\d+)</v>')
_SIGN_IN_FIGURE = re.compile(rb"<(?:\w+:)?v\s*>[^<]*&#")


class TooMuch(DamagedPart):
    """A sheet that holds, or reaches over, more than is read. allowed: what is read, in words."""

    def __init__(self, what: str, allowed: str) -> None:
        super().__init__(what)
        self.allowed = allowed


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetLook:
    """What a sheet's XML says of its cells.

    rows, columns: how far cells that hold something reach. [-]   cells: how many do, or have a formula. [-]
    strings: how many take their text from those that cells share. [-]
    dates: cells whose format makes a date (`date`) or a length of time (`span`) of the figure.
    faults: cells with a cell fault -> its text.   formulas: cells with a formula.
    texts: those whose kept value is a text, which may be an empty one.
    merged: first and last cell of each merged area.
    """

    rows: int
    columns: int
    cells: int
    strings: int
    dates: Mapping[Cell, str]
    faults: Mapping[Cell, str]
    formulas: Sequence[Cell]
    texts: frozenset[Cell]
    merged: Sequence[tuple[Cell, Cell]]


def look_at(data: bytes, *, date_styles: Mapping[str, str]) -> SheetLook:
    """A look at one sheet.

    Args:
        data: its part of the workbook, blank cells at its end cut off.
        date_styles: number of a cell style -> `date` or `span`, of those that make one of a figure.
    Raises:
        DamagedPart: its XML cannot be read, or says what no spreadsheet writes.
        TooMuch: more than is read.
    """
    look = _Look(date_styles)
    begins = {
        "row": look.row_begins,
        "c": look.cell_begins,
        "v": look.value_begins,
        "is": look.value_begins,
        "f": look.formula_begins,
        "mergeCell": look.merge_begins,
        "sheetData": look.data_begins,
    }
    walk(data, begins, between=look.between)
    if b"&#" in data and _SIGN_IN_FIGURE.search(data):
        raise DamagedPart("has figures written as signs by their numbers")
    return SheetLook(
        rows=look.last_row,
        columns=look.last_column,
        cells=look.cells,
        strings=look.strings,
        dates=look.dates,
        faults=_fault_texts(data) if look.has_faults else {},
        formulas=tuple(look.formulas),
        texts=frozenset(look.texts),
        merged=tuple(look.merged),
    )


def shared_text_bytes(data: bytes, look: SheetLook, string_bytes: Sequence[int]) -> int:
    """How much text the cells of a sheet take from those that they share. [bytes]

    Args:
        data: its part of the workbook.
        look: what was seen of it.
        string_bytes: size of each text that cells share. [bytes]
    """
    numbers = _SHARED.findall(data)
    if len(numbers) != look.strings:  # written otherwise than most programs do
        numbers.clear()
        _each_value(data, "s", lambda _, number: numbers.append(number.encode()))
    counted = Counter(numbers)
    known = ((int(number), count) for number, count in counted.items() if number.isdigit() and len(number) < 10)
    return sum(string_bytes[number] * count for number, count in known if number < len(string_bytes))


def trimmed(data: bytes) -> bytes:
    """The same sheet without the blank cells behind the last cell that holds something.

    Where it is not written as spreadsheets write it, it is given back as it is.

    Example:
        >>> trimmed(b'<w><sheetData><row><c><v>1</v></c><c s="1"/></row><row/></sheetData></w>')
        b'<w><sheetData><row><c><v>1</v></c></row></sheetData></w>'
    """
    begin = _DATA_BEGINS.search(data)
    close = _DATA_ENDS.search(data, max(0, data.rfind(b"sheetData") - _LONGEST_TAG))
    if begin is None or close is None or close.start() < begin.end():
        return data
    last, length = max((data.rfind(sign, begin.end(), close.start()), len(sign)) for sign in _VALUES)
    if last < 0:
        return data[: begin.end()] + data[close.start() :]
    cell = _AFTER_VALUE.match(data, last + length)
    if cell is None:
        return data
    prefix = cell.group(1) + b":" if cell.group(1) else b""
    return data[: cell.end()] + b"</" + prefix + b"row>" + data[close.start() :]


def cell_name(cell: Cell) -> str:
    """A cell as a spreadsheet names it.

    Example:
        >>> cell_name((14, 3)), cell_name((1, 28))
        ('C14', 'AB1')
    """
    row, column = cell
    letters = ""
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return f"{letters}{row}"


@dataclass(slots=True)
class _Look:
    """What has been seen so far; `row`, `column`, `type`, `style` are those of the cell that was begun last."""

    date_styles: Mapping[str, str]
    row: int = 0
    row_name: str = ""
    letters_end: int | None = None
    column: int = 0
    type: str | None = None
    style: str | None = None
    last_row: int = 0
    last_column: int = 0
    cells: int = 0
    strings: int = 0
    has_faults: bool = False
    in_data: bool = False
    dates: dict[Cell, str] = field(default_factory=dict)
    formulas: list[Cell] = field(default_factory=list)
    texts: set[Cell] = field(default_factory=set)
    merged: list[tuple[Cell, Cell]] = field(default_factory=list)
    columns_known: dict[str, int] = field(default_factory=dict)

    def data_begins(self, _: Attributes) -> None:
        self.in_data = True

    def between(self) -> None:
        if self.in_data:
            raise DamagedPart("has a comment or a raw section among its cells")

    def row_begins(self, attributes: Attributes) -> None:
        number = attributes.get("r")
        self.row = self.row + 1 if number is None else _figure(number)
        self.row_name = "" if number is None else number
        self.letters_end = -len(self.row_name) or None
        self.column = 0
        if self.row > FURTHEST_ROW:
            raise TooMuch(f"reaches as far as row {self.row}", f"at most {FURTHEST_ROW} rows, blank ones too")

    def cell_begins(self, attributes: Attributes) -> None:
        name = attributes.get("r")
        if name is None:
            self.column += 1
        elif name.endswith(self.row_name):
            letters = name[: self.letters_end]
            self.column = self.columns_known.get(letters) or self.new_column(letters, name)
        else:
            raise DamagedPart(f"has a cell {name[:20]!r} in its row {self.row}")
        self.type = attributes.get("t")
        self.style = attributes.get("s")

    def new_column(self, letters: str, name: str) -> int:
        """A column not met before; in a row without a number of its own, the first cell gives it one."""
        if not self.row_name and letters[-1:].isdigit():
            bare = letters.rstrip(_DIGITS)
            self.row_begins({"r": letters[len(bare) :]})
            letters = bare
        column = self.columns_known[letters] = _column(letters, name)
        return column

    def value_begins(self, _: Attributes) -> None:
        self.cells += 1
        if self.row > self.last_row or self.column > self.last_column or self.cells > MOST_CELLS:
            self.further()
        if not self.column:
            raise DamagedPart("has a value outside its cells")
        sort = self.type
        if sort == "s":
            self.strings += 1
        elif sort is None or sort == "n":
            if self.style in self.date_styles:
                self.dates[self.row, self.column] = self.date_styles[self.style or ""]
        elif sort == "e":
            self.has_faults = True
        elif sort == "str":
            self.texts.add((self.row, self.column))
        elif sort == "d":
            self.dates[self.row, self.column] = "date"

    def further(self) -> None:
        """A cell further out than all before it; stops at the first that is too far."""
        self.last_row = max(self.last_row, self.row)
        self.last_column = max(self.last_column, self.column)
        if self.last_column > MOST_COLUMNS:
            raise TooMuch(f"reaches as far as cell {self.here()}", f"at most {MOST_COLUMNS} columns")
        if self.cells > MOST_CELLS:
            raise TooMuch(f"holds more than {MOST_CELLS} cells", f"at most {MOST_CELLS}")

    def here(self) -> str:
        return cell_name((self.row, self.column))

    def formula_begins(self, _: Attributes) -> None:
        self.cells += 1
        if self.cells > MOST_CELLS:
            self.further()
        if not self.column:
            raise DamagedPart("has a formula outside its cells")
        self.formulas.append((self.row, self.column))

    def merge_begins(self, attributes: Attributes) -> None:
        first, _, last = attributes.get("ref", "").partition(":")
        self.merged.append((_cell(first), _cell(last or first)))
        if len(self.merged) > _MOST_MERGED:
            raise TooMuch(f"has more than {_MOST_MERGED} merged cells", f"at most {_MOST_MERGED}")


def _figure(text: str) -> int:
    if not (text.isascii() and text.isdigit()) or len(text) > 8 or text[0] == "0":
        raise DamagedPart(f"has a row {text[:20]!r}, which no sheet has")
    return int(text)


def _column(letters: str, name: str) -> int:
    """The number of a column, from 1."""
    number = 0
    if letters.isascii() and letters.isalpha() and len(letters) <= 3:
        for letter in letters.upper():
            number = number * 26 + ord(letter) - ord("A") + 1
    if not 0 < number <= _LAST_COLUMN:
        raise DamagedPart(f"has a cell {name[:20]!r}, which no sheet has")
    return number


def _cell(name: str) -> Cell:
    letters = name.rstrip(_DIGITS)
    row = _figure(name[len(letters) :])
    if not 0 < row <= _LAST_ROW:
        raise DamagedPart(f"has a cell {name[:20]!r}, which no sheet has")
    return row, _column(letters, name)


def _fault_texts(data: bytes) -> dict[Cell, str]:
    """The text of each cell fault; looked for only where there is one."""
    found: dict[Cell, str] = {}
    _each_value(data, "e", found.__setitem__)
    return {cell: text.strip() or "a cell fault" for cell, text in found.items()}


def _each_value(data: bytes, sort: str, tell: Callable[[Cell, str], None]) -> None:
    """Tells what is written in each cell of one sort (`e` cell faults, `s` numbers of shared texts)."""
    look = _Look({})
    heard: list[str] = []

    def value_ends() -> None:
        if look.type == sort:
            tell((look.row, look.column), "".join(heard))

    begins = {"row": look.row_begins, "c": look.cell_begins, "v": lambda _: heard.clear()}
    walk(data, begins, ends={"v": value_ends}, text=heard.append)
