"""How did the job come to be as it is, and what changed since the papers somebody already holds?

In: the rows of the sheet `changes` (what was agreed, by whom, for what price), the revisions that the shelf or an
archive keeps, and what differs from an older one where that was asked for. Out: the history, the newest first, and the
cells that are others now. A folder of sheets or a workbook keeps no revisions; then the sheet `changes` is all there
is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from loomwright.job.job import Job
from loomwright.quantities.printing import for_print

__all__ = ["NO_PAST", "NO_REVISIONS", "Agreed", "Changed", "ChangedCell", "History", "RevisionSheet", "revision_sheet"]

_MOST_LINES = 200
_RECORDS = ("progress", "proofs", "gates", "attempts", "hours", "readings", "reasons", "photos")
"""Sheets that only grow: what was recorded there is counted, not told line by line."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Changed:
    """One revision of the job. number: its own. [-]"""

    number: int
    time: str
    who: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Agreed:
    """One row of the sheet `changes`. price: as printed, empty where none was written down."""

    revision: str
    time: str
    who: str
    why: str
    price: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangedCell:
    """One cell or row that is another now. op: set, add or drop. column: empty for a whole row."""

    sheet: str
    row: str
    op: str
    column: str
    older: str
    newer: str


@dataclass(frozen=True, slots=True, kw_only=True)
class History:
    """What is known of a job's past. changes: its revisions, the newest first.

    newest: the revision the job is of. [-]   since: the older one that was asked for, None where none was. [-]
    cells: what differs from that one.
    """

    changes: tuple[Changed, ...] = ()
    newest: int | None = None
    since: int | None = None
    cells: tuple[ChangedCell, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class RevisionSheet:
    """The paper. since, newest: revisions as printed; since is empty where nothing was asked.

    recorded: sheet of records -> rows more than then.   left: lines that stand nowhere for want of room. [-]
    currency: of the prices, as the shop writes it; empty where it does not.
    """

    agreed: tuple[Agreed, ...] = ()
    history: tuple[Changed, ...] = ()
    since: str = ""
    newest: str = ""
    cells: tuple[ChangedCell, ...] = ()
    recorded: tuple[tuple[str, int], ...] = ()
    left: int = 0
    currency: str = ""


NO_PAST = History()
"""Nothing but the sheets is known."""


NO_REVISIONS = RevisionSheet()
"""Nothing is known of how the job came to be as it is."""


def revision_sheet(job: Job, history: History) -> RevisionSheet:
    """The paper of a job's past.

    Example:
        >>> from loomwright.job.rows import Change
        >>> made = revision_sheet(Job(changes=(Change(revision=2, who="Ines", why="a relay", price=40.0),)), NO_PAST)
        >>> made.agreed[0].why, made.agreed[0].price, made.since
        ('a relay', '40', '')
    """
    cells = [one for one in history.cells if one.sheet not in _RECORDS]
    counts: dict[str, int] = {}
    for one in history.cells:
        if one.sheet in _RECORDS and one.op == "add":
            counts[one.sheet] = counts.get(one.sheet, 0) + 1
    return RevisionSheet(
        agreed=tuple(_agreed(job)),
        history=history.changes[:_MOST_LINES],
        since="" if history.since is None else str(history.since),
        newest="" if history.newest is None else str(history.newest),
        cells=tuple(cells),
        recorded=tuple(sorted(counts.items())),
        left=max(len(history.changes) - _MOST_LINES, 0),
        currency=next((row.value for row in job.vehicle if row.name == "currency"), ""),
    )


def _agreed(job: Job) -> Sequence[Agreed]:
    rows = sorted(job.changes, key=lambda row: -(row.revision or 0))
    return [
        Agreed(
            revision="" if row.revision is None else str(row.revision),
            time=row.time,
            who=row.who,
            why=row.why,
            price="" if row.price is None else for_print(row.price, digits=9),
        )
        for row in rows
    ]
