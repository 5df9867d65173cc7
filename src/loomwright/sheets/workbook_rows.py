"""How does a row of cells stand in the XML of a sheet?

The library that writes workbooks (XlsxWriter) keeps every cell as an object until the end and takes half a second for a
large job; its way of marking texts also changes two rare ones (`<r>...</r>`, and codes that share a stroke like
`_x0041_x0042_`). So the rows are put together here as the text of the file, shared texts in the library's own table,
and the library puts them into its sheet. All else of the workbook is the library's.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cache
from html import escape

from xlsxwriter import Workbook
from xlsxwriter.format import Format
from xlsxwriter.worksheet import Worksheet

from loomwright.refusals import NoAnswer
from loomwright.sheets.workbook_look import cell_name

__all__ = ["Cell", "RowSheet", "whole_book"]

Cell = tuple[int, str | float | None, Format | None]
"""Place in its row from 0, what stands there (nothing: its look alone), how it looks."""

_ESCAPE = re.compile(r"_(?=x[0-9A-Fa-f]{4}_)")
_ESCAPE_TWICE = re.compile(r"_x[0-9A-Fa-f]{4}_x[0-9A-Fa-f]{4}_")
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f]")


class RowSheet(Worksheet):  # type: ignore[misc]  # the library has no types
    """A sheet that takes whole rows. is_taken: the library has asked for them and put them into the file."""

    def __init__(self) -> None:
        super().__init__()
        self.is_taken = False
        self._rows: list[str] = []

    def put_row(self, number: int, cells: Iterable[Cell]) -> None:
        """Puts the cells of one row, rows and cells in order.

        Args:
            number: the row, from 1. [-]
            cells: place from 0, what stands there, how it looks; blank cells may be left out.
        """
        shared = self.str_table._get_shared_string_index
        told = []
        place = 0
        for place, value, look in cells:
            style = "" if look is None else f' s="{look.xf_index or look._get_xf_index()}"'
            where = f'<c r="{_letters(place)}{number}"{style}'
            if value is None:
                told.append(f"{where}/>")
            elif not isinstance(value, str):
                told.append(f"{where}><v>{value:.15g}</v></c>")
            elif _is_trap(value):
                told.append(f'{where} t="inlineStr"><is><t xml:space="preserve">{_coded(value)}</t></is></c>')
            else:
                told.append(f'{where} t="s"><v>{shared(value)}</v></c>')
        if told:
            self._rows.append(f'<row r="{number}">{"".join(told)}</row>')
            self._check_dimensions(number - 1, place)

    def _write_sheet_data(self) -> None:
        """Gives the rows to the library, at the place in the file where they stand."""
        self._xml_start_tag("sheetData")
        self.fh.write("".join(self._rows))
        self._xml_end_tag("sheetData")
        self.is_taken = True


def whole_book(book: Workbook) -> None:
    """Whether every sheet of a closed workbook went into its file.

    Raises:
        NoAnswer: the library did not ask for the rows.
    """
    if not all(sheet.is_taken for sheet in book.worksheets()):
        raise NoAnswer("Writing the workbook", ("This version of the library XlsxWriter is not known here.",))


@cache
def _letters(place: int) -> str:
    """The letters of a column, from 0."""
    return cell_name((1, place + 1))[:-1]


def _is_trap(text: str) -> bool:
    """Whether the library would mark a text so that another is read."""
    return ("_x" in text and _ESCAPE_TWICE.search(text) is not None) or (text[:3] == "<r>" and text[-4:] == "</r>")


def _coded(text: str) -> str:
    """A text as it stands in XML, signs that XML cannot hold by their codes."""
    return escape(_CONTROL.sub(lambda sign: f"_x{ord(sign.group()):04X}_", _ESCAPE.sub("_x005F_", text)), quote=False)
