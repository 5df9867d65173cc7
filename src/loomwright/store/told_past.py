"""What do the papers say of a job's past: its revisions, and what is another since one of them?

In: a job on the shelf, or the revisions that an archive brought along. Out: a `History` of plain words. Records, which
only grow, are counted there and never listed, and so a revision that only recorded something is not told.
"""

from __future__ import annotations

from collections.abc import Iterable

from loomwright.handover.revision_sheet import Changed, ChangedCell, History
from loomwright.refusals import OutOfReach
from loomwright.store.history import Difference, Revision, differences_of
from loomwright.store.past import Past
from loomwright.store.shelf import Shelf
from loomwright.store.snapshot import Snapshot
from loomwright.store.text_rows import applied, turned_round

__all__ = ["history_of_archive", "history_of_shelf"]

_ALL = 1_000_000
_RECORD = "record"


def history_of_shelf(shelf: Shelf, name: str, since: int | None = None) -> History:
    """The past of a job on the shelf.

    Args:
        since: the revision whose papers somebody holds. [-]
    Raises:
        OutOfReach: no such job or revision.
    """
    newest = shelf.now(name).revision
    _known(since, newest)
    found = shelf.differences(name, since, newest) if since is not None else ()
    return _history(shelf.revisions(name, newest=_ALL), newest, since, found)


def history_of_archive(past: Past, since: int | None = None) -> History:
    """The past that an archive brought along.

    Args:
        since: the revision whose papers somebody holds. [-]
    Raises:
        OutOfReach: no such revision.
    """
    newest = max(one.number for one in past.revisions)
    _known(since, newest)
    found: tuple[Difference, ...] = ()
    if since is not None:
        later = [one for number, one in past.done if number > since]
        before = applied(past.rows, turned_round(later), next_key=past.next_key).rows
        found = differences_of(
            Snapshot(name="-", revision=since, rows=before), Snapshot(name="-", revision=newest, rows=past.rows)
        )
    return _history(sorted(past.revisions, key=lambda one: -one.number), newest, since, found)


def _known(since: int | None, newest: int) -> None:
    if since is not None and not 1 <= since <= newest:
        raise OutOfReach("since", str(since), f"a revision from 1 to {newest}")


def _history(revisions: Iterable[Revision], newest: int, since: int | None, found: Iterable[Difference]) -> History:
    return History(
        changes=tuple(
            Changed(number=one.number, time=one.time, who=one.who, why=one.why)
            for one in revisions
            if one.kind != _RECORD
        ),
        newest=newest,
        since=since,
        cells=tuple(
            ChangedCell(sheet=one.sheet, row=one.row, op=one.op, column=one.column, older=one.older, newer=one.newer)
            for one in found
        ),
    )
