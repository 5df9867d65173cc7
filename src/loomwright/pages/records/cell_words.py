"""Which words are likely in a cell? Offered while a person types; only a few columns take nothing else.

word, words       the allowed words             ref, refs   ids of the sheets they refer to
point             part.terminal, metals         colour      the codes of IEC 60757, then colours in the job
settings          the settings of the part's kind           parts.kind  the kinds of the library and of the job
any other text    its suggestions, then what stands in the column already
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import lru_cache
from typing import Any

from loomwright.findings import id_order
from loomwright.job.job import Job
from loomwright.job.points import all_terminals, kinds_of
from loomwright.job.vehicle import metals_of
from loomwright.pages.records.sheet_columns import columns_in, rows_in
from loomwright.refusals import OutOfReach, TableFault
from loomwright.store.snapshot import Snapshot
from loomwright.tables.kinds import load_kinds
from loomwright.tables.limits import COLOURS

__all__ = ["words_for"]

_TERMINALS_FROM = ("parts", "contacts", "controller_pins", "wires", "connectors", "kinds", "metals", "vehicle")
_POINT = "point"
_FREE = ("number", "count", "value", "id")
_MOST = 2000


def words_for(snapshot: Snapshot, sheet: str, column: str, key: int | None = None) -> tuple[str, ...]:
    """The words likely in a column, the likeliest first.

    Args:
        key: of the row, for cells whose words hang on another cell of it. [-]
    Raises:
        OutOfReach: no such sheet or column.
    """
    rows = rows_in(snapshot, sheet)
    there = next((one for one in columns_in(sheet, rows) if one.name == column), None)
    if there is None:
        raise OutOfReach(f"column of sheet {sheet}", column, " ".join(one.name for one in columns_in(sheet, rows)))
    if there.kind == "colour":
        return _once((*COLOURS, *_standing(snapshot, sheet, column)))
    if there.kind == "point" or column == _POINT:
        return _points(snapshot)
    if (sheet, column) == ("parts", "kind"):
        own = (row.cells.get("kind", "") for row in snapshot.rows.get("kinds", ()))
        return _once((*own, *load_kinds()))
    if (sheet, column) == ("parts", "settings"):
        return _settings(snapshot, key)
    if there.refers:
        return _once(_ids(snapshot, there.refers))
    if there.only or there.kind in ("words", "yes_no"):
        return there.allowed or ("yes", "no")
    if there.kind in _FREE or there.kind == "settings":
        return there.allowed
    return _once((*there.allowed, *_standing(snapshot, sheet, column)))


def _ids(snapshot: Snapshot, sheets: Iterable[str]) -> Iterator[str]:
    for sheet in sheets:
        if sheet == "metals":
            yield from metals_of(_as_far_as_read(snapshot))
        names = (row.cells.get("id", "") for row in snapshot.rows.get(sheet, ()))
        yield from sorted((name for name in names if name), key=id_order)


def _standing(snapshot: Snapshot, sheet: str, column: str) -> Iterator[str]:
    """What stands in a column already, the most frequent first."""
    count: dict[str, int] = {}
    for row in snapshot.rows.get(sheet, ()):
        text = row.cells.get(column, "")
        if text:
            count[text] = count.get(text, 0) + 1
    yield from sorted(count, key=lambda text: (-count[text], text))


@lru_cache(maxsize=4)
def _points(snapshot: Snapshot) -> tuple[str, ...]:
    job = _as_far_as_read(snapshot)
    try:
        kinds_of(job, load_kinds())
    except TableFault:
        # kinds of the job's own that cannot be read yet: those of the library are offered all the same
        job = Job(**{name: getattr(job, name) for name in _TERMINALS_FROM if name != "kinds"})
    terminals = all_terminals(job, load_kinds())
    points = (f"{part}.{name}" for part, names in terminals.items() for name in names)
    return _once((*sorted(points, key=id_order), *metals_of(job)))


def _settings(snapshot: Snapshot, key: int | None) -> tuple[str, ...]:
    """The settings of a part's kind, as `name=` with the typical value."""
    row = snapshot.row("parts", key) if key is not None else None
    try:
        known = kinds_of(_as_far_as_read(snapshot), load_kinds())
    except TableFault:
        known = load_kinds()
    kind = known.get(row.cells.get("kind", "")) if row is not None else None
    if kind is None:
        return ()
    return tuple(f"{one.name}={'' if one.default is None else one.default}" for one in kind.settings)


def _as_far_as_read(snapshot: Snapshot) -> Job:
    """The rows that points and metals are made of, whether or not they fit each other."""
    rows: dict[str, Any] = {
        sheet: tuple(row.typed for row in snapshot.taken.get(sheet, {}).values() if row.typed is not None)
        for sheet in _TERMINALS_FROM
    }
    return Job(**rows)


def _once(words: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(word for word in words if word))[:_MOST]
