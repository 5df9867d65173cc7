"""What does the page of the brief ask, and what do its answers come to: pins, wires, and what each wish adds?"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loomwright.allocation.allocated import needs_left_out
from loomwright.brief.brief import Brief, BriefAsk, Briefed, Kept, brief_answered, briefed, load_brief, sketched
from loomwright.handover.quote_work import with_routed_lengths, work_of
from loomwright.job.shop_terms import shop_terms_of
from loomwright.refusals import BadDocument, Problem
from loomwright.routes.wire_routes import wire_routes
from loomwright.tables.kinds import load_kinds

__all__ = ["BriefChapter", "BriefField", "BriefPage", "brief_page"]

_MOST_KNOWN = 256
_HOUR_MINUTES = 60.0
_KNOWN: dict[tuple[tuple[str, str], ...], _Size] = {}


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

    comes_to: what the answers make, in words; empty where one of them cannot be read.
    controller: the answer to which.   too_few: what it has no pin for, in words; none where all fits.
    astray: (question, its words) of answers that cannot be read.
    cautions: said before anybody begins.   typed: the job's name.
    """

    chapters: tuple[BriefChapter, ...]
    comes_to: str
    controller: str
    too_few: tuple[str, ...]
    astray: tuple[tuple[str, str], ...]
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
    wrong = _wrong(brief, whole)
    # what an answer that cannot be read adds is told as if it were the usual one, so that the page stays what it was
    sound = {each.ask.name: each.ask.usual if each.ask.name in wrong else whole[each.ask.name] for each in brief.asks}
    made: Briefed | None = None
    try:
        made = briefed(sound)
    except BadDocument as refusal:
        problems = (*problems, *refusal.problems)
    kept: Kept = {}
    fields: dict[str, list[BriefField]] = {}
    for each in brief.asks:
        fields.setdefault(each.chapter, []).append(
            BriefField(
                name=each.ask.name,
                says=each.ask.says,
                answer=whole[each.ask.name],
                unit=each.ask.unit,
                allowed=each.ask.allowed,
                adds=_adds(each, sound, made, kept) if made is not None else "",
                wrong=wrong.get(each.ask.name, ""),
            )
        )
    size = _size(sound, kept) if made is not None and not wrong else None
    return BriefPage(
        chapters=tuple(BriefChapter(word=word, fields=tuple(found)) for word, found in fields.items()),
        comes_to="" if made is None or size is None else f"{len(made.job.parts)} parts, {_words(size)}",
        controller=sound["controller"],
        too_few=() if made is None or size is None else _too_few(made),
        astray=tuple((each.ask.name, each.ask.says) for each in brief.asks if each.ask.name in wrong),
        cautions=() if made is None else made.cautions,
        typed=typed,
        problems=tuple(problem for problem in problems if problem.column not in wrong or problem.sheet != "brief"),
    )


def _wrong(brief: Brief, whole: Mapping[str, str]) -> dict[str, str]:
    """Question -> why its answer cannot be read."""
    try:
        brief_answered(whole, brief)
    except BadDocument as refusal:
        return {one.column: f"{one.found}: allowed is {one.allowed}" for one in refusal.problems}
    return {}


def _too_few(made: Briefed) -> tuple[str, ...]:
    """What the controller has no pin for, in words."""
    does = {need.id: need.does or need.id for need in made.job.needs}
    return tuple(does[name] for name in needs_left_out(made.job, load_kinds()))


def _adds(each: BriefAsk, whole: Mapping[str, str], made: Briefed, kept: Kept) -> str:
    """What each answer of a wish adds to the one that asks for nothing, all other answers as they are."""
    if each.ask.takes == "firing order" and not whole[each.ask.name]:
        return f"left blank: {made.answers[each.ask.name]}, usual for so many"
    if not each.without:
        return ""
    without = _size({**whole, each.ask.name: each.without}, kept)
    told = []
    for word in each.ask.allowed:
        if word != each.without:
            size = _size({**whole, each.ask.name: word}, kept)
            more = size.beyond(without)
            told.append(_words(more) if len(each.ask.allowed) == 2 else f"{word}: {_words(more)}")
    return "; ".join(told)


def _words(size: _Size) -> str:
    pins = "no pin" if size.pins == 0 else f"{size.pins} pin{'' if size.pins == 1 else 's'}"
    return f"{pins}, {size.wires} wire{'' if size.wires == 1 else 's'}, about {size.hours:.1f} h"


def _size(whole: Mapping[str, str], kept: Kept) -> _Size:
    """What a set of answers comes to; those asked last are known."""
    key = tuple(sorted(whole.items()))
    if key not in _KNOWN:
        while len(_KNOWN) >= _MOST_KNOWN:
            _KNOWN.pop(next(iter(_KNOWN)), None)
        _KNOWN[key] = _counted(whole, kept)
    return _KNOWN[key]


def _counted(whole: Mapping[str, str], kept: Kept) -> _Size:
    kinds = load_kinds()
    made = sketched(whole, kinds, kept=kept)
    routes = wire_routes(made.job, kinds)
    work = work_of(with_routed_lengths(made.job, routes), kinds, routes, shop_terms_of(made.job))
    minutes = sum(stage.all.usual_minutes for stage in work)
    return _Size(pins=made.pins, wires=len(made.job.wires), hours=minutes / _HOUR_MINUTES)
