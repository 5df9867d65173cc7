"""The rows of a CSV file that a person filled in, read as the sheets are, parted by `,` or by `;`.

Where `;` parts the cells, a figure has its comma before its decimals: it is given with a point.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

from loomwright.cli.printing import told
from loomwright.refusals import BadDocument
from loomwright.sheets.separated import SheetText, rows_from_text

__all__ = ["rows_of_file"]

_DECIMALS = re.compile(r"\A(\s*[-+]?\d+),(\d+)(?!\d*[,.])")


def rows_of_file(path: Path, what: str, needed: Sequence[str]) -> SheetText:
    """Heading -> text of each row; the row at index 0 is row 2 of the spreadsheet, a blank one is empty.

    Args:
        path: of the file.
        what: it is to be, in words.
        needed: headings that must be there.
    Raises:
        BadDocument: it cannot be read, holds no row, or a heading is missing.
    """
    headings = f"Its headings: {' '.join(needed)}"
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as fault:
        raise told(str(path), what, headings) from fault
    rows, problems = rows_from_text(path.name, text)
    if problems:
        raise BadDocument(tuple(problems))
    if ";" in text.partition("\n")[0]:
        rows = [{name: _DECIMALS.sub(r"\1.\2", cell) for name, cell in row.items()} for row in rows]
    full = [row for row in rows if any(cell.strip() for cell in row.values())]
    missing = [name for name in needed if full and name not in full[0]]
    if not full or missing:
        raise told(f"{path}: no {', '.join(missing) or 'row'}", " ".join(needed), "Write the headings in the first row")
    return rows
