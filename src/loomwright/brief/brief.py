"""Which first set of sheets do a page of answers make?

The brief is data (`tables/brief/questions.toml`): questions in chapters, and the recipes their answers call for, in
order. What it makes are ordinary rows; sizes, lengths, ratings and pins are decided afterwards as those of any job.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import cast

from loomwright.brief.adding import Added, put_in
from loomwright.brief.answers import Answers, filled_in, number_of
from loomwright.brief.recipe import Ask, Recipe, load_recipes, recipe_called
from loomwright.job.job import Job
from loomwright.job.points import Kinds
from loomwright.job.reading import problems_of
from loomwright.refusals import BadDocument, OutOfReach, Problem, TableFault
from loomwright.tables.load import read_toml

__all__ = [
    "Brief",
    "BriefAsk",
    "Briefed",
    "Kept",
    "answers_from_text",
    "brief_answered",
    "briefed",
    "load_brief",
    "sketched",
]

_NOTHING = ("no", "none", "0")
_CYLINDER = re.compile(r"\d+")


@dataclass(frozen=True, slots=True, kw_only=True)
class BriefAsk:
    """A question of the brief, and the chapter it stands in."""

    chapter: str
    ask: Ask

    @property
    def without(self) -> str:
        """The answer that asks for nothing, against which what another costs can be told; empty where there is none."""
        return next((word for word in _NOTHING if word in self.ask.allowed), "")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Make:
    recipe: str
    for_each: str
    only: tuple[Mapping[str, tuple[str, ...]], ...]
    answers: Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Brief:
    """The questions, and what their answers make. firing_orders: cylinders -> the usual one."""

    asks: tuple[BriefAsk, ...]
    makes: tuple[_Make, ...]
    firing_orders: Mapping[str, str]

    @property
    def chapters(self) -> tuple[str, ...]:
        """The chapters in their order."""
        return tuple(dict.fromkeys(each.chapter for each in self.asks))


@dataclass(frozen=True, slots=True, kw_only=True)
class Briefed:
    """A job made from a brief. made: the recipes, in the order they were made."""

    job: Job
    answers: Answers
    made: tuple[Added, ...]

    @property
    def cautions(self) -> tuple[str, ...]:
        """What is said before anybody begins, each once."""
        return tuple(dict.fromkeys(caution for each in self.made for caution in each.recipe.cautions))

    @property
    def pins(self) -> int:
        """Controller pins it asks for. [-]"""
        return sum(each.pins for each in self.made)


Kept = dict[tuple[int, str, tuple[tuple[str, str], ...]], tuple[int, Added]]
"""What was made before it, a recipe and its answers -> a number for it and all before it, and what it made."""


@cache
def load_brief() -> Brief:
    """The brief that ships.

    Raises:
        TableFault: it asks or makes something that does not hold together.
    """
    entries = read_toml("brief", "questions")
    asks = tuple(_ask(entry) for entry in cast(Sequence[Mapping[str, object]], entries["asks"]))
    names = {each.ask.name for each in asks}
    makes = tuple(_make(entry) for entry in cast(Sequence[Mapping[str, object]], entries["makes"]))
    recipes = load_recipes()
    for make in makes:
        if make.recipe not in recipes:
            raise TableFault("brief", 1, "makes", make.recipe)
        asked = {ask.name for ask in recipes[make.recipe].asks}
        unknown = [*({name for case in make.only for name in case} - names), *(set(make.answers) - asked)]
        if unknown:
            raise TableFault("brief", 1, make.recipe, unknown[0])
    return Brief(asks=asks, makes=makes, firing_orders=dict(cast(Mapping[str, str], entries["firing_orders"])))


def answers_from_text(text: str, file: str = "the brief") -> Answers:
    """Answers written in a file: `cylinders = 6` or `cylinders: 6`, a line each; what is not in it is the usual answer.

    Raises:
        BadDocument: a line that is not a name, an equals sign and an answer.
    """
    found: dict[str, str] = {}
    problems = []
    for number, line in enumerate(text.splitlines(), start=1):
        plain = line.split("#", 1)[0].strip()
        name, equals, answer = plain.partition("=" if "=" in plain else ":")
        if plain and not equals:
            mend = "Write the name of a question, an equals sign and the answer"
            problems.append(Problem(sheet=file, row=number, column="", found=plain, allowed="name = answer", mend=mend))
        elif plain:
            found[name.strip()] = answer.strip().strip('"')
    if problems:
        raise BadDocument(tuple(problems))
    return found


def brief_answered(given: Answers, brief: Brief | None = None) -> Answers:
    """Every answer of the brief, the usual ones for those not given.

    Raises:
        BadDocument: an answer that is not allowed, or to a question that is not asked; all of them are listed.
    """
    brief = brief or load_brief()
    known = {each.ask.name: each.ask for each in brief.asks}
    problems = [_not_asked(name, given[name], known) for name in given if name not in known]
    answers: dict[str, str] = {}
    for name, ask in known.items():
        text = given.get(name, "").strip() or ask.usual
        if ask.takes == "choice" and text not in ask.allowed:
            allowed = ", ".join(ask.allowed)
            mend = f"Say one of them for {name}: {ask.says}"
            problems.append(Problem(sheet="brief", row=None, column=name, found=text, allowed=allowed, mend=mend))
        elif ask.takes == "number":
            try:
                text = f"{number_of(name, text, ask.unit):g}"
            except OutOfReach as fault:
                mend = f"Say a figure in {ask.unit}: {ask.says}"
                problems.append(
                    Problem(sheet="brief", row=None, column=name, found=text, allowed=fault.allowed, mend=mend)
                )
        elif ask.takes == "firing order":
            usual = brief.firing_orders.get(answers["cylinders"], "")
            text = "-".join(_CYLINDER.findall(text)) if text else usual
            if usual and sorted(text.split("-")) != sorted(usual.split("-")):
                allowed = f"each of the {answers['cylinders']} cylinders once, as {usual}"
                mend = f"Leave it out for {usual}, or say the engine's own"
                problems.append(
                    Problem(sheet="brief", row=None, column=name, found=given[name], allowed=allowed, mend=mend)
                )
        answers[name] = text
    if problems:
        raise BadDocument(tuple(problems))
    return answers


def briefed(given: Answers, kinds: Kinds | None = None, begun: Job | None = None) -> Briefed:
    """The first set of sheets for a page of answers.

    Args:
        given: question -> answer; the usual ones stand for the rest.
        kinds: those of the library, where they were read already.
        begun: a job to start from; empty where left out.
    Raises:
        BadDocument: an answer that is not allowed, or rows that do not hold together; all of it is listed.
    """
    made = sketched(given, kinds, begun)
    problems = problems_of(made.job, kinds)
    if problems:
        raise BadDocument(problems)
    return made


def sketched(given: Answers, kinds: Kinds | None = None, begun: Job | None = None, kept: Kept | None = None) -> Briefed:
    """The same without asking whether its rows hold together, for what is only counted.

    Args:
        given: question -> answer; the usual ones stand for the rest.
        kinds: those of the library, where they were read already.
        begun: a job to start from; empty where left out.
        kept: recipes made before from the same beginning, which are taken and added to: briefs that differ in one
            answer are alike up to the first recipe it calls for.
    Raises:
        BadDocument: an answer that is not allowed; all of it is listed.
    """
    brief = load_brief()
    answers = brief_answered(given, brief)
    job = Job() if begun is None else begun
    made: list[Added] = []
    number = 0
    known: Kept = {} if kept is None else kept
    for recipe, own in _called(brief.makes, answers):
        step = (number, recipe.id, tuple(sorted(own.items())))
        if step not in known:
            known[step] = (len(known) + 1, put_in(job, recipe, own, kinds))
        number, one = known[step]
        made.append(one)
        job = one.job
    return Briefed(job=job, answers=answers, made=tuple(made))


def _called(makes: Iterable[_Make], answers: Answers) -> Iterator[tuple[Recipe, Answers]]:
    for make in makes:
        if not any(all(answers[name] in words for name, words in each.items()) for each in make.only):
            continue
        for n in range(1, _count(make.for_each, answers) + 1):
            known = {**answers, "n": str(n), "pair": _pair(answers["firing_order"], n)}
            yield recipe_called(make.recipe), {name: filled_in(text, known) for name, text in make.answers.items()}


def _count(for_each: str, answers: Answers) -> int:
    """How many times a recipe is made: an answer, or half of it rounded up."""
    if not for_each:
        return 1
    name, _, divided = for_each.partition("/")
    return -(-int(answers[name]) // int(divided or 1))


def _pair(order: str, n: int) -> str:
    """The cylinders that fire together where a coil serves a pair: half the order lies between them."""
    names = order.split("-")
    half = len(names) // 2
    both = [names[n - 1], names[n - 1 + half]] if half and n <= half else names[n - 1 : n]
    return f"cylinders {' and '.join(both)}" if len(both) > 1 else f"cylinder {''.join(both)}"


def _not_asked(name: str, found: str, known: Mapping[str, Ask]) -> Problem:
    return Problem(
        sheet="brief",
        row=None,
        column=name,
        found=found,
        allowed=", ".join(known),
        mend="Leave it out, or mend its name",
    )


def _ask(entry: Mapping[str, object]) -> BriefAsk:
    plain = {name: value for name, value in entry.items() if name != "chapter"}
    if "allowed" in plain:
        plain["allowed"] = tuple(cast(list[str], plain["allowed"]))
    return BriefAsk(chapter=str(entry["chapter"]), ask=Ask(**plain))  # type: ignore[arg-type]


def _make(entry: Mapping[str, object]) -> _Make:
    only = entry.get("only", {})
    cases = cast(list[Mapping[str, list[str]]], only if isinstance(only, list) else [only])
    return _Make(
        recipe=str(entry["recipe"]),
        for_each=str(entry.get("for_each", "")),
        only=tuple({name: tuple(words) for name, words in case.items()} for case in cases),
        answers=dict(cast(Mapping[str, str], entry.get("with", {}))),
    )
