"""A statement worked out once for a database's own language, then run with figures alone.

Working a statement out anew each time costs more than running it; an edit is answered in milliseconds.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import Connection, CursorResult
from sqlalchemy.sql.expression import Executable

__all__ = ["Prepared"]


class Prepared:
    """A statement whose figures are named parameters."""

    def __init__(self, statement: Executable) -> None:
        self._statement = statement
        self._told: dict[str, tuple[str, tuple[str, ...] | None]] = {}

    def run(self, connection: Connection, figures: Mapping[str, Any]) -> CursorResult[Any]:
        """Run it once."""
        text, order = self._in(connection)
        return connection.exec_driver_sql(text, _figures(figures, order))

    def run_all(self, connection: Connection, many: Sequence[Mapping[str, Any]]) -> None:
        """Run it once for each; nothing where there are none."""
        if many:
            text, order = self._in(connection)
            connection.exec_driver_sql(text, [_figures(each, order) for each in many])

    def _in(self, connection: Connection) -> tuple[str, tuple[str, ...] | None]:
        dialect = connection.dialect
        if dialect.name not in self._told:
            compiled: Any = self._statement.compile(dialect=dialect)  # type: ignore[attr-defined]
            order = tuple(compiled.positiontup) if compiled.positional else None
            self._told[dialect.name] = (str(compiled), order)
        return self._told[dialect.name]


def _figures(figures: Mapping[str, Any], order: tuple[str, ...] | None) -> Any:
    return dict(figures) if order is None else tuple(figures[name] for name in order)
