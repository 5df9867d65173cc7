"""What stands in the table files that ship with the package?

The only module of the lower levels that opens a file, and only the package's own: CSV for figures, TOML for part kinds.
Rows come back as text, as printed in the file; each table's own module turns them into figures. Files do not change
while the program runs, so each is read once.
"""

from __future__ import annotations

import csv
import io
import tomllib
from collections.abc import Mapping
from functools import cache
from importlib import resources
from types import MappingProxyType

from loomwright.refusals import TableFault

__all__ = ["read_rows", "read_toml", "table_names"]

_PACKAGE = "loomwright.tables"


@cache
def read_rows(name: str) -> tuple[Mapping[str, str], ...]:
    """The rows of a table, heading -> text, in the file's order.

    Args:
        name: the table's name, without ending.
    Raises:
        TableFault: no such table, or a row with more or fewer cells than the heading.
    Example:
        >>> read_rows("sources")[0]["key"]
        'from-memory'
    """
    file = resources.files(_PACKAGE).joinpath(f"{name}.csv")
    if not file.is_file():
        raise TableFault(name, 1, "file", "no such table")
    rows = list(csv.reader(io.StringIO(file.read_text(encoding="utf-8"))))
    heading = rows[0]
    for number, row in enumerate(rows[1:], start=2):
        if len(row) != len(heading):
            raise TableFault(name, number, "row", f"{len(row)} cells under {len(heading)} headings")
    return tuple(MappingProxyType(dict(zip(heading, row, strict=True))) for row in rows[1:])


@cache
def read_toml(folder: str, name: str) -> Mapping[str, object]:
    """What a TOML file of a table folder holds.

    Raises:
        TableFault: the file is not there or not TOML.
    """
    file = resources.files(_PACKAGE).joinpath(folder, f"{name}.toml")
    if not file.is_file():
        raise TableFault(f"{folder}/{name}", 1, "file", "no such table")
    try:
        return MappingProxyType(tomllib.loads(file.read_text(encoding="utf-8")))
    except tomllib.TOMLDecodeError as fault:
        raise TableFault(f"{folder}/{name}", 1, "file", str(fault)) from fault


@cache
def table_names(folder: str = "", ending: str = "csv") -> tuple[str, ...]:
    """The names of the tables there are, in order."""
    place = resources.files(_PACKAGE).joinpath(folder) if folder else resources.files(_PACKAGE)
    names = (file.name for file in place.iterdir() if file.name.endswith(f".{ending}"))
    return tuple(sorted(name[: -len(ending) - 1] for name in names))
