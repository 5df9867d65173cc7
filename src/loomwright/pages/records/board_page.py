"""What does the page of the layout board show: the whole loom flat, or one sheet of it at its true size, and its lists?

In: the board, its paper, a sheet, how near, a word. Out: a record. The picture and the lists are those of the paper.
"""

from __future__ import annotations

from dataclasses import dataclass

from loomwright.car import Car
from loomwright.drawings.board.board_sheets import MARGIN_MM, PAPERS, BoardPrint, board_print, sheet_page
from loomwright.drawings.board.layout_board import Missing
from loomwright.drawings.symbols.items import moved
from loomwright.pages.addresses import job_path
from loomwright.pages.records.drawing_view import NEARNESS, DrawnView, Nearer, drawn_view, looked_for, nearer_links
from loomwright.refusals import OutOfReach
from loomwright.writers.board_paper import board_told, overview_drawing

__all__ = ["BoardPage", "board_page"]


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardPage:
    """The page. sheet: the one that is shown; empty: the whole.   told: what the paper's page of the whole says.

    sheets: name and address of each.   found: sheets on which what is looked for stands.
    """

    title: str
    sheet: str
    paper: str
    papers: tuple[tuple[str, str, bool], ...]
    sheets: tuple[tuple[str, str], ...]
    view: DrawnView | None
    near: tuple[Nearer, ...]
    near_word: str
    find: str
    found: tuple[tuple[str, str, int], ...]
    told: dict[str, object]
    missing: tuple[Missing, ...]
    here: str
    whole_href: str
    drawings_href: str


def board_page(
    car: Car,
    job: str,
    *,
    paper: str = "a4",
    sheet: str = "",
    near: str = "whole",
    find: str = "",
    margin_mm: float = MARGIN_MM,
) -> BoardPage:
    """The layout board of a job.

    Args:
        job: its name, for the addresses.
        paper: one of `PAPERS`.
        sheet: the name of one of its sheets; the whole where empty.
        near: one of `NEARNESS`.
        find: what is looked for.
        margin_mm: what a printer leaves white. [mm]
    Raises:
        OutOfReach: no such paper or sheet.
    """
    made = board_print(car.board(), paper=paper, margin_mm=margin_mm)
    names = {one.name: one for one in made.sheets}
    if sheet and sheet not in names:
        raise OutOfReach("sheet", sheet, " ".join(names) or "none: nothing is laid out")

    def href(**said: str) -> str:
        asked = {"sheet": sheet, "paper": paper if paper != "a4" else "", "near": near, "find": find} | said
        return job_path(job, "board", query=asked)

    return BoardPage(
        title=made.board.title,
        sheet=sheet,
        paper=paper,
        papers=tuple(
            (name.upper() if name != "letter" else "Letter", href(paper=name), name == paper) for name in PAPERS
        ),
        sheets=tuple((name, href(sheet=name, near="true")) for name in names),
        view=_view(made, sheet, near, find) if names else None,
        near=nearer_links(near, {word: href(near=word) for word in NEARNESS}),
        near_word=near,
        find=find,
        found=tuple(
            (name, href(sheet=name, near="true"), hits)
            for name, one in names.items()
            if (hits := len(looked_for(one.items, find)))
        ),
        told={key: value for key, value in board_told(made).items() if key != "svg"},
        missing=made.board.missing,
        here=job_path(job, "board"),
        whole_href=href(sheet="", near="whole"),
        drawings_href=job_path(job, "drawings"),
    )


def _view(made: BoardPrint, sheet: str, near: str, find: str) -> DrawnView:
    if not sheet:
        whole = overview_drawing(made)
        return drawn_view(
            whole.items, whole.width_mm, whole.height_mm, near=near, find=find, label="the loom laid flat"
        )
    number, one = next((k, found) for k, found in enumerate(made.sheets, start=1) if found.name == sheet)
    around = sheet_page(made, one, number)
    inside = moved(one.items, x_mm=made.margin_mm - one.left_mm, y_mm=made.margin_mm - one.top_mm)
    return drawn_view(
        [*inside, *around.items], around.width_mm, around.height_mm, near=near, find=find, label=f"sheet {sheet}"
    )
