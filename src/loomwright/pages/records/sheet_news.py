"""One sheet as a script reads it: all of it, or only what has become different since a revision.

Rows keep their numbers, so what a page already has stays in place; the order is told anew only where it has changed.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, replace
from typing import Any

from loomwright.job.decided import ends_led, with_decided
from loomwright.pages.records.sheet_columns import GROWS_ONLY, WORKED_OUT, GridColumn, columns_in, rows_in
from loomwright.store.snapshot import Snapshot

__all__ = ["Decided", "decided_in", "reasons_in", "sheet_plain", "sheet_since"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Decided:
    """One decision about a cell. row: the name of its row.   by: the limit that ruled.

    key: the decision's own row, 0 where the cell follows from one that was typed. [-]
    reasons: the rows of its reasons. [-]   asked: the cell that can be asked why, where that is another.
    """

    row: str
    column: str
    value: str
    by: str
    key: int
    reasons: tuple[int, ...]
    asked: str = ""


_OF_COLUMN = tuple(each.name for each in fields(GridColumn))
_OF_DECISION = tuple(each.name for each in fields(Decided))


def decided_in(snapshot: Snapshot, sheet: str) -> tuple[Decided, ...]:
    """What was decided for cells of a sheet; of wires also the ends that pins of needs lead."""
    reasons: dict[tuple[str, str], list[int]] = {}
    for row in snapshot.rows.get("reasons", ()):
        if row.cells.get("sheet") == sheet:
            reasons.setdefault((row.cells.get("row", ""), row.cells.get("column", "")), []).append(row.key)
    found = []
    for row in snapshot.rows.get("decisions", ()):
        if row.cells.get("sheet") == sheet:
            name, column = row.cells.get("row", ""), row.cells.get("column", "")
            found.append(
                Decided(
                    row=name,
                    column=column,
                    value=row.cells.get("value", ""),
                    by=row.cells.get("decided_by", ""),
                    key=row.key,
                    reasons=tuple(reasons.get((name, column), ())),
                )
            )
    if sheet == "wires":
        found += _ends_led(snapshot)
    return tuple(found)


def _ends_led(snapshot: Snapshot) -> Iterator[Decided]:
    """The blank ends of wires that the pin of a need leads."""
    if snapshot.job is None:
        return
    pins = {one.row: one for one in decided_in(snapshot, "needs") if one.column == "pin"}
    # the wires are those of the job itself, so that their blank ends are found blank
    bare = replace(with_decided(snapshot.job), wires=snapshot.job.wires)
    for index, need, point in ends_led(bare):
        wire, pin = bare.wires[index], pins.get(need.id)
        yield Decided(
            row=wire.id,
            column="to" if wire.from_ else "from",
            value=point,
            by=f"the pin of {need.id}",
            key=0 if pin is None else pin.key,
            reasons=() if pin is None else pin.reasons,
            asked=f"{need.id}.pin",
        )


def reasons_in(snapshot: Snapshot, sheet: str, row: str, column: str) -> tuple[Mapping[str, str], ...]:
    """Why a cell was decided so: its reasons, one limit each."""
    asked = {"sheet": sheet, "row": row, "column": column}
    return tuple(
        {name: text for name, text in one.cells.items() if name not in asked}
        for one in snapshot.rows.get("reasons", ())
        if all(one.cells.get(name) == text for name, text in asked.items())
    )


def sheet_plain(snapshot: Snapshot, sheet: str) -> dict[str, Any]:
    """One sheet: columns with help and allowed words, rows with their own numbers, what was decided for it.

    Raises:
        OutOfReach: neither the contract nor the job has such a sheet.
    """
    rows = rows_in(snapshot, sheet)
    return _head(snapshot, sheet) | {
        "rows": [{"row": row.key, "cells": dict(row.cells)} for row in rows],
        "order": [row.key for row in rows],
        "added": [],
    }


def sheet_since(older: Snapshot, newer: Snapshot, sheet: str) -> dict[str, Any]:
    """What is different in a sheet: rows that changed or came, and the order of all where that changed.

    Raises:
        OutOfReach: neither the contract nor the job has such a sheet.
    """
    rows = rows_in(newer, sheet)
    before = {row.key: row for row in older.rows.get(sheet, ())}
    changed = [row for row in rows if before.get(row.key) is not row and before.get(row.key) != row]
    order = [row.key for row in rows]
    return _head(newer, sheet) | {
        "rows": [{"row": row.key, "cells": dict(row.cells)} for row in changed],
        "order": None if order == list(before) else order,
        "added": [row.key for row in changed if row.key not in before],
    }


def _head(snapshot: Snapshot, sheet: str) -> dict[str, Any]:
    return {
        "job": snapshot.name,
        "sheet": sheet,
        "revision": snapshot.revision,
        "grows_only": sheet in GROWS_ONLY,
        "takes_rows": sheet not in WORKED_OUT,
        "columns": [
            {name: getattr(column, name) for name in _OF_COLUMN}
            for column in columns_in(sheet, snapshot.rows.get(sheet, ()))
        ],
        "decided": [{name: getattr(one, name) for name in _OF_DECISION} for one in decided_in(snapshot, sheet)],
    }
