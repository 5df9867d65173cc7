"""Which sheets are there, and what may stand in them?

Everything a container, a grid or a document has to know about a sheet is derived here from the row types: headings in
order, help, allowed words, the JSON schema. There is no second list.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from functools import cache
from types import MappingProxyType
from typing import Any, get_type_hints

from loomwright.job.columns import Column, columns_of, field_name
from loomwright.job.job import Job
from loomwright.job.nearest import is_look_alike
from loomwright.job.row import Row
from loomwright.job.vocabulary import allowed_words
from loomwright.quantities import unit_word
from loomwright.refusals import OutOfReach

__all__ = [
    "FORMAT",
    "RECORDS",
    "SHEETS",
    "column_help",
    "column_of",
    "columns",
    "headings",
    "json_schema",
    "look_alike_columns",
    "row_key",
    "rows_of",
    "sheet_help",
]

FORMAT = 1
"""Number of the sheets' shape [-]; it goes up with every change that older sheets must be upgraded for."""

RECORDS = (
    "progress",
    "proofs",
    "gates",
    "attempts",
    "light_readings",
    "sensor_points",
    "changes",
    "decisions",
    "reasons",
)
"""Sheets that are kept with the job and not edited as cells: what was done, and what the tool decided."""

_NOT_SHEETS = ("extra_sheets",)

_SCHEMA_ID = "urn:uuid:ac5c3577-b0e2-4c63-b905-e50836ed9c73"
"""What the JSON schema of this format is known by; a new format gets another."""


def _row_types() -> dict[str, type[Row]]:
    """The row type of each sheet, from the fields of the job."""
    hints = get_type_hints(Job)
    return {name: hint.__args__[0] for name, hint in hints.items() if name not in _NOT_SHEETS}


SHEETS: Mapping[str, type[Row]] = MappingProxyType(_row_types())
"""Sheet -> its row type, in the order of the contract."""


def columns(sheet: str) -> tuple[Column, ...]:
    """The columns of a sheet, in order.

    Raises:
        OutOfReach: the contract has no such sheet.
    """
    return columns_of(_row_type(sheet))


def headings(sheet: str) -> tuple[str, ...]:
    """The headings of a sheet, in order.

    Example:
        >>> headings("bonds")
        ('from', 'to', 'mohm')
    """
    return tuple(column.name for column in columns(sheet))


def column_of(sheet: str, name: str) -> Column:
    """One column of a sheet, by its heading.

    Raises:
        OutOfReach: the contract has no such sheet or column.
    """
    for column in columns(sheet):
        if column.name == name:
            return column
    raise OutOfReach(f"column of sheet {sheet}", name, " ".join(headings(sheet)))


def column_help(sheet: str, name: str) -> str:
    """One line for the person filling in a column: what it is, its unit, what may stand there.

    Example:
        >>> column_help("bonds", "mohm")
        'resistance of the joint [mΩ]'
    """
    column = column_of(sheet, name)
    unit = f" [{unit_word(column.unit)}]" if unit_word(column.unit) else ""
    words = allowed_words(column)
    return f"{column.help}{unit}" + (f" ({' '.join(words)})" if words and column.kind in ("word", "words") else "")


def sheet_help(sheet: str) -> str:
    """One line that says what a row of a sheet is."""
    return (_row_type(sheet).__doc__ or "").strip().splitlines()[0]


def rows_of(job: Job, sheet: str) -> tuple[Row, ...]:
    """The rows of a sheet of the contract."""
    _row_type(sheet)
    rows: tuple[Row, ...] = getattr(job, sheet)
    return rows


def row_key(sheet: str, row: Row) -> tuple[str, ...]:
    """What tells a row from the others of its sheet; empty for sheets whose rows have no name."""
    return tuple(str(getattr(row, name)) for name in _key_fields(sheet))


@cache
def _key_fields(sheet: str) -> tuple[str, ...]:
    """The fields whose texts together name a row."""
    row_type = _row_type(sheet)
    names = [field_name(row_type, column.name) for column in columns_of(row_type) if column.key]
    if sheet == "contacts":
        # a gang may be blank, so it is no column that must be filled, but it tells rows apart
        names.insert(1, "gang")
    return tuple(names)


def look_alike_columns(job: Job) -> tuple[tuple[str, str, str], ...]:
    """Columns that the contract does not know and that look like one it does: (sheet, heading, the known one).

    Such a column is kept as it is; a rule says so, since a misspelt heading leaves a whole column unread.
    """
    found: list[tuple[str, str, str]] = []
    for sheet in SHEETS:
        extra = dict.fromkeys(name for row in rows_of(job, sheet) for name in row.extra)
        for name in extra:
            like = [known for known in headings(sheet) if is_look_alike(name.lower(), known)]
            found.extend((sheet, name, known) for known in like[:1])
    return tuple(found)


def json_schema() -> dict[str, Any]:
    """A whole job as a JSON schema: the format's number, and a list of rows a sheet with every cell a text.

    Sheets and columns of the job's own are allowed; of those that the contract knows, blank cells may be left out.

    Source:
        JSON Schema, draft 2020-12, from memory.
    """
    own = {"type": "array", "items": {"type": "object", "additionalProperties": {"type": "string"}}}
    sheets = {sheet: {"type": "array", "items": _row_schema(sheet)} for sheet in SHEETS}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": _SCHEMA_ID,
        "title": "job",
        "description": f"the sheets of a job, format {FORMAT}",
        "type": "object",
        "properties": {
            "format": {"description": "number of the sheets' shape", "const": FORMAT},
            "sheets": {"type": "object", "properties": sheets, "additionalProperties": own},
        },
        "required": ["format", "sheets"],
        "additionalProperties": False,
    }


def _row_schema(sheet: str) -> dict[str, Any]:
    cells = {}
    for column in columns(sheet):
        cell: dict[str, Any] = {"type": "string", "description": column_help(sheet, column.name)}
        words = allowed_words(column)
        if words and column.kind == "word":
            usual = [*words] if column.required else ["", *words]
            cell["anyOf"] = [{"enum": usual}, {"pattern": _as_typed(usual)}]
        elif words:
            cell["examples"] = [*words]
        cells[column.name] = cell
    return {
        "type": "object",
        "description": sheet_help(sheet),
        "properties": cells,
        "required": [column.name for column in columns(sheet) if column.required],
        "additionalProperties": {"type": "string"},
    }


def _as_typed(words: Sequence[str]) -> str:
    """A pattern for words as people type them: any capitals, a blank or `-` for `_`, blanks around."""
    letters = {" ": "[ _-]", "_": "[ _-]", "-": "[ _-]"}
    typed = (
        "".join(
            letters.get(sign) or (f"[{sign.lower()}{sign.upper()}]" if sign.isalpha() else re.escape(sign))
            for sign in word
        )
        for word in words
    )
    return rf"^\s*({'|'.join(typed)})\s*$"


def _row_type(sheet: str) -> type[Row]:
    row_type = SHEETS.get(sheet)
    if row_type is None:
        raise OutOfReach("sheet", sheet, " ".join(SHEETS))
    return row_type
