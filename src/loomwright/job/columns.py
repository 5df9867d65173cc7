"""What is a column of a sheet: its heading, what may stand in a cell, its unit, its help.

This is the one place the schema is made of. Each field of a row type is declared through `column(...)`; headings,
help, the allowed words, the workbook's drop-downs, the JSON schema and the reading of a cell are all taken from what
is kept here.

A column's *kind* says how a cell is read:

    text      as it stands (`allowed` words are suggestions)       word, words   one, or several, of the allowed words
    id        a name: letters, figures, `-`, `_`                   ref, refs     one, or several, ids of other sheets
    number    a figure in the unit of the heading                  count         a whole number
    yes_no    yes or no                                            colour        IEC 60757, base/tracer
    point     part.terminal                                        list          words apart by spaces
    settings  name=value; name=value                               joins         30+58 56+57: groups of joined terminals
    condition key=start, selector=P|N                              must          live, dead, floating, >= 9 V
    value     a figure, or what a test lamp showed
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass, field, fields
from functools import cache
from typing import Any, Literal, cast

from loomwright.job.conditions import ALWAYS
from loomwright.job.fixed_map import NOTHING
from loomwright.quantities import ending_of

__all__ = ["Column", "ColumnKind", "column", "columns_of", "field_name", "heading"]

ColumnKind = Literal[
    "text",
    "id",
    "word",
    "words",
    "ref",
    "refs",
    "number",
    "count",
    "yes_no",
    "colour",
    "point",
    "list",
    "settings",
    "joins",
    "condition",
    "must",
    "value",
]

_BLANK: dict[str, Any] = {
    "words": (),
    "refs": (),
    "list": (),
    "joins": (),
    "settings": NOTHING,
    "condition": ALWAYS,
    "number": None,
    "count": None,
    "yes_no": None,
    "value": None,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column of a sheet.

    name: the heading.   kind: how a cell is read.   help: one line for a person filling it in.
    allowed: the words that may stand there.   table: name of the list of words kept in `tables` (see `vocabulary`).
    required: a cell may not be blank.   key: part of what tells the sheet's rows apart.
    unit: the ending of the unit; empty where there is none.   least, most: bounds, both allowed; None = open.
    refers: the sheets whose ids may stand there.   blank: what a blank cell means.
    """

    name: str
    kind: ColumnKind
    help: str
    allowed: tuple[str, ...] = ()
    table: str = ""
    required: bool = False
    key: bool = False
    unit: str = ""
    least: float | None = None
    most: float | None = None
    refers: tuple[str, ...] = ()
    blank: Any = ""


def column(
    kind: ColumnKind,
    help: str,
    *,
    allowed: str = "",
    table: str = "",
    required: bool = False,
    key: bool = False,
    unit: str = "",
    least: float | None = None,
    most: float | None = None,
    refers: str = "",
    blank: Any = None,
) -> Any:
    """A field of a row type, with all that is to be known about its column kept in the field's metadata.

    Args:
        allowed: words apart by `|`.
        refers: sheets apart by spaces.
        unit: only where the heading does not end with it.
        blank: what a blank cell means, where that is not nothing.
    """
    meaning = _BLANK.get(kind, "") if blank is None else blank
    facts = {
        "kind": kind,
        "help": help,
        "allowed": tuple(allowed.split("|")) if allowed else (),
        "table": table,
        "required": required or key,
        "key": key,
        "unit": unit,
        "least": least,
        "most": most,
        "refers": tuple(refers.split()),
        "blank": meaning,
    }
    if required or key:
        return field(metadata={"column": facts})
    return field(default=meaning, metadata={"column": facts})


def heading(name: str) -> str:
    """The heading that stands for a field of a row type: without the underscore that avoids a word of the language.

    Example:
        >>> heading("from_"), heading("to")
        ('from', 'to')
    """
    return name.removesuffix("_")


def columns_of(row_type: type[Any]) -> tuple[Column, ...]:
    """The columns of a row type, in the order of the contract."""
    return _columns(cast(Hashable, row_type))


def field_name(row_type: type[Any], name: str) -> str:
    """The field of a row type that a heading stands for.

    Raises:
        KeyError: the row type has no such column.
    """
    return _field_names(cast(Hashable, row_type))[name]


@cache
def _columns(row_type: Hashable) -> tuple[Column, ...]:
    found = []
    for each in fields(cast(type[Any], row_type)):
        facts = each.metadata.get("column")
        if facts is None:
            continue
        name = heading(each.name)
        found.append(Column(**{**facts, "name": name, "unit": facts["unit"] or _unit(facts["kind"], name)}))
    return tuple(found)


@cache
def _field_names(row_type: Hashable) -> dict[str, str]:
    return {heading(each.name): each.name for each in fields(cast(type[Any], row_type)) if "column" in each.metadata}


def _unit(kind: str, name: str) -> str:
    """The unit a heading ends with; only figures have one."""
    return (ending_of(name) or "") if kind == "number" else ""
