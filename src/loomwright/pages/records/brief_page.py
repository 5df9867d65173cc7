"""What does the page of the brief ask, and what do its answers come to: pins, wires, and what each wish adds?"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from loomwright.brief.brief import BriefAsk, Briefed, briefed, load_brief
from loomwright.handover.quote import quote_of
from loomwright.refusals import BadDocument, Problem
from loomwright.routes.wire_routes import wire_routes
from loomwright.tables.kinds import load_kinds

__all__ = ["BriefChapter", "BriefField", "BriefPage", "brief_page"]

_KEPT = 256


@dataclass(frozen=True, slots=True, kw_only=True)
class BriefField:
    """A question. adds: what a wish adds to the job, in words; empty where it is none or not known."""

    name: str
    says: str
    answer: str
    unit: str
    allowed: tuple[str, ...]
    adds: str
    wrong: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BriefChapter:
    """Questions that stand together."""

    word: str
    fields: tuple[BriefField, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class BriefPage:
    """The page.

    comes_to: what the answers make, in words.   cautions: said before anybody begins.   typed: the job's name.
    """

    chapters: tuple[BriefChapter, ...]
    comes_to: str
    cautions: tuple[str, ...]
    typed: str
    problems: tuple[Problem, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Size:
    pins: int
    wires: int
    hours: float

    def beyond(self, other: _Size) -> _Size:
        """What it is more than another."""
        return _Size(pins=self.pins - other.pins, wires=self.wires - other.wires, hours=self.hours - other.hours)


def brief_page(given: Mapping[str, str], *, typed: str = "", problems: tuple[Problem, ...] = ()) -> BriefPage:
    """The page with the answers given so far.

    Args:
        given: question -> answer; the usual ones stand for the rest.
        typed: the name the job is to have.
        problems: what stood in the way of making it.
    """
    brief = load_brief()
    whole = {each.ask.name: given.get(each.ask.name, "") or each.ask.usual for each in brief.asks}
    try:
        made: Briefed | None = briefed(whole)
    except BadDocument as refusal:
        made, problems = None, (*problems, *refusal.problems)
    wrong = {problem.column: f"allowed: {problem.allowed}" for problem in problems}
    fields: dict[str, list[BriefField]] = {}
    for each in brief.asks:
        fields.setdefault(each.chapter, []).append(
            BriefField(
                name=each.ask.name,
                says=each.ask.says,
                answer=whole[each.ask.name],
                unit=each.ask.unit,
                allowed=each.ask.allowed,
                adds=_adds(each, whole, made) if made is not None else "",
                wrong=wrong.get(each.ask.name, ""),
            )
        )
    size = _size(_key(whole)) if made is not None else None
    return BriefPage(
        chapters=tuple(BriefChapter(word=word, fields=tuple(found)) for word, found in fields.items()),
        comes_to="" if made is None or size is None else f"{len(made.job.parts)} parts, {_words(size)}",
        cautions=() if made is None else made.cautions,
        typed=typed,
        problems=tuple(problem for problem in problems if problem.column not in wrong or problem.sheet != "brief"),
    )


def _adds(each: BriefAsk, whole: Mapping[str, str], made: Briefed) -> str:
    """What each answer of a wish adds to the one that asks for nothing, all other answers as they are."""
    if each.ask.takes == "firing order" and not whole[each.ask.name]:
        return f"left blank: {made.answers[each.ask.name]}, usual for so many"
    if not each.without:
        return ""
    without = _size(_key({**whole, each.ask.name: each.without}))
    told = []
    for word in each.ask.allowed:
        if word != each.without:
            size = _size(_key({**whole, each.ask.name: word}))
            more = size.beyond(without)
            told.append(_words(more) if len(each.ask.allowed) == 2 else f"{word}: {_words(more)}")
    return "; ".join(told)


def _words(size: _Size) -> str:
    pins = "no pin" if size.pins == 0 else f"{size.pins} pin{'' if size.pins == 1 else 's'}"
    return f"{pins}, {size.wires} wire{'' if size.wires == 1 else 's'}, about {size.hours:.1f} h"


def _key(whole: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    return tuple(sorted(whole.items()))


@lru_cache(maxsize=_KEPT)
def _size(answers: tuple[tuple[str, str], ...]) -> _Size:
    """What a set of answers comes to."""
    made = briefed(dict(answers))
    kinds = load_kinds()
    quote = quote_of(made.job, kinds, wire_routes(made.job, kinds))
    minutes = sum(part.all.usual_minutes for part in quote.parts)
    return _Size(pins=made.pins, wires=len(made.job.wires), hours=minutes / 60.0)
