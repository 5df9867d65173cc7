"""Which sheets of paper does the layout board take at its true size, and how are they joined?

The board is parted into equal fields, one a sheet; a field that nothing lies in is not printed. Every sheet has the
edge of its field as the line to cut along, a cross at each corner that must meet those of its neighbours, their names,
and a rule of 100 mm by which a printer that shrinks is found out. Upright or across, whichever takes fewer sheets.

Limits: a printer's margin that leaves no room for the rule is not kept to; that is said on every sheet.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import product
from math import ceil
from types import MappingProxyType

from loomwright.drawings.board.cards import Rect, crosses
from loomwright.drawings.board.layout_board import Board
from loomwright.drawings.placing.lettering import Lettering
from loomwright.drawings.symbols.items import Arc, Box, Circle, Drawing, Item, Line, Text
from loomwright.drawings.symbols.letters import text_box
from loomwright.refusals import OutOfReach

__all__ = ["MARGIN_MM", "PAPERS", "BoardPrint", "BoardSheet", "board_print", "sheet_page"]

PAPERS: Mapping[str, tuple[float, float]] = MappingProxyType(
    {"a4": (210.0, 297.0), "a3": (297.0, 420.0), "letter": (215.9, 279.4)}
)
"""Paper -> width and height, upright. [mm]   Source: ISO 216; Letter: 8.5 by 11 inches."""

MARGIN_MM = 8.0
"""What a printer leaves white round a sheet, typical. [mm]"""

RULE_MM = 100.0
"""The rule on every sheet. [mm]"""

_STRIP_MM = 14.0
_LEAST_WIDE_MM = 170.0
_LEAST_HIGH_MM = 60.0
_CROSS_MM = 5.0
_NAME = Lettering(size_mm=6.0, line_mm=7.0, font="figures", strong=True)
_WORDS = Lettering(size_mm=2.6, line_mm=3.2)


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardSheet:
    """One sheet. name: its row's letter and its column's number.   left_mm, top_mm: its field on the board. [mm]

    beside: left, right, above, below -> the sheet that joins there; only those that are printed.
    items: what of the board touches its field.
    """

    name: str
    left_mm: float
    top_mm: float
    beside: Mapping[str, str]
    items: tuple[Item, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardPrint:
    """The board on paper. page_mm: width and height of a sheet. [mm]   field_mm: of what it shows. [mm]

    margin_mm: left white. [mm]   columns, rows: of the whole grid. [-]   says: what could not be kept to; mostly empty.
    """

    board: Board
    paper: str
    page_mm: tuple[float, float]
    field_mm: tuple[float, float]
    margin_mm: float
    columns: int
    rows: int
    sheets: tuple[BoardSheet, ...]
    says: str

    @property
    def letters(self) -> tuple[str, ...]:
        """The letter of each row of sheets."""
        return tuple(_letters(row) for row in range(self.rows))


def board_print(board: Board, *, paper: str = "a4", margin_mm: float = MARGIN_MM) -> BoardPrint:
    """The sheets of a board, row by row.

    Args:
        paper: one of `PAPERS`.
        margin_mm: what the printer leaves white. [mm]
    Raises:
        OutOfReach: paper that is not known, or a margin below nought.
    """
    if paper not in PAPERS:
        raise OutOfReach("paper", paper, " ".join(PAPERS))
    if not margin_mm >= 0.0:
        raise OutOfReach("margin", f"{margin_mm:g} mm", "0 mm or more")
    wide, high = PAPERS[paper]
    most_mm = min((wide - _LEAST_WIDE_MM) / 2, (high - _LEAST_HIGH_MM - _STRIP_MM) / 2)
    kept_mm = min(margin_mm, most_mm)
    says = ""
    if kept_mm < margin_mm:
        says = (
            f"A margin of {margin_mm:g} mm leaves no room for the rule on {paper.upper()}: {kept_mm:g} mm is kept. "
            "What lies nearer the edge may not print; take larger paper."
        )
    found = [_parted(board, paper, page, kept_mm, says) for page in ((wide, high), (high, wide))]
    return min(found, key=lambda one: len(one.sheets))


def sheet_page(made: BoardPrint, sheet: BoardSheet, number: int) -> Drawing:
    """The page round a sheet's field: its edge, crosses, strip and rule.

    Args:
        number: which of the sheets it is, from 1. [-]
    """
    wide, high = made.page_mm
    return Drawing(
        id=f"board {sheet.name}",
        title=made.board.title,
        sheet=number,
        sheets=len(made.sheets),
        width_mm=wide,
        height_mm=high,
        tracks=(),
        items=tuple(_around(made, sheet, number)),
    )


def _parted(board: Board, paper: str, page: tuple[float, float], margin_mm: float, says: str) -> BoardPrint:
    field = page[0] - 2 * margin_mm, page[1] - 2 * margin_mm - _STRIP_MM
    columns, rows = max(ceil(board.width_mm / field[0]), 1), max(ceil(board.height_mm / field[1]), 1)
    inside: dict[tuple[int, int], list[Item]] = {}
    for _, item in board.items:
        room = _room(item)
        first = max(int(room[0] // field[0]), 0), max(int(room[1] // field[1]), 0)
        last = min(int(room[2] // field[0]), columns - 1), min(int(room[3] // field[1]), rows - 1)
        for row, column in product(range(first[1], last[1] + 1), range(first[0], last[0] + 1)):
            left, top = column * field[0], row * field[1]
            if not isinstance(item, Line) or crosses((left, top, left + field[0], top + field[1]), _ends(item)):
                inside.setdefault((row, column), []).append(item)
    names = {(row, column): f"{_letters(row)}{column + 1}" for row, column in inside}
    sheets = tuple(
        BoardSheet(
            name=names[row, column],
            left_mm=column * field[0],
            top_mm=row * field[1],
            beside={
                side: names[other]
                for side, other in (
                    ("left", (row, column - 1)),
                    ("right", (row, column + 1)),
                    ("above", (row - 1, column)),
                    ("below", (row + 1, column)),
                )
                if other in names
            },
            items=tuple(inside[row, column]),
        )
        for row, column in sorted(inside)
    )
    return BoardPrint(
        board=board,
        paper=paper,
        page_mm=page,
        field_mm=field,
        margin_mm=margin_mm,
        columns=columns,
        rows=rows,
        sheets=sheets,
        says=says,
    )


def _around(made: BoardPrint, sheet: BoardSheet, number: int) -> Iterator[Item]:
    left = top = made.margin_mm
    wide, high = made.field_mm
    yield Box(x_mm=left, y_mm=top, width_mm=wide, height_mm=high, line_mm=0.15, ink="soft", dashed=True)
    for x, y in product((left, left + wide), (top, top + high)):
        yield Line(x1_mm=x - _CROSS_MM, y1_mm=y, x2_mm=x + _CROSS_MM, y2_mm=y, width_mm=0.35)
        yield Line(x1_mm=x, y1_mm=y - _CROSS_MM, x2_mm=x, y2_mm=y + _CROSS_MM, width_mm=0.35)
    foot = top + high
    yield from _rule(left + 26.0, foot + 6.0)
    yield _NAME.text(sheet.name, left + 7.0, foot + 10.0)
    words = [
        f"{made.board.title}: layout board at true size, sheet {number} of {len(made.sheets)}",
        "joins " + (", ".join(f"{side} {name}" for side, name in sheet.beside.items()) or "nothing"),
        made.says,
    ]
    at = left + 26.0 + RULE_MM + 4.0
    room = left + wide - at - 2.0
    y = foot + 4.2
    for text in words:
        how = _WORDS
        long_mm = how.long_mm(text)
        if long_mm > room:
            how = Lettering(size_mm=max(how.size_mm * room / long_mm, 0.9), line_mm=how.line_mm)
        yield how.text(text, at, y)
        y += 3.6


def _rule(x: float, y: float) -> Iterator[Item]:
    """100 mm, a stroke every ten."""
    yield Line(x1_mm=x, y1_mm=y, x2_mm=x + RULE_MM, y2_mm=y, width_mm=0.3, about="rule")
    for step in range(11):
        at, long_mm = x + step * 10.0, 3.0 if step % 5 == 0 else 1.8
        yield Line(x1_mm=at, y1_mm=y - long_mm, x2_mm=at, y2_mm=y, width_mm=0.25)
    yield _WORDS.text("100 mm: measure it; where it is not, print at true size", x, y + 4.2)


def _letters(row: int) -> str:
    """A, B … Z, AA, AB …"""
    found = ""
    number = row + 1
    while number:
        number, rest = divmod(number - 1, 26)
        found = chr(ord("A") + rest) + found
    return found


def _ends(item: Line) -> tuple[float, float, float, float]:
    return item.x1_mm, item.y1_mm, item.x2_mm, item.y2_mm


def _room(item: Item) -> Rect:
    """The room an item takes. [mm]"""
    if isinstance(item, Line):
        across, down = sorted((item.x1_mm, item.x2_mm)), sorted((item.y1_mm, item.y2_mm))
        return across[0], down[0], across[1], down[1]
    if isinstance(item, Text):
        return text_box(item)
    if isinstance(item, Box):
        return item.x_mm, item.y_mm, item.x_mm + item.width_mm, item.y_mm + item.height_mm
    if isinstance(item, Circle | Arc):
        far = item.radius_mm
        return item.x_mm - far, item.y_mm - far, item.x_mm + far, item.y_mm + far
    across = sorted(x for x, _ in item.points_mm)
    down = sorted(y for _, y in item.points_mm)
    return across[0], down[0], across[-1], down[-1]
