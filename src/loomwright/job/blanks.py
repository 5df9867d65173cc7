"""Which cells that the tool decides are blank, and what was decided for the others?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from loomwright.job.choices import choice_groups, group_of
from loomwright.job.job import Job

__all__ = ["BlankCell", "ChangedDecision", "blank_cells", "changed_decisions"]

_RATED = ("fuse",)


@dataclass(frozen=True, slots=True, kw_only=True)
class BlankCell:
    """A cell nobody typed and nothing was decided for."""

    sheet: str
    row: str
    column: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangedDecision:
    """A cell decided otherwise than before. before: empty where nothing was.   now: empty where nothing is."""

    sheet: str
    row: str
    column: str
    before: str
    now: str
    decided_by: str


def blank_cells(job: Job) -> tuple[BlankCell, ...]:
    """The cells that are blank in a job in which what was decided is filled in (`with_decided`)."""
    return tuple(_blank(job))


def changed_decisions(before: Job, after: Job) -> tuple[ChangedDecision, ...]:
    """The cells that are decided otherwise in one job than in another, in the order of the later one."""
    had = {(one.sheet, one.row, one.column): one for one in before.decisions}
    has = {(one.sheet, one.row, one.column): one for one in after.decisions}
    found = [
        ChangedDecision(
            sheet=sheet,
            row=row,
            column=column,
            before=had[cell].value if (cell := (sheet, row, column)) in had else "",
            now=one.value,
            decided_by=one.decided_by,
        )
        for (sheet, row, column), one in has.items()
        if (sheet, row, column) not in had or had[(sheet, row, column)].value != one.value
    ]
    found += [
        ChangedDecision(sheet=sheet, row=row, column=column, before=one.value, now="", decided_by="")
        for (sheet, row, column), one in had.items()
        if (sheet, row, column) not in has
    ]
    return tuple(found)


def _blank(job: Job) -> Iterator[BlankCell]:
    choices = choice_groups(job.needs)
    chosen = {group_of(need) for need in job.needs if need.pin}
    for need in job.needs:
        # of a choice one alternative is built, and the others want no pin
        if not need.pin and not (group_of(need) in choices and group_of(need) in chosen):
            yield BlankCell(sheet="needs", row=need.id, column="pin")
    for wire in job.wires:
        if wire.fitted == "removed":
            continue
        if wire.size_mm2 is None:
            yield BlankCell(sheet="wires", row=wire.id, column="size_mm2")
        if wire.length_mm is None:
            yield BlankCell(sheet="wires", row=wire.id, column="length_mm")
    for part in job.parts:
        if part.kind in _RATED and part.fitted != "removed" and not part.settings.get("rating_a", ""):
            yield BlankCell(sheet="parts", row=part.id, column="settings.rating_a")
