"""What was changed, by whom, and what can be taken back?

Undoing is a new revision that turns an earlier one round. Each person takes back their own edits; what was taken back
can be done again until the person types something else. Records are passed over.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from sqlalchemy import Connection, select

from loomwright.job.fixed_map import FixedMap
from loomwright.store.shelf_tables import revisions
from loomwright.store.snapshot import Snapshot
from loomwright.store.text_rows import StoredRow

__all__ = ["Difference", "Revision", "Turns", "differences_of", "revisions_of", "turns_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Revision:
    """One accepted change. number: its place. [-]   kind: start, edit, record, undo or redo.   turns: the one it turns
    round. [-]"""

    number: int
    time: str
    who: str
    why: str
    kind: str
    turns: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """One cell, or one row, that is not the same in two revisions. op: set, add or drop.

    row: the name of the row, its id where it has one.   column: of a cell, empty for a row.
    """

    sheet: str
    row_key: int
    row: str
    op: str
    column: str
    older: str
    newer: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Turns:
    """What each person can take back and do again: person -> revisions, the next one last.

    first: revision that undid or did again -> the edit it all began with. [-]
    """

    undo: Mapping[str, tuple[int, ...]] = field(default_factory=FixedMap)
    redo: Mapping[str, tuple[int, ...]] = field(default_factory=FixedMap)
    first: Mapping[int, int] = field(default_factory=FixedMap)

    def target(self, kind: str, who: str) -> int | None:
        """The revision that is turned round next, None where there is none. [-]"""
        waiting = (self.undo if kind == "undo" else self.redo).get(who, ())
        return waiting[-1] if waiting else None

    def first_of(self, number: int) -> int:
        """The edit that a revision belongs to. [-]"""
        return self.first.get(number, number)

    def after(self, number: int, *, who: str, kind: str, turns: int | None) -> Turns:
        """The same once another revision is made."""
        undo, redo = self.undo.get(who, ()), self.redo.get(who, ())
        first = dict(self.first)
        if kind == "edit":
            undo, redo = (*undo, number), ()
        elif kind == "undo":
            undo, redo = undo[:-1], (*redo, number)
        elif kind == "redo":
            undo, redo = (*undo, number), redo[:-1]
        if turns is not None:
            first[number] = self.first_of(turns)
        return Turns(
            undo=FixedMap({**self.undo, who: undo}), redo=FixedMap({**self.redo, who: redo}), first=FixedMap(first)
        )


def revisions_of(connection: Connection, job: int, newest: int) -> tuple[Revision, ...]:
    """The newest revisions of a job, newest first.

    Args:
        newest: how many. [-]
    """
    asked = select(revisions).where(revisions.c.job == job).order_by(revisions.c.number.desc()).limit(newest)
    return tuple(_revision(line) for line in connection.execute(asked))


def turns_of(connection: Connection, job: int) -> Turns:
    """What can be taken back in a job, from all its revisions."""
    undo: dict[str, list[int]] = {}
    redo: dict[str, list[int]] = {}
    first: dict[int, int] = {}
    asked = select(revisions.c.number, revisions.c.who, revisions.c.kind, revisions.c.turns)
    for number, who, kind, turns in connection.execute(
        asked.where(revisions.c.job == job).order_by(revisions.c.number)
    ):
        if turns is not None:
            first[number] = first.get(turns, turns)
        if kind == "edit":
            undo.setdefault(who, []).append(number)
            redo[who] = []
        elif kind == "undo":
            undo[who].pop()
            redo.setdefault(who, []).append(number)
        elif kind == "redo":
            redo[who].pop()
            undo[who].append(number)
    return Turns(
        undo=FixedMap({who: tuple(each) for who, each in undo.items()}),
        redo=FixedMap({who: tuple(each) for who, each in redo.items()}),
        first=FixedMap(first),
    )


def differences_of(older: Snapshot, newer: Snapshot) -> tuple[Difference, ...]:
    """What is not the same in two revisions, by sheet and in the order of the newer one; rows gone come first."""
    found: list[Difference] = []
    for sheet in dict.fromkeys((*older.rows, *newer.rows)):
        before = {row.key: row for row in older.rows.get(sheet, ())}
        after = {row.key: row for row in newer.rows.get(sheet, ())}
        if older.rows.get(sheet) is newer.rows.get(sheet):
            continue
        found += [_whole(sheet, row, "drop") for key, row in before.items() if key not in after]
        for key, row in after.items():
            old = before.get(key)
            if old is None:
                found.append(_whole(sheet, row, "add"))
            elif old is not row:
                found += _cells(sheet, old, row)
    return tuple(found)


def _cells(sheet: str, old: StoredRow, new: StoredRow) -> list[Difference]:
    names = dict.fromkeys((*old.cells, *new.cells))
    return [
        Difference(
            sheet=sheet,
            row_key=new.key,
            row=_name(new),
            op="set",
            column=name,
            older=old.cells.get(name, ""),
            newer=new.cells.get(name, ""),
        )
        for name in names
        if old.cells.get(name, "") != new.cells.get(name, "")
    ]


def _whole(sheet: str, row: StoredRow, op: str) -> Difference:
    text = "; ".join(f"{name}={cell}" for name, cell in row.cells.items())
    older, newer = (text, "") if op == "drop" else ("", text)
    return Difference(sheet=sheet, row_key=row.key, row=_name(row), op=op, column="", older=older, newer=newer)


def _name(row: StoredRow) -> str:
    return row.cells.get("id", "") or row.cells.get("name", "") or next(iter(row.cells.values()), "")


def _revision(line: object) -> Revision:
    names = ("number", "time", "who", "why", "kind", "turns")
    return Revision(**{name: getattr(line, name) for name in names})
