"""How does a workbook of ours look: paper, ink and copper, in a plain font that every machine has?

Columns of words have the format of text, so that a spreadsheet makes no date of `1-2` and no figure of `007`.
"""

from __future__ import annotations

import io
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from xlsxwriter import Workbook
from xlsxwriter.format import Format

__all__ = ["Paint", "new_workbook"]

_PAPER, _INK, _SOFT_INK, _RULE, _COPPER = "#faf7f0", "#1d1f21", "#5b5d5a", "#d9d3c4", "#b4652b"
_FONT = {"font_name": "Arial", "font_size": 10, "font_color": _INK}
_MADE = datetime(2000, 1, 1)
"""A day of making that is always the same, so that the same job gives the same bytes."""
_MEDIUM, _THIN = 2, 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Paint:
    """The looks of cells. needed: a heading that every row must fill.   quoted: a text that looks like a formula.
    guide: look of a line of the guide -> its format.   guide_tab, record_tab: colours of tabs."""

    heading: Format
    needed: Format
    text: Format
    quoted: Format
    guide: Mapping[str, Format]
    guide_tab: str
    record_tab: str


def new_workbook(file: io.BytesIO) -> tuple[Workbook, Paint]:
    """A workbook that will be written to `file` when it is closed, and the looks of its cells."""
    options = {
        "in_memory": True,
        "strings_to_urls": False,
        "strings_to_formulas": False,
        "strings_to_numbers": False,
        "default_format_properties": _FONT,
    }
    book = Workbook(file, options)
    book.set_properties({"created": _MADE})
    head = {"bg_color": _PAPER, "bottom": _MEDIUM, "bottom_color": _COPPER, "num_format": "@", "valign": "top"}
    cells = {"text_wrap": True, "valign": "top", "num_format": "@", "bottom": _THIN, "bottom_color": _RULE}
    paint = Paint(
        heading=book.add_format({**_FONT, **head}),
        needed=book.add_format({**_FONT, **head, "bold": True}),
        text=book.add_format({**_FONT, "num_format": "@"}),
        quoted=book.add_format({**_FONT, "num_format": "@", "quote_prefix": True}),
        guide={
            "mark": book.add_format({**_FONT, "font_color": _SOFT_INK, "num_format": "@"}),
            "caution": book.add_format({**_FONT, "bold": True, "num_format": "@"}),
            "title": book.add_format({**_FONT, "bold": True, "font_size": 13, "num_format": "@"}),
            "plain": book.add_format({**_FONT, "num_format": "@"}),
            "headings": book.add_format({**_FONT, **head, "bold": True}),
            "cells": book.add_format({**_FONT, **cells}),
        },
        guide_tab=_INK,
        record_tab=_RULE,
    )
    return book, paint
