"""How do several rows come on record at once: one revision, each stamped with when and by whom?"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime

from loomwright.job.schema import headings
from loomwright.pages.desk import Desk
from loomwright.refusals import Problem
from loomwright.store.text_rows import AddRow

__all__ = ["keep_rows"]


def keep_rows(desk: Desk, job: str, sheet: str, rows: Sequence[Mapping[str, str]]) -> tuple[Problem, ...]:
    """Write rows into a sheet that only grows; gives why they were not taken, nothing where they were.

    Args:
        job: its name.
        sheet: where.
        rows: heading -> text.
    """
    if not rows:
        return ()
    stamp = {"time": datetime.now(UTC).isoformat(timespec="seconds"), "who": desk.who}
    stamp = {name: text for name, text in stamp.items() if name in headings(sheet)}
    added = [AddRow(sheet=sheet, cells={**cells, **stamp}) for cells in rows]
    edited = desk.shelf.edit(job, added, who=desk.who, why=f"recorded in {sheet}", kind="record")
    return edited.problems
