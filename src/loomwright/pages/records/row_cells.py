"""What stands in the cells of one row: what was typed, what the tool decided, and where each can be asked why?"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import quote

from loomwright.job.decided import SETTINGS
from loomwright.job.job import Job
from loomwright.job.rows import Decision
from loomwright.job.schema import column_help, columns
from loomwright.pages.addresses import JobLinks
from loomwright.quantities import ending_of, unit_word
from loomwright.store.snapshot import Snapshot

__all__ = ["CellLine", "RowCells", "cells_of", "why_href"]

_ASKED = ("size_mm2", "length_mm")
_RATING = "rating_a"
_NOT_TOLD = ("id",)


@dataclass(frozen=True, slots=True, kw_only=True)
class CellLine:
    """One cell. word: its heading in words.   help: of the column.   decided: nobody typed it; `by` ruled.

    href: the cell in its grid.   why: where it is asked why; empty where nothing decides it.
    """

    column: str
    word: str
    text: str
    unit: str
    help: str
    href: str
    decided: bool = False
    by: str = ""
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class RowCells:
    """The cells of a row. blank: headings of those that are empty.   href: the row in its grid."""

    told: tuple[CellLine, ...]
    blank: tuple[str, ...]
    href: str


def cells_of(snapshot: Snapshot, job: Job, sheet: str, name: str, links: JobLinks) -> RowCells:
    """The cells of a row by the row's id, settings one by one."""
    row = next((one for one in snapshot.rows.get(sheet, ()) if one.cells.get("id") == name), None)
    if row is None:
        return RowCells(told=(), blank=(), href="")
    decided = {one.column: one for one in job.decisions if (one.sheet, one.row) == (sheet, name)}
    told: list[CellLine] = []
    blank: list[str] = []
    for column in columns(sheet):
        text = row.cells.get(column.name, "")
        choice = decided.get(column.name)
        if column.name in _NOT_TOLD:
            continue
        if column.kind == "settings":
            told += _settings(text, decided, name, links, links.cell(sheet, row.key, column.name))
        elif text or choice is not None:
            told.append(
                CellLine(
                    column=column.name,
                    word=_word(column.name),
                    text=text or (choice.value if choice is not None else ""),
                    unit=_unit(column.name) if _is_figure(text or "1") else "",
                    help=column_help(sheet, column.name),
                    href=links.cell(sheet, row.key, column.name),
                    decided=not text,
                    by=choice.decided_by if choice is not None and not text else "",
                    why=why_href(links, f"{name}.{column.name}") if column.name in _ASKED else "",
                )
            )
        else:
            blank.append(_word(column.name))
    return RowCells(told=tuple(told), blank=tuple(blank), href=links.cell(sheet, row.key))


def why_href(links: JobLinks, cell: str) -> str:
    """Where a cell is asked why; empty where there is no such page."""
    return f"/why/{quote(links.job, safe='')}/{quote(cell, safe='')}" if "/why/{}/{}" in links.offered else ""


def _settings(text: str, decided: Mapping[str, Decision], name: str, links: JobLinks, href: str) -> list[CellLine]:
    """The settings of a part, those that were decided first."""
    written = dict(_pair(piece) for piece in text.split(";") if "=" in piece)
    chosen = {
        column.removeprefix(SETTINGS): choice for column, choice in decided.items() if column.startswith(SETTINGS)
    }
    values = {**{setting: choice.value for setting, choice in chosen.items()}, **written}
    return [
        CellLine(
            column=setting,
            word=_word(setting),
            text=value,
            unit=_unit(setting) if _is_figure(value) else "",
            help="a setting of its kind",
            href=href,
            decided=setting not in written,
            by=chosen[setting].decided_by if setting not in written else "",
            why=why_href(links, f"{name}.{setting}") if setting == _RATING else "",
        )
        for setting, value in values.items()
    ]


def _pair(piece: str) -> tuple[str, str]:
    name, _, value = piece.partition("=")
    return name.strip(), value.strip()


def _word(column: str) -> str:
    ending = ending_of(column)
    return column.removesuffix(f"_{ending}").replace("_", " ") if ending else column.replace("_", " ")


def _unit(column: str) -> str:
    ending = ending_of(column)
    return unit_word(ending) if ending else ""


def _is_figure(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True
