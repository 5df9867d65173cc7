"""What stands in the sheets of a stored job, as text, and what does an edit make of it?

Pure: a state and edits in, the next state out, with what was done to each row so that it can be written down and turned
round. Every row has a number of its own (`key`) that never changes and is never used again, so that an edit meant for
a row finds it wherever sorting, renaming or another person's row has moved it.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from loomwright.job.cells import CellFault, read_cell
from loomwright.job.fixed_map import FixedMap
from loomwright.job.schema import SHEETS, column_of, headings
from loomwright.job.taking import FIRST_ROW, MOST_ROWS
from loomwright.refusals import OutOfReach, Problem

__all__ = [
    "AddRow",
    "Applied",
    "Conflict",
    "Done",
    "DropRow",
    "Edit",
    "MoveRow",
    "SetCell",
    "SheetRows",
    "StoredRow",
    "applied",
    "turned_round",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredRow:
    """One row. key: its own number. [-]   cells: heading -> text, blank cells left out."""

    key: int
    cells: FixedMap[str, str]


_SHOWN = 80
_PROPERTIES = "vehicle"
"""The sheet of which a row is one property with its value: two rows of a name would be two people's, side by side."""

SheetRows = Mapping[str, tuple[StoredRow, ...]]
"""Sheet -> its rows in order."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SetCell:
    """One cell typed anew. old: what the person saw there, to notice that somebody else was quicker."""

    sheet: str
    row_key: int
    column: str
    old: str
    new: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AddRow:
    """A new row before another, or at the end. key: given only where a row that was dropped comes back."""

    sheet: str
    cells: Mapping[str, str]
    before: int | None = None
    key: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DropRow:
    """A row taken out."""

    sheet: str
    row_key: int


@dataclass(frozen=True, slots=True, kw_only=True)
class MoveRow:
    """A row put before another, or at the end."""

    sheet: str
    row_key: int
    before: int | None = None


Edit = SetCell | AddRow | DropRow | MoveRow


@dataclass(frozen=True, slots=True, kw_only=True)
class Conflict:
    """Two people changed the same cell, or one took out a row the other worked in.

    was: what the person saw before typing. theirs: what stands there now; None where the row is gone.
    """

    sheet: str
    row_key: int
    column: str
    was: str
    yours: str
    theirs: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """What was done to one row, so that it can be written down and turned round.

    op: set, add, drop or move.   column: of a cell.   old, new: texts; of a whole row its cells as JSON, of a move the
    key of the row behind it.   before: key of the row behind it, for add and drop. [-]
    """

    sheet: str
    row_key: int
    op: str
    column: str = ""
    old: str = ""
    new: str = ""
    before: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Applied:
    """The next state, and what was done; the same state and nothing done where anything stood in the way."""

    rows: SheetRows
    next_key: int
    done: tuple[Done, ...] = ()
    conflicts: tuple[Conflict, ...] = ()
    problems: tuple[Problem, ...] = ()

    @property
    def is_taken(self) -> bool:
        """Whether the edits were taken; all of them or none are."""
        return not self.conflicts and not self.problems


@dataclass(slots=True)
class _Work:
    """The state while edits are applied one after another."""

    sheets: dict[str, list[StoredRow]]
    next_key: int
    touched: set[str] = field(default_factory=set)
    done: list[Done] = field(default_factory=list)
    conflicts: list[Conflict] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    places: dict[str, dict[int, int]] = field(default_factory=dict)
    looked_in: set[str] = field(default_factory=set)

    def rows(self, sheet: str) -> list[StoredRow]:
        """The rows of a sheet, to be changed."""
        self.touched.add(sheet)
        return self.sheets.setdefault(sheet, [])

    def place(self, sheet: str, key: int | None) -> int | None:
        """The index of a row, None where it is not there. [-]"""
        if key is None:
            return None
        rows = self.sheets.get(sheet, [])
        if sheet not in self.places and sheet not in self.looked_in:
            # most gestures touch one row of a sheet: looking for it is less work than a list of all
            self.looked_in.add(sheet)
            return next((index for index, row in enumerate(rows) if row.key == key), None)
        if sheet not in self.places:
            self.places[sheet] = {row.key: index for index, row in enumerate(rows)}
        return self.places[sheet].get(key)

    def moved(self, sheet: str) -> None:
        """Rows have other places now."""
        self.places.pop(sheet, None)


def applied(rows: SheetRows, edits: Iterable[Edit], *, next_key: int) -> Applied:
    """The state after some edits, or what stands in their way; nothing is half taken.

    Args:
        next_key: the number the next new row gets. [-]
    """
    work = _Work(sheets={name: list(each) for name, each in _named(rows, edits)}, next_key=next_key)
    for edit in edits:
        if isinstance(edit, SetCell):
            _set(work, edit)
        elif isinstance(edit, AddRow):
            _add(work, edit)
        elif isinstance(edit, DropRow):
            _drop(work, edit)
        else:
            _move(work, edit)
    if work.conflicts or work.problems:
        return Applied(rows=rows, next_key=next_key, conflicts=tuple(work.conflicts), problems=tuple(work.problems))
    changed = {name: tuple(work.sheets[name]) for name in work.touched}
    return Applied(rows={**rows, **changed}, next_key=work.next_key, done=tuple(work.done))


def turned_round(done: Sequence[Done]) -> tuple[Edit, ...]:
    """The edits that take back what was done, last first."""
    return tuple(_turned(one) for one in reversed(done))


def _turned(one: Done) -> Edit:
    if one.op == "set":
        return SetCell(sheet=one.sheet, row_key=one.row_key, column=one.column, old=one.new, new=one.old)
    if one.op == "add":
        return DropRow(sheet=one.sheet, row_key=one.row_key)
    if one.op == "drop":
        return AddRow(sheet=one.sheet, cells=json.loads(one.old), before=one.before, key=one.row_key)
    return MoveRow(sheet=one.sheet, row_key=one.row_key, before=int(one.old) if one.old else None)


def _named(rows: SheetRows, edits: Iterable[Edit]) -> list[tuple[str, tuple[StoredRow, ...]]]:
    """The sheets that the edits touch."""
    return [(name, rows.get(name, ())) for name in dict.fromkeys(edit.sheet for edit in edits)]


def _set(work: _Work, edit: SetCell) -> None:
    place = work.place(edit.sheet, edit.row_key)
    if place is None:
        work.conflicts.append(_conflict(edit, None))
        return
    row = work.rows(edit.sheet)[place]
    there = row.cells.get(edit.column, "")
    if there == edit.new:
        return
    if there != edit.old:
        work.conflicts.append(_conflict(edit, there))
        return
    fault = _unreadable(edit.sheet, FIRST_ROW + place, edit.column, edit.new)
    if fault is not None:
        work.problems.append(fault)
        return
    cells = {name: text for name, text in row.cells.items() if name != edit.column}
    if edit.new:
        cells[edit.column] = edit.new
    work.rows(edit.sheet)[place] = replace(row, cells=FixedMap(cells))
    work.done.append(Done(sheet=edit.sheet, row_key=row.key, op="set", column=edit.column, old=there, new=edit.new))


def _add(work: _Work, edit: AddRow) -> None:
    rows = work.rows(edit.sheet)
    if len(rows) >= MOST_ROWS:
        work.problems.append(_too_many(edit.sheet))
        return
    same = _same_property(rows, edit)
    if same is not None:
        value = edit.cells.get("value", "")
        if same.cells.get("value", "") != value:
            one = SetCell(sheet=edit.sheet, row_key=same.key, column="value", old="", new=value)
            work.conflicts.append(_conflict(one, same.cells.get("value", "")))
        return  # somebody else has written the same: both wanted it
    place = work.place(edit.sheet, edit.before)
    at = len(rows) if place is None else place
    faults = [_unreadable(edit.sheet, FIRST_ROW + at, name, text) for name, text in edit.cells.items()]
    found = [fault for fault in faults if fault is not None]
    if found:
        work.problems.extend(found)
        return
    key = edit.key if edit.key is not None else work.next_key
    work.next_key = max(work.next_key, key + 1)
    cells = {name: text for name, text in edit.cells.items() if text}
    rows.insert(at, StoredRow(key=key, cells=FixedMap(cells)))
    behind = rows[at + 1].key if at + 1 < len(rows) else None
    work.moved(edit.sheet)
    work.done.append(Done(sheet=edit.sheet, row_key=key, op="add", new=_as_text(cells), before=behind))


def _same_property(rows: Sequence[StoredRow], edit: AddRow) -> StoredRow | None:
    """The row of the sheet of properties that has the new one's name already."""
    is_new = edit.sheet == _PROPERTIES and edit.key is None
    name = edit.cells.get("name", "").strip() if is_new else ""
    return next((row for row in rows if name and row.cells.get("name", "").strip() == name), None)


def _drop(work: _Work, edit: DropRow) -> None:
    place = work.place(edit.sheet, edit.row_key)
    if place is None:
        return  # somebody else has taken it out: both wanted the same
    rows = work.rows(edit.sheet)
    row = rows.pop(place)
    behind = rows[place].key if place < len(rows) else None
    work.moved(edit.sheet)
    work.done.append(Done(sheet=edit.sheet, row_key=row.key, op="drop", old=_as_text(dict(row.cells)), before=behind))


def _move(work: _Work, edit: MoveRow) -> None:
    place = work.place(edit.sheet, edit.row_key)
    if place is None:
        work.conflicts.append(
            Conflict(sheet=edit.sheet, row_key=edit.row_key, column="", was="", yours="moved", theirs=None)
        )
        return
    rows = work.rows(edit.sheet)
    behind = str(rows[place + 1].key) if place + 1 < len(rows) else ""
    row = rows.pop(place)
    work.moved(edit.sheet)
    target = work.place(edit.sheet, edit.before)
    rows.insert(len(rows) if target is None else target, row)
    work.moved(edit.sheet)
    new = "" if target is None else str(edit.before)
    work.done.append(Done(sheet=edit.sheet, row_key=row.key, op="move", old=behind, new=new))


def _conflict(edit: SetCell, theirs: str | None) -> Conflict:
    return Conflict(
        sheet=edit.sheet, row_key=edit.row_key, column=edit.column, was=edit.old, yours=edit.new, theirs=theirs
    )


def _unreadable(sheet: str, number: int, column: str, text: str) -> Problem | None:
    """Why a text cannot stand in a column; sheets and columns the contract does not know take any text."""
    if not text or text.isspace() or sheet not in SHEETS or column not in headings(sheet):
        return None
    try:
        read_cell(column_of(sheet, column), text)
    except CellFault as fault:
        return Problem(
            sheet=sheet, row=number, column=column, found=text[:_SHOWN], allowed=fault.allowed, mend=fault.mend
        )
    except OutOfReach as refusal:
        return Problem(
            sheet=sheet,
            row=number,
            column=column,
            found=text[:_SHOWN],
            allowed=refusal.allowed,
            mend="Give what is allowed",
        )
    return None


def _too_many(sheet: str) -> Problem:
    return Problem(
        sheet=sheet,
        row=None,
        column="",
        found=f"{MOST_ROWS + 1} rows",
        allowed=f"at most {MOST_ROWS} rows a sheet",
        mend="Keep what is not of this job elsewhere, or split the job",
    )


def _as_text(cells: Mapping[str, str]) -> str:
    return json.dumps(cells, ensure_ascii=False)
