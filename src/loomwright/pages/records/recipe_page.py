"""What do the pages of recipes say: the list, what one asks, the rows it would make, what the network says of them?"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from loomwright.brief.adding import Added
from loomwright.brief.from_circuit import OWN_CHAPTER
from loomwright.brief.recipe import Ask, Recipe, names_in
from loomwright.findings import Finding
from loomwright.job.job import Job
from loomwright.pages.addresses import JobLinks, job_path
from loomwright.pages.records.finding_lines import FindingLine, line_of
from loomwright.refusals import Problem
from loomwright.trials.accepting import Accepting

__all__ = ["AskField", "Chapter", "MadeLine", "RecipeLine", "RecipePage", "RecipesPage", "recipe_page", "recipes_page"]

_NOT_FED = ("earth_point",)
_FOUND = {"near": "the nearest to it", "place": "where what it is fed from sits", "only": "the only one there is"}
"""How an answer is found that nobody gave -> in words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RecipeLine:
    """One recipe in the list."""

    title: str
    gives: str
    href: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Chapter:
    """Recipes that stand together."""

    word: str
    recipes: tuple[RecipeLine, ...]
    is_own: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class RecipesPage:
    """The list of recipes. circuits: (id, name) of those of the job that one may be made of.   save: where to post."""

    chapters: tuple[Chapter, ...]
    circuits: tuple[tuple[str, str], ...]
    save: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AskField:
    """One thing asked, as a field. typed: what stands in it.   usual: said beside it.   offered: (word, in words).

    must: nothing stands for it where it is left blank.   wrong: why what was typed does not do.
    """

    name: str
    says: str
    typed: str
    usual: str
    unit: str
    offered: tuple[tuple[str, str], ...]
    picked: bool
    must: bool
    wrong: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MadeLine:
    """A row that would be made. cells: in words."""

    sheet: str
    id: str
    cells: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RecipePage:
    """A recipe. rows: what it would make, none where an answer is missing.   trying: the network is being asked.

    came, gone: findings that come and go with it; None while they are not known.   problems: what is not an answer's.
    """

    recipe: Recipe
    fields: tuple[AskField, ...]
    asked: bool
    problems: tuple[Problem, ...]
    rows: tuple[MadeLine, ...]
    pins: int
    assumed: str
    revision: int
    trying: bool
    stopped: bool
    done: int
    of: int
    came: tuple[FindingLine, ...] | None
    gone: tuple[FindingLine, ...]
    holds: bool
    take: str
    stop: str
    again: str
    list_href: str
    links: JobLinks


def recipes_page(recipes: Mapping[str, Recipe], name: str, job: Job | None) -> RecipesPage:
    """The list of recipes, chapter by chapter, the shop's own first.

    Args:
        name: of the job.
        job: itself; None where its sheets cannot be read.
    """
    chapters: dict[str, list[RecipeLine]] = {}
    for one in recipes.values():
        line = RecipeLine(title=one.title, gives=one.gives, href=job_path(name, "add", one.id))
        chapters.setdefault(one.chapter.replace("_", " "), []).append(line)
    rows = job.circuits if job is not None else ()
    own = {part.circuit for part in job.parts if part.fitted != "removed"} if job is not None else set()
    wired = {wire.circuit for wire in job.wires if wire.fitted != "removed"} if job is not None else set()
    return RecipesPage(
        chapters=tuple(
            Chapter(word=word, recipes=tuple(found), is_own=word == OWN_CHAPTER)
            for word, found in sorted(chapters.items(), key=lambda each: each[0] != OWN_CHAPTER)
        ),
        circuits=tuple((row.id, row.name) for row in rows if row.id in own & wired),
        save=job_path(name, "add"),
    )


def recipe_page(
    recipe: Recipe,
    job: Job,
    given: Mapping[str, str],
    links: JobLinks,
    *,
    revision: int,
    made: Added | None,
    problems: tuple[Problem, ...],
    verdict: Accepting | None,
    trying: bool,
    stopped: bool,
    done: int,
    of: int,
) -> RecipePage:
    """The page of a recipe.

    Args:
        given: what was typed, by name.
        made: what it would make; None where answers are missing or nothing was asked.
        problems: what was not taken.
        verdict: what the network says; None while it is not known.
        done, of: states looked at and to look at. [-]
    """
    wrong = {problem.column: f"{problem.found or 'blank'}: allowed is {problem.allowed}" for problem in problems}
    named = {ask.name for ask in recipe.asks}
    path = ("add", recipe.id)
    return RecipePage(
        recipe=recipe,
        fields=tuple(_field(ask, job, given, made, wrong.get(ask.name, "")) for ask in recipe.asks),
        asked=bool(given),
        problems=tuple(problem for problem in problems if problem.column not in named),
        rows=tuple(
            MadeLine(
                sheet=row.sheet,
                id=row.id,
                cells=", ".join(f"{name} {text}" for name, text in row.cells.items() if name not in ("id", "fitted")),
            )
            for row in (made.rows if made is not None else ())
        ),
        pins=made.pins if made is not None else 0,
        assumed=", ".join(made.assumed) if made is not None else "",
        revision=revision,
        trying=trying,
        stopped=stopped,
        done=done,
        of=of,
        came=None if verdict is None else _lines(verdict.new, links),
        gone=() if verdict is None else _lines(verdict.gone, links),
        holds=verdict is not None and verdict.holds,
        take=job_path(links.job, *path, "take"),
        stop=job_path(links.job, *path, "stop", query=dict(given)),
        again=job_path(links.job, *path, "again", query=dict(given)),
        list_href=job_path(links.job, "add"),
        links=links,
    )


def _lines(findings: Sequence[Finding], links: JobLinks) -> tuple[FindingLine, ...]:
    return tuple(line_of(finding, number, links) for number, finding in enumerate(findings, start=1))


def _field(ask: Ask, job: Job, given: Mapping[str, str], made: Added | None, wrong: str) -> AskField:
    how = ask.usual.removeprefix("@").partition(":")[0] if ask.usual.startswith("@") else ""
    usual = _FOUND.get(how, "") if how else ask.usual
    if made is not None and not given.get(ask.name):
        usual = made.answers[ask.name]
    elif names_in(usual):
        usual = "made of the answers before it"
    return AskField(
        name=ask.name,
        says=ask.says,
        typed=given.get(ask.name, ""),
        usual=(f"{usual} {ask.unit}".strip() + (", typical" if ask.typical else "")) if usual else "",
        unit=ask.unit,
        offered=_offered(ask, job),
        picked=ask.takes in ("choice", "place", "earth", "part"),
        must=not ask.usual,
        wrong=wrong,
    )


def _offered(ask: Ask, job: Job) -> tuple[tuple[str, str], ...]:
    """What may be answered, where it is one of a list."""
    if ask.takes == "choice":
        return tuple((word, word) for word in ask.allowed)
    if ask.takes == "place":
        return tuple((row.id, row.name) for row in job.places)
    kinds = ask.kinds or _NOT_FED
    if ask.takes in ("part", "earth"):
        return tuple((row.id, row.name) for row in job.parts if row.kind in kinds and row.fitted != "removed")
    if ask.takes == "feed":
        return tuple((row.id, row.name) for row in job.parts if row.kind in ("busbar", "splice", "fuse"))
    return ()
