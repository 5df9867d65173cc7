"""A mistake of the trade as a scenario: the rows of a sound car, one edit of them, and what must be told of it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from loomwright.findings import Severity
from loomwright.job.job import Job
from loomwright.job.reading import job_from_text

__all__ = ["NO_SOURCE", "Row", "Rows", "Scenario", "edited", "job_of", "wire"]

NO_SOURCE = "common practice, no source"

Row = Mapping[str, str]
Rows = Mapping[str, tuple[Row, ...]]
Place = tuple[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Scenario:
    """One mistake of the list `modes.csv`.

    title: the mistake, in words. mark: key of the source of its figures, or NO_SOURCE.
    sound, wrong: the rows without and with the mistake.
    rule, at: the root that must be told, and its first place.
    folded: rules that must be told beneath it.
    beside: other roots, as (rule, first place), that the same mistake makes by itself; the data say why.
    """

    number: int
    title: str
    mark: str = NO_SOURCE
    sound: Rows
    wrong: Rows
    rule: str
    at: str
    severity: Severity = "fault"
    folded: tuple[str, ...] = ()
    beside: tuple[Place, ...] = ()


def wire(id: str, from_: str, to: str, size_mm2: str = "1.5", length_mm: str = "1000", **more: str) -> Row:
    """One row of the sheet wires."""
    return {"id": id, "from": from_, "to": to, "size_mm2": size_mm2, "length_mm": length_mm, **more}


def edited(
    rows: Rows,
    *,
    without: Iterable[str] = (),
    changed: Mapping[str, Row] | None = None,
    **added: Sequence[Row],
) -> Rows:
    """Rows with some left out, some changed, some added; an id that no row has is refused.

    Args:
        without: ids of rows that are left out.
        changed: id -> the cells that differ.
        added: rows added, by sheet.
    """
    gone, edits = set(without), dict(changed or {})
    known = {row.get("id", "") for many in rows.values() for row in many}
    unknown = (gone | set(edits)) - known
    if unknown:
        raise KeyError(f"no row has the id {sorted(unknown)}")
    made = {
        sheet: tuple({**row, **edits.get(row.get("id", ""), {})} for row in many if row.get("id") not in gone)
        for sheet, many in rows.items()
    }
    for sheet, more in added.items():
        made[sheet] = (*made.get(sheet, ()), *more)
    return made


def job_of(rows: Rows) -> Job:
    """The job of some rows."""
    return job_from_text({sheet: [dict(row) for row in many] for sheet, many in rows.items()})
