"""What job do the sheets describe, and what stands in the way?

    sheets of text -> typed rows (`taking`) -> one job -> questions to the whole job (`checking`)

Every problem is gathered and told at once: the first does not hide the rest. A job comes out only if there is none.
Sheets that the contract does not know are kept as text. A container (folder, workbook, archive) need only bring rows
of text.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, TypeVar

from loomwright.job.cells import CellFault, figure_with_point, write_cell
from loomwright.job.checking import problems_in
from loomwright.job.fixed_map import FixedMap
from loomwright.job.job import Job
from loomwright.job.nearest import is_look_alike
from loomwright.job.points import Kinds
from loomwright.job.rows import KindRow, Part
from loomwright.job.schema import SHEETS, column_of, headings
from loomwright.job.taking import MOST_ROWS, TakenSheet, TextRow, is_blank, plain_heading, take_sheet
from loomwright.refusals import BadDocument, Problem
from loomwright.tables.kinds import load_kinds

__all__ = ["job_from_text", "problems_of"]

RowWithSettings = TypeVar("RowWithSettings", KindRow, Part)

_NOTHING_TAKEN = TakenSheet(rows=(), numbers=(), problems=())


def job_from_text(
    sheets: Mapping[str, Sequence[TextRow]], kinds: Kinds | None = None, *, faults: Sequence[Problem] = ()
) -> Job:
    """The job that sheets of text describe.

    Args:
        sheets: sheet -> its rows below the heading, heading -> text. Blank rows are passed over but count, so that a
            problem names the row a spreadsheet shows.
        kinds: the library of part kinds; the one that ships where left out.
        faults: what the container could not read, to be told with the rest; nothing is said about what names an id
            of a sheet that is in them and not in `sheets`.
    Raises:
        BadDocument: anything in the sheets that is not a job; all of it is listed, nothing is half taken.
    Example:
        >>> rows = [{"id": "B1", "kind": "battery"}]
        >>> job_from_text({"parts": rows}).parts[0].id
        'B1'
    """
    library = load_kinds() if kinds is None else kinds
    named, problems, misspelt = _by_sheet(sheets)
    problems.extend(faults)
    taken = {sheet: take_sheet(sheet, named[sheet]) if sheet in named else _NOTHING_TAKEN for sheet in SHEETS}
    for each in taken.values():
        problems.extend(each.problems)
    extra = {name: tuple(rows) for name, rows in named.items() if name not in SHEETS}
    fields: dict[str, Any] = {sheet: each.rows for sheet, each in taken.items()}
    kept = FixedMap({name: tuple(FixedMap(row) for row in rows if not is_blank(row)) for name, rows in extra.items()})
    job = Job(**fields, extra_sheets=kept)
    numbers = {sheet: each.numbers for sheet, each in taken.items()}
    job = _with_points(job, library, numbers, problems)
    unread = {sheet for sheet, each in taken.items() if not each.whole} | misspelt
    unread |= {fault.sheet for fault in faults if fault.sheet not in named}
    problems.extend(problems_in(job, library, numbers=numbers, unread=frozenset(unread)))
    if problems:
        raise BadDocument(_in_order(problems), as_written=job)
    return job


def problems_of(job: Job, kinds: Kinds | None = None) -> tuple[Problem, ...]:
    """What the sheets of an edited job would be refused for; none where it is sound.

    Rows are numbered as if each sheet were written anew, the heading being row 1.
    """
    return _in_order(problems_in(job, load_kinds() if kinds is None else kinds))


def _by_sheet(
    sheets: Mapping[str, Sequence[TextRow]],
) -> tuple[dict[str, Sequence[TextRow]], list[Problem], set[str]]:
    """The sheets under the contract's names, what is wrong with names and lengths, and the sheets that are misspelt."""
    found: dict[str, Sequence[TextRow]] = {}
    problems: list[Problem] = []
    misspelt: set[str] = set()
    there = {plain_heading(name) for name in sheets}
    for name, rows in sheets.items():
        known = plain_heading(name) if plain_heading(name) in SHEETS else name
        if known in found:
            mend = f"Keep one sheet {known}"
            problems.append(_of_sheet(known, found=name, allowed="each sheet once", mend=mend))
            continue
        found[known] = rows
        if known in SHEETS:
            continue
        meant = [sheet for sheet in SHEETS if sheet not in there and is_look_alike(plain_heading(name), sheet)]
        if meant:
            misspelt.add(meant[0])
            problems.append(_of_sheet(name, found=name, allowed=" ".join(SHEETS), mend=f"Call the sheet {meant[0]}"))
        count = sum(not is_blank(row) for row in rows)
        if count > MOST_ROWS:
            allowed = f"at most {MOST_ROWS} rows a sheet"
            problems.append(_of_sheet(name, found=f"{count} rows", allowed=allowed, mend="Keep it outside the job"))
    return found, problems, misspelt


def _of_sheet(sheet: str, *, found: str, allowed: str, mend: str) -> Problem:
    return Problem(sheet=sheet, row=None, column="", found=found, allowed=allowed, mend=mend)


def _with_points(job: Job, kinds: Kinds, numbers: Mapping[str, Sequence[int]], problems: list[Problem]) -> Job:
    """The same job with decimal commas in settings written as points; those that are open are told."""
    own: list[KindRow] = []
    for index, row in enumerate(job.kinds):
        own.append(_row_with_points(row, None, "kinds", numbers["kinds"][index], problems))
    parts: list[Part] = []
    for index, part in enumerate(job.parts):
        kind = kinds.get(part.kind)
        figures = None if kind is None else {setting.name for setting in kind.settings if setting.number}
        parts.append(_row_with_points(part, figures, "parts", numbers["parts"][index], problems))
    return replace(job, kinds=tuple(own), parts=tuple(parts))


def _row_with_points(
    row: RowWithSettings, figures: set[str] | None, sheet: str, number: int, problems: list[Problem]
) -> RowWithSettings:
    """One row with its settings' decimal commas as points; `figures`: which are figures, None = any may be."""
    if not any("," in text for text in row.settings.values()):
        return row
    settings: dict[str, str] = {}
    for name, text in row.settings.items():
        settings[name] = text
        if "," in text and (figures is None or name in figures):
            try:
                settings[name] = figure_with_point(name, text)
            except CellFault as fault:
                settings[name] = ""
                found = f"{name}={text}"
                problems.append(
                    Problem(
                        sheet=sheet, row=number, column="settings", found=found, allowed=fault.allowed, mend=fault.mend
                    )
                )
    if settings == dict(row.settings):
        return row
    typed = row.written.get("settings", write_cell(column_of(sheet, "settings"), row.settings))
    return replace(row, settings=FixedMap(settings), written=FixedMap({**row.written, "settings": typed}))


def _in_order(problems: Sequence[Problem]) -> tuple[Problem, ...]:
    """Problems as the sheets lie: by sheet of the contract, by row, by column."""
    place = {sheet: count for count, sheet in enumerate(SHEETS)}
    columns = {sheet: {name: count for count, name in enumerate(headings(sheet))} for sheet in SHEETS}

    def key(problem: Problem) -> tuple[int, str, int, int, str]:
        order = columns.get(problem.sheet, {}).get(problem.column, -1)
        return (place.get(problem.sheet, len(place)), problem.sheet, problem.row or 0, order, problem.found)

    return tuple(sorted(dict.fromkeys(problems), key=key))
