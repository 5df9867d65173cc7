"""Which edits lead from a stored job to one that was worked out from it?

A question answered with a whole job (everything decided, a way out taken) is written to the shelf as the fewest edits:
a cell where a row of the same name says something else, a row that is new, a row that is gone. Cells that mean the same
stay as they were typed.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from loomwright.job.job import Job
from loomwright.job.row import Row
from loomwright.job.schema import SHEETS, row_key, rows_of
from loomwright.job.writing import text_of_row
from loomwright.refusals import NoAnswer
from loomwright.store.snapshot import Snapshot
from loomwright.store.text_rows import AddRow, DropRow, Edit, SetCell

__all__ = ["edits_towards"]


def edits_towards(snapshot: Snapshot, job: Job) -> tuple[Edit, ...]:
    """The edits that make the stored job say what `job` says; none where it does already.

    Raises:
        NoAnswer: the stored sheets do not hold together, so that nothing was worked out from them.
    """
    if snapshot.job is None:
        raise NoAnswer("the edits", ("The sheets hold a cell that cannot be read: mend it first.",))
    return tuple(edit for sheet in SHEETS for edit in _of_sheet(snapshot, snapshot.job, job, sheet))


def _of_sheet(snapshot: Snapshot, before: Job, after: Job, sheet: str) -> Iterator[Edit]:
    old, new = rows_of(before, sheet), rows_of(after, sheet)
    if old == new:
        return
    keys = [key for key, taken in snapshot.taken.get(sheet, {}).items() if taken.typed is not None]
    kept, came = _matched(sheet, old, new)
    for place, key in enumerate(keys):
        if place not in kept:
            yield DropRow(sheet=sheet, row_key=key)
    for place, row in kept.items():
        yield from _cells(snapshot, sheet, keys[place], old[place], row)
    for row in came:
        yield AddRow(sheet=sheet, cells={name: text for name, text in text_of_row(sheet, row).items() if text})


def _matched(sheet: str, old: Sequence[Row], new: Sequence[Row]) -> tuple[Mapping[int, Row], list[Row]]:
    """Place in the old rows -> the new row that stands for it, and the new rows that stand for none."""
    places: dict[object, list[int]] = {}
    for place, row in enumerate(old):
        places.setdefault(_name(sheet, row), []).append(place)
    kept: dict[int, Row] = {}
    came: list[Row] = []
    for row in new:
        there = places.get(_name(sheet, row))
        if there:
            kept[there.pop(0)] = row
        else:
            came.append(row)
    return kept, came


def _name(sheet: str, row: Row) -> object:
    """What tells a row from the others: its key, or all of it where its sheet has none."""
    return row_key(sheet, row) or row


def _cells(snapshot: Snapshot, sheet: str, key: int, old: Row, new: Row) -> Iterator[Edit]:
    if old == new:
        return
    stored = snapshot.row(sheet, key)
    typed = {} if stored is None else stored.cells
    had, has = text_of_row(sheet, old), text_of_row(sheet, new)
    for column, text in has.items():
        if had.get(column, "") != text:
            yield SetCell(sheet=sheet, row_key=key, column=column, old=typed.get(column, ""), new=text)
