"""How do the rows of a job lie in the tables, and how is a change written down?

Statements only: what a connection is told, in which order. Places are figures with room between them, so that a row
put between two others moves neither; where the room is used up the sheet is numbered anew.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence

from sqlalchemy import Connection, bindparam, delete, func, insert, select, update

from loomwright.job.fixed_map import FixedMap
from loomwright.store.past import Past
from loomwright.store.prepared import Prepared
from loomwright.store.shelf_tables import edits, revisions, rows
from loomwright.store.text_rows import Done, SheetRows, StoredRow

__all__ = ["done_in", "newest_revision", "rows_of_job", "write_done", "write_past", "write_revision", "write_rows"]

_ROOM = 1024.0
_LEAST_ROOM = 1e-6

_ADD_REVISION = Prepared(insert(revisions))
_EDIT_COLUMNS = [column.name for column in edits.columns if column.name != "id"]
_ADD_EDIT = Prepared(insert(edits).values({name: bindparam(name) for name in _EDIT_COLUMNS}))
_ADD_ROW = Prepared(insert(rows))
_THE_ROW = (
    rows.c.job == bindparam("the_job"),
    rows.c.sheet == bindparam("the_sheet"),
    rows.c.row_key == bindparam("the_key"),
)
_SET_CELLS = Prepared(update(rows).where(*_THE_ROW).values(cells=bindparam("cells")))
_DROP_ROW = Prepared(delete(rows).where(*_THE_ROW))
_PLACE = Prepared(select(rows.c.place).where(*_THE_ROW))


def rows_of_job(connection: Connection, job: int) -> SheetRows:
    """The rows as they stand, sheet -> rows in order."""
    found: dict[str, list[StoredRow]] = {}
    order = select(rows.c.sheet, rows.c.row_key, rows.c.cells).where(rows.c.job == job)
    for sheet, key, cells in connection.execute(order.order_by(rows.c.sheet, rows.c.place, rows.c.row_key)):
        found.setdefault(sheet, []).append(StoredRow(key=key, cells=FixedMap(json.loads(cells))))
    return {sheet: tuple(each) for sheet, each in found.items()}


def write_rows(connection: Connection, job: int, sheets: SheetRows) -> None:
    """Write every row of a job that has none yet."""
    lines = [
        {"job": job, "sheet": sheet, "row_key": row.key, "place": (place + 1) * _ROOM, "cells": _text(row)}
        for sheet, each in sheets.items()
        for place, row in enumerate(each)
    ]
    _ADD_ROW.run_all(connection, lines)


def write_revision(
    connection: Connection, job: int, *, number: int, time: str, who: str, why: str, kind: str, turns: int | None
) -> None:
    """Write who made a revision and why. kind: edit, undo, redo or record."""
    line = {"job": job, "number": number, "time": time, "who": who, "why": why, "kind": kind, "turns": turns}
    _ADD_REVISION.run(connection, line)


def write_past(connection: Connection, job: int, past: Past) -> int:
    """Write the revisions an archive brings for a job that has none yet, and what each did; gives the last. [-]"""
    for one in past.revisions:
        write_revision(
            connection,
            job,
            number=one.number,
            time=one.time,
            who=one.who,
            why=one.why,
            kind=one.kind,
            turns=one.turns,
        )
    _ADD_EDIT.run_all(connection, [_line(job, number, one) for number, one in past.done])
    return past.revisions[-1].number


def write_done(connection: Connection, job: int, revision: int, done: Sequence[Done], after: SheetRows) -> None:
    """Write what a revision did, and bring the rows to where they stand after it."""
    _ADD_EDIT.run_all(connection, [_line(job, revision, one) for one in done])
    fresh = {(one.sheet, one.row_key) for one in done if one.op == "add"}
    wanted = {(one.sheet, one.row_key) for one in done if one.op == "set"} - fresh
    set_lines = [
        {**_named(job, sheet, row.key), "cells": _text(row)}
        for sheet in {sheet for sheet, _ in wanted}
        for row in after.get(sheet, ())
        if (sheet, row.key) in wanted
    ]
    _SET_CELLS.run_all(connection, set_lines)
    for sheet in dict.fromkeys(one.sheet for one in done if one.op != "set"):
        _bring_to_place(connection, job, sheet, [one for one in done if one.sheet == sheet and one.op != "set"], after)


def done_in(connection: Connection, job: int, after: int, upto: int) -> tuple[tuple[int, Done], ...]:
    """What revisions did, each with its revision, in order. [-]

    Args:
        after: the first one not told. [-]
        upto: the last one told. [-]
    """
    asked = select(edits).where(edits.c.job == job, edits.c.revision > after, edits.c.revision <= upto)
    return tuple(
        (
            line.revision,
            Done(
                sheet=line.sheet,
                row_key=line.row_key,
                op=line.op,
                column=line.column,
                old=line.old,
                new=line.new,
                before=line.before,
            ),
        )
        for line in connection.execute(asked.order_by(edits.c.id))
    )


def newest_revision(connection: Connection, job: int) -> int:
    """The number of the newest revision of a job. [-]"""
    return int(connection.execute(select(func.max(revisions.c.number)).where(revisions.c.job == job)).scalar() or 0)


def _bring_to_place(connection: Connection, job: int, sheet: str, done: Iterable[Done], after: SheetRows) -> None:
    """Rows added, dropped and moved in one sheet; of the others only the neighbours are looked at."""
    gone = dict.fromkeys(one.row_key for one in done)
    _DROP_ROW.run_all(connection, [_named(job, sheet, key) for key in gone])
    order = after.get(sheet, ())
    for first, last in _runs([place for place, row in enumerate(order) if row.key in gone]):
        count = last - first + 1
        low = _place(connection, job, sheet, order[first - 1].key) if first else 0.0
        is_end = last + 1 == len(order)
        high = low + (count + 1) * _ROOM if is_end else _place(connection, job, sheet, order[last + 1].key)
        step = (high - low) / (count + 1)
        if step < _LEAST_ROOM:
            _number_anew(connection, job, sheet, order)
            return
        lines = [
            {"job": job, "sheet": sheet, "row_key": row.key, "place": low + step * (nth + 1), "cells": _text(row)}
            for nth, row in enumerate(order[first : last + 1])
        ]
        _ADD_ROW.run_all(connection, lines)


def _runs(places: Sequence[int]) -> Iterator[tuple[int, int]]:
    """Places that follow one another, as first and last."""
    begun = None
    for at, place in enumerate(places):
        if begun is None:
            begun = place
        if at + 1 == len(places) or places[at + 1] != place + 1:
            yield begun, place
            begun = None


def _place(connection: Connection, job: int, sheet: str, key: int) -> float:
    return float(_PLACE.run(connection, _named(job, sheet, key)).scalar_one())


def _named(job: int, sheet: str, key: int) -> dict[str, object]:
    return {"the_job": job, "the_sheet": sheet, "the_key": key}


def _number_anew(connection: Connection, job: int, sheet: str, order: Sequence[StoredRow]) -> None:
    connection.execute(delete(rows).where(rows.c.job == job, rows.c.sheet == sheet))
    write_rows(connection, job, {sheet: tuple(order)})


def _line(job: int, revision: int, one: Done) -> dict[str, object]:
    return {
        "job": job,
        "revision": revision,
        "sheet": one.sheet,
        "row_key": one.row_key,
        "op": one.op,
        "column": one.column,
        "old": one.old,
        "new": one.new,
        "before": one.before,
    }


def _text(row: StoredRow) -> str:
    return json.dumps(dict(row.cells), ensure_ascii=False)
