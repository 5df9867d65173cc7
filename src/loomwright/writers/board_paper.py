"""How does the layout board become a PDF: one page that shows all of it, then every sheet at its true size?

In: a `BoardPrint`. Out: bytes; the same board gives the same bytes. The first page is `paper_board.typ`, which the
build pack prints as well; the sheets after it are pictures of their own size, nothing scaled.
"""

from __future__ import annotations

import json
from importlib import resources
from pathlib import Path
from typing import cast

import typst

from loomwright.drawings.board.board_sheets import BoardPrint, sheet_page
from loomwright.drawings.placing.lettering import Lettering
from loomwright.drawings.symbols.items import Drawing, Item, Line
from loomwright.writers.svg import svg_text, svg_window

__all__ = ["board_pdf", "board_told", "overview_drawing", "overview_svg"]

_PACKAGE = "loomwright.writers"
_LAYOUT = "board_paper.typ"
_FONTS = "fonts"
_ROOM_MM = (265.0, 150.0)
"""For the picture of the whole board, on A4 across. [mm]"""

_SHEET = Lettering(size_mm=2.2, line_mm=2.8, font="figures", ink="soft")


def board_pdf(made: BoardPrint, *, date: str = "") -> bytes:
    """The layout board as a PDF; its first page is A4 across, every other a sheet at true size.

    Args:
        date: printed as it stands; none where empty.
    """
    return cast(bytes, _typesetter(made, date).compile(format="pdf", timestamp=0, pdf_tags=False))


def board_told(made: BoardPrint) -> dict[str, object]:
    """What the page of the whole board says, as plain data for the layout."""
    board = made.board
    return {
        "title": board.title,
        "svg": overview_svg(made) if made.sheets else "",
        "paper": made.paper.upper(),
        "sheets": [one.name for one in made.sheets],
        "width": f"{board.width_mm / 1000:.2f}",
        "height": f"{board.height_mm / 1000:.2f}",
        "length": f"{board.length_mm / 1000:.1f}",
        "says": made.says,
        "sleeves": [
            {
                "number": one.number,
                "run": one.run,
                "from": _peg(made, one.run, 0),
                "to": _peg(made, one.run, 1),
                "length": f"{one.length_mm:.0f}",
                "how": one.how,
                "covering": one.covering,
                "thick": "" if one.thick_mm is None else f"{one.thick_mm:.0f}",
            }
            for one in board.sleeves
        ],
        "ends": [
            {
                "place": end.place,
                "to": end.to,
                "wires": list(end.wires),
                "reach": "" if end.reach_mm is None else f"{end.reach_mm:.0f}",
                "short": list(end.short),
            }
            for end in board.ends
        ],
        "missing": [{"id": one.id, "what": one.what, "why": one.why, "mend": one.mend} for one in board.missing],
    }


def overview_svg(made: BoardPrint) -> str:
    """The whole board on one picture, as SVG."""
    return svg_text(overview_drawing(made))


def overview_drawing(made: BoardPrint) -> Drawing:
    """The whole board on one picture, with the edges of its sheets; their letters at the left, their numbers above."""
    board = made.board
    seen = board.overview(*_ROOM_MM)
    corner_x, corner_y = seen.across_mm - board.left_mm * seen.scale, seen.down_mm - board.top_mm * seen.scale
    wide, high = (side * seen.scale for side in made.field_mm)
    items: list[Item] = []
    for sheet in made.sheets:
        x, y = corner_x + sheet.left_mm * seen.scale, corner_y + sheet.top_mm * seen.scale
        edges = (
            (x, y, x + wide, y),
            (x, y + high, x + wide, y + high),
            (x, y, x, y + high),
            (x + wide, y, x + wide, y + high),
        )
        items += [Line(x1_mm=a, y1_mm=b, x2_mm=c, y2_mm=d, width_mm=0.12, ink="rule") for a, b, c, d in edges]
    right, bottom = corner_x + made.columns * wide, corner_y + made.rows * high
    for column in range(made.columns):
        items.append(_SHEET.text(str(column + 1), corner_x + (column + 0.5) * wide, _SHEET.line_mm, anchor="middle"))
    for row, letter in enumerate(made.letters):
        items.append(_SHEET.text(letter, 1.0, corner_y + (row + 0.5) * high + 0.8))
    return Drawing(
        id="board",
        title=board.title,
        sheet=1,
        sheets=1,
        width_mm=max(seen.width_mm, right + 1.0),
        height_mm=max(seen.height_mm, bottom + 1.0),
        tracks=(),
        items=(*items, *(item for _, item in seen.items)),
    )


def _peg(made: BoardPrint, run: str, end: int) -> str:
    branch = next(one for one in made.board.flat.branches if one.run == run)
    return made.board.flat.pegs[branch.end if end else branch.start].place


def _typesetter(made: BoardPrint, date: str) -> typst.Compiler:
    folder = Path(str(resources.files(_PACKAGE)))
    room = (made.margin_mm, made.margin_mm, *made.field_mm)
    pages = [
        svg_window(sheet_page(made, sheet, number), sheet.items, room_mm=room, at_mm=(sheet.left_mm, sheet.top_mm))
        for number, sheet in enumerate(made.sheets, start=1)
    ]
    return typst.Compiler(
        str(folder / _LAYOUT),
        root=str(folder),
        font_paths=[str(folder / _FONTS)],
        ignore_system_fonts=True,
        sys_inputs={
            "board": json.dumps(board_told(made) | {"date": date}, ensure_ascii=False, sort_keys=True),
            "pages": json.dumps({"size": made.page_mm, "svg": pages}, ensure_ascii=False),
        },
    )
