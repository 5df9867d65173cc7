"""How did a stored job stand when its loom was built, and in which revision did each cell become what it is?

Every step of `progress` names the revision it was done from. A step is a revision too, so most of those differ in
records only: the job is had once for all that stand between two changes of its sheets. What a row was called then and
is called now is told by its own number, which never changes.
"""

from __future__ import annotations

import json
from bisect import bisect_right
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache

from sqlalchemy import select

from loomwright.job.fixed_map import FixedMap
from loomwright.job.job import Job
from loomwright.store.shelf import Shelf
from loomwright.store.shelf_tables import edits
from loomwright.store.snapshot import Snapshot, snapshot_after

__all__ = ["Earlier", "changed_in", "earlier_of", "names_before", "sheet_revisions"]

_RECORDS = (
    *("progress", "proofs", "gates", "attempts", "light_readings", "sensor_points"),
    *("changes", "reasons", "hours", "readings", "snags", "questions"),
)
_KEPT = 64
_WIRES = "wires"


@dataclass(frozen=True, slots=True, kw_only=True)
class Earlier:
    """A job's past, as far as its loom was built from it.

    jobs: revision -> the job as it stood; revisions that never were, or at which the rows made no job, are left out.
    renamed: what a wire was called when it was built -> what it is called now.
    changed: sheet, row and column -> the revision in which that became what it is now; the column empty for a row.
    """

    jobs: Mapping[int, Job] = field(default_factory=dict)
    renamed: Mapping[str, str] = FixedMap()
    changed: Mapping[tuple[str, str, str], int] = FixedMap()


def earlier_of(shelf: Shelf, snapshot: Snapshot) -> Earlier:
    """The past of a job, as its progress names it.

    Args:
        snapshot: the job now.
    """
    cells = [row.cells for row in snapshot.rows.get("progress", ())]
    named = {int(text) for each in cells if (text := each.get("revision", "").strip()).isdecimal()}
    asked = sorted(number for number in named if 1 <= number <= snapshot.revision)
    if not asked:
        return Earlier()
    changes = sheet_revisions(shelf, snapshot.name)
    # a revision that only recorded something is, for the loom, the one before it
    stands = {number: changes[max(bisect_right(changes, number) - 1, 0)] for number in asked}
    then = {number: _at(shelf, snapshot.name, number) for number in set(stands.values())}
    jobs = {number: job for number in asked if (job := then[stands[number]].job) is not None}
    return Earlier(
        jobs=jobs,
        renamed=_renamed(snapshot, then.values()),
        changed=changed_in(shelf, snapshot, after=min(stands.values())),
    )


def sheet_revisions(shelf: Shelf, name: str) -> list[int]:
    """The revisions that changed more than records, the first of all with them, in order. [-]"""
    number = shelf.id_of(name)
    asked = select(edits.c.revision).where(edits.c.job == number, edits.c.sheet.not_in(_RECORDS)).distinct()
    with shelf.engine.connect() as connection:
        return sorted({1, *(int(line[0]) for line in connection.execute(asked))})


def changed_in(shelf: Shelf, snapshot: Snapshot, *, after: int) -> Mapping[tuple[str, str, str], int]:
    """When each cell that became different after a revision became what it is.

    Args:
        snapshot: the job now.
        after: changes later than this revision. [-]
    """
    columns = (edits.c.revision, edits.c.sheet, edits.c.row_key, edits.c.column, edits.c.op, edits.c.old)
    asked = select(*columns).where(
        edits.c.job == shelf.id_of(snapshot.name),
        edits.c.revision > after,
        edits.c.revision <= snapshot.revision,
        edits.c.sheet.not_in(_RECORDS),
    )
    names = {
        (sheet, row.key): row.cells.get("id", "") or row.cells.get("name", "")
        for sheet, rows in snapshot.rows.items()
        for row in rows
    }
    found: dict[tuple[str, str, str], int] = {}
    with shelf.engine.connect() as connection:
        for line in connection.execute(asked.order_by(edits.c.id)):
            name = names.get((line.sheet, line.row_key)) or _dropped(line.old if line.op == "drop" else "")
            found[(line.sheet, name, line.column)] = int(line.revision)
    return FixedMap(found)


def names_before(shelf: Shelf, name: str) -> Mapping[tuple[str, str], int]:
    """What rows were called before they got another id or name: sheet and old name -> the row's own number. [-]"""
    columns = (edits.c.sheet, edits.c.row_key, edits.c.old)
    asked = select(*columns).where(
        edits.c.job == shelf.id_of(name), edits.c.op == "set", edits.c.column.in_(("id", "name")), edits.c.old != ""
    )
    with shelf.engine.connect() as connection:
        return {(line.sheet, line.old): line.row_key for line in connection.execute(asked.order_by(edits.c.id))}


@lru_cache(maxsize=_KEPT)
def _at(shelf: Shelf, name: str, revision: int) -> Snapshot:
    """A revision, which never changes; rows that are still the same are not read again."""
    return snapshot_after(shelf.now(name), shelf.now(name, revision).rows, revision)


def _renamed(snapshot: Snapshot, then: Iterable[Snapshot]) -> Mapping[str, str]:
    now = {row.key: row.cells.get("id", "") for row in snapshot.rows.get(_WIRES, ())}
    taken = set(now.values())
    found: dict[str, str] = {}
    for each in then:
        for row in each.rows.get(_WIRES, ()):
            was, called = row.cells.get("id", ""), now.get(row.key, "")
            if was and called and was != called and was not in taken:
                found[was] = called
    return FixedMap(found)


def _dropped(text: str) -> str:
    """The id of a row that is gone, out of what it held."""
    cells = json.loads(text) if text else {}
    return str(cells.get("id", "") or cells.get("name", ""))
