"""What may be typed into a column of a workbook, as the spreadsheet offers and tells it?

Each column has a note that opens beside its cells (what goes there, in which unit, what a blank means), and where there
are words or ids to choose from, a list. A list stops what is typed only where nothing else can be read; where the
contract only suggests, it asks; where a cell takes several words, it only offers.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from loomwright.job.columns import Column
from loomwright.job.figures import text_of_figure
from loomwright.job.schema import headings
from loomwright.job.vehicle import BUILT_IN_METALS, PROPERTIES, SYSTEM_VOLTAGES_V
from loomwright.job.vocabulary import allowed_words
from loomwright.quantities import unit_word
from loomwright.sheets.workbook_look import cell_name

__all__ = ["Lists", "help_of", "offer_of", "plain_decimal", "property_offer", "way_of_writing"]

_LONGEST_TITLE, _LONGEST_NOTE, _LONGEST_LIST = 32, 255, 255
_METALS = "metals"
_MADE_BY_THE_TOOL = ("decisions", "reasons")

_WAYS: Mapping[str, str] = {
    "id": "letters, figures, - and _, without blanks",
    "word": "one word of the list",
    "words": "words of the list, apart by blanks",
    "ref": "an id of the sheet {refers}",
    "refs": "ids of the sheet {refers}, apart by blanks",
    "number": "a figure{unit}{range}{other}",
    "count": "a whole number{range}",
    "yes_no": "yes or no",
    "colour": "a code of IEC 60757, or base/tracer: WH, WH/BU",
    "point": "part.terminal, such as fan1.+, or a metal: body",
    "list": "words apart by blanks",
    "settings": "name=value; name=value",
    "joins": "terminals that meet, with + between them: 30+58; several groups apart by blanks",
    "condition": "key=start, selector=P|N, coolant_c>=95",
    "must": "live, dead, floating, >= 9 V, <= 15 A",
    "value": "a figure, or full, dim, dark, open, floating",
}
_OTHER_UNITS: Mapping[str, str] = {"mm2": "; or 16 AWG", "mm": "; or 1.2 m", "v": "; or 500 mV", "a": "; or 20 mA"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Lists:
    """Where lists of words stand in the guide. sheet: the guide's name.   rows: list -> first and last row. [-]
    column: the letter of their column.   kinds: the name of the list of part kinds."""

    sheet: str
    column: str
    rows: Mapping[str, tuple[int, int]]

    def source(self, name: str) -> str:
        """The cells of a list, as a formula."""
        first, last = self.rows[name]
        return f"={self.sheet}!${self.column}${first}:${self.column}${last}"


def way_of_writing(column: Column) -> str:
    """How a cell of a column is written, in words.

    Example:
        >>> from loomwright.job.schema import column_of
        >>> way_of_writing(column_of("wires", "size_mm2"))
        'a figure in mm², 0.01 to 1000; or 16 AWG'
    """
    unit = f" in {unit_word(column.unit)}" if unit_word(column.unit) else ""
    other = _OTHER_UNITS.get(column.unit, "")
    refers = " or ".join(column.refers)
    if _METALS in column.refers:
        refers += f", or one that is always there: {' '.join(BUILT_IN_METALS)}"
    return _WAYS.get(column.kind, "").format(unit=unit, range=_range(column), other=other, refers=refers)


def help_of(sheet: str, column: Column) -> str:
    """The note that opens beside a cell: what goes there, how it is written, what a blank means."""
    lines = [_sentence(column.help), _sentence(way_of_writing(column))]
    if sheet in _MADE_BY_THE_TOOL:
        lines.append("Filled in by loomwright.")
    elif column.required:
        lines.append("Must be filled.")
    elif column.blank and isinstance(column.blank, str):
        lines.append(f"Blank: {column.blank}.")
    return "\n".join(line for line in lines if line)[:_LONGEST_NOTE]


def offer_of(sheet: str, column: Column, lists: Lists, *, last_row: int) -> dict[str, Any]:
    """The list and the note of a column, in the words of the library that writes workbooks.

    Args:
        sheet: its sheet.
        column: the column.
        lists: where the lists of the guide stand.
        last_row: the last row of a sheet from which ids are offered. [-]
    """
    offer: dict[str, Any] = {
        "validate": "any",
        "input_title": column.name[:_LONGEST_TITLE],
        "input_message": help_of(sheet, column),
    }
    source, sort = _source(sheet, column, lists, last_row)
    if source:
        offer |= {"validate": "list", "source": source, "error_title": column.name[:_LONGEST_TITLE]}
        offer |= _asked(column, sort)
    return offer


def plain_decimal(number: float) -> str:
    """A figure without powers of ten, as a person types it.

    Example:
        >>> plain_decimal(1e-6), plain_decimal(4800000.0), plain_decimal(0.5)
        ('0.000001', '4800000', '0.5')
    """
    text = f"{number:.12f}"
    return text.rstrip("0").rstrip(".")


def property_offer(name: str) -> dict[str, Any]:
    """The list and the note of the value of one property of the vehicle."""
    offer: dict[str, Any] = {
        "validate": "any",
        "input_title": name[:_LONGEST_TITLE],
        "input_message": f"{PROPERTIES[name]}. Blank: the usual value."[:_LONGEST_NOTE],
    }
    words: Sequence[str] = {
        "system_voltage": tuple(text_of_figure(volts) for volts in SYSTEM_VOLTAGES_V),
        "earth": ("negative", "positive"),
        "earth_found": ("negative", "positive"),
    }.get(name, ())
    if words:
        offer |= {"validate": "list", "source": list(words), "error_title": name, "error_type": "warning"}
        offer["error_message"] = f"{PROPERTIES[name]} is what can be read here. Keep what you typed?"
    return offer


def _source(sheet: str, column: Column, lists: Lists, last_row: int) -> tuple[str | list[str], str]:
    """What a cell may be chosen from, and whether that is all (`stop`), a suggestion (`ask`) or one of several."""
    if column.kind == "yes_no":
        return ["yes", "no"], "stop"
    if column.kind in ("ref", "refs"):
        there = column.refers[0]
        first, last = cell_name((2, _id_column(there))), cell_name((last_row, _id_column(there)))
        is_all = column.kind == "ref" and there != _METALS  # some metals are there without a row
        return f"={there}!{_fixed(first)}:{_fixed(last)}", "ask" if is_all else "offer"
    if column.kind == "colour":
        return lists.source("colour"), "offer"
    if column.kind == "must":
        return ["live", "dead", "floating"], "offer"
    if (sheet, column.name) == ("parts", "kind"):
        return lists.source("kind"), "ask"
    if (sheet, column.name) == ("vehicle", "name"):
        return lists.source("property"), "ask"
    if (sheet, column.name) == ("circuits", "feed"):
        return lists.source("feeds"), "offer"
    words = allowed_words(column)
    if not words:
        return "", ""
    sort = {"word": "stop", "words": "offer"}.get(column.kind, "ask")
    if column.table:
        return lists.source(column.table), sort
    return (list(words), sort) if len(",".join(words)) <= _LONGEST_LIST else ("", "")


def _asked(column: Column, sort: str) -> dict[str, Any]:
    """What happens where something else is typed than the list has."""
    if sort == "offer":
        return {"show_error": False}
    if sort == "stop":
        return {"error_type": "stop", "error_message": "Choose one of the list, or leave the cell blank."}
    if column.kind == "ref":
        where = " or ".join(column.refers)
        says = f"The sheet {where} has no row of that name yet. Keep it, and add the row there?"
        return {"error_type": "warning", "error_message": says}
    return {"error_type": "warning", "error_message": "That is not one of the list. Keep what you typed?"}


def _sentence(text: str) -> str:
    """A text as a sentence; what begins with a word that is typed keeps its small letter."""
    first = text.split(" ", 1)[0]
    return f"{text[:1].upper() if first.isalpha() else text[:1]}{text[1:]}." if text else ""


def _id_column(sheet: str) -> int:
    """The column, from 1, in which the ids of a sheet stand."""
    return headings(sheet).index("id") + 1


def _fixed(name: str) -> str:
    """A cell's name as a place that does not move.

    Example:
        >>> _fixed("A2001")
        '$A$2001'
    """
    letters = name.rstrip("0123456789")
    return f"${letters}${name[len(letters) :]}"


def _range(column: Column) -> str:
    least = "" if column.least is None else plain_decimal(column.least)
    most = "" if column.most is None else plain_decimal(column.most)
    if least and most:
        return f", {least} to {most}"
    return f", {least} or more" if least else f", {most} or less" if most else ""
