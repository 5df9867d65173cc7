"""What rows does a recipe make in a job?

The rows are filled in with the answers, wires numbered on from the highest there is, and read as any sheet is read, so
whatever could not stand there is refused in the same words. Sizes, lengths, fuse ratings and pins stay blank: they are
decided with those of the rest of the car.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loomwright.brief.answers import Answers, answered, filled_in
from loomwright.brief.recipe import Recipe, RecipeRow
from loomwright.job.edits import add_rows
from loomwright.job.job import Job
from loomwright.job.points import Kinds, kinds_of
from loomwright.job.reading import problems_of
from loomwright.job.wire_ids import next_wire_ids
from loomwright.refusals import BadDocument
from loomwright.tables.kinds import load_kinds

__all__ = ["Added", "MadeRow", "added", "put_in"]


@dataclass(frozen=True, slots=True, kw_only=True)
class MadeRow:
    """A row that was made. cells: heading -> text, blank cells left out."""

    sheet: str
    cells: Mapping[str, str]

    @property
    def id(self) -> str:
        """The id of the row, or what it is about where its sheet has none."""
        return next((self.cells[name] for name in ("id", "output", "name") if self.cells.get(name)), "")


@dataclass(frozen=True, slots=True, kw_only=True)
class Added:
    """A recipe made in a job.

    job: as it is after that.   assumed: answers nobody gave that are typical figures only.
    """

    recipe: Recipe
    answers: Answers
    rows: tuple[MadeRow, ...]
    job: Job
    assumed: tuple[str, ...]

    @property
    def pins(self) -> int:
        """Controller pins it asks for; of needs of which one is built, those of the first. [-]"""
        needs = [row.cells.get("option", "").partition("/") for row in self.rows if row.sheet == "needs"]
        first = {group: name for group, _, name in reversed(needs) if group}
        return sum(not group or first[group] == name for group, _, name in needs)

    @property
    def wires(self) -> tuple[str, ...]:
        """The wires it adds."""
        return tuple(row.id for row in self.rows if row.sheet == "wires")


def added(job: Job, recipe: Recipe, given: Answers | None = None, kinds: Kinds | None = None) -> Added:
    """A job with a recipe's rows in it.

    Args:
        given: answers by name; the usual ones stand for the rest.
        kinds: those of the library, where they were read already.
    Raises:
        BadDocument: an answer that does not fit, or rows that cannot stand in the job; all of it is listed.
    """
    made = put_in(job, recipe, given, kinds)
    problems = problems_of(made.job, kinds)
    if problems:
        raise BadDocument(problems)
    return made


def put_in(job: Job, recipe: Recipe, given: Answers | None = None, kinds: Kinds | None = None) -> Added:
    """The same without asking whether the whole job holds together, as it need not while a brief is only half made.

    Raises:
        BadDocument: an answer that does not fit, or a row that cannot be read.
    """
    library = load_kinds() if kinds is None else kinds
    answers = answered(job, recipe, given or {}, kinds_of(job, library))
    made = []
    numbers = next_wire_ids(job)
    for row in recipe.rows:
        if not _is_called_for(row, answers):
            continue
        cells = {name: filled for name, cell in row.cells.items() if (filled := filled_in(cell, answers))}
        if row.sheet == "wires" and "id" not in cells:
            cells = {"id": next(numbers), **cells}
        if row.sheet in ("parts", "wires"):
            cells.setdefault("fitted", "new")
        if row.sheet == "requirements" and cells.get("must") == "live":
            cells = {**cells, "when": _with_isolators_on(job, cells.get("when", ""))}
        made.append(MadeRow(sheet=row.sheet, cells=cells))
    return Added(
        recipe=recipe,
        answers=answers,
        rows=tuple(made),
        job=add_rows(job, ((row.sheet, row.cells) for row in made)),
        assumed=tuple(ask.name for ask in recipe.asks if ask.typical and not (given or {}).get(ask.name, "").strip()),
    )


def _is_called_for(row: RecipeRow, answers: Answers) -> bool:
    return all(answers[name] in words for name, words in row.only.items())


def _with_isolators_on(job: Job, when: str) -> str:
    """When something must be live: not while a battery isolator of the car is off, unless the recipe says so itself."""
    isolators = [part.id for part in job.parts if part.kind == "isolator" and part.fitted != "removed"]
    terms = [] if when in ("", "always") else [when]
    return ", ".join([*terms, *(f"{name}=on" for name in isolators if name not in when)]) or when
