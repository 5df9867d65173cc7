"""What does the page of worst cases say of figures that are a little off: how far volts and amps stray, what passes?"""

from __future__ import annotations

from dataclasses import dataclass

from loomwright.handover.stray_sheet import passed_words
from loomwright.handover.worst_sheet import state_words
from loomwright.pages.addresses import JobLinks, job_path
from loomwright.sizing.tolerance import Stray, Strays, Verdict

__all__ = ["StrayLine", "StraysPart", "VerdictLine", "strays_part"]

_DIGITS = {"V": 2, "A": 2}


@dataclass(frozen=True, slots=True, kw_only=True)
class StrayLine:
    """One figure, printed. most_of, bound: from to.   holds: the bound is one."""

    name: str
    href: str
    title: str
    solved: str
    most_of: str
    every: str
    bound: str
    holds: bool
    state: str
    state_href: str


@dataclass(frozen=True, slots=True, kw_only=True)
class VerdictLine:
    """One thing that fails in some cars, printed."""

    rule: str
    name: str
    href: str
    wrong: str
    passed: str
    as_solved: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class StraysPart:
    """The part. begin: the address that begins it; empty where it was.   done, of: cars and corners. [-]"""

    begin: str
    waiting: bool
    stopped: bool
    done: int
    of: int
    stop: str
    again: str
    says: str
    small: str
    loads: tuple[StrayLine, ...]
    things: tuple[StrayLine, ...]
    verdicts: tuple[VerdictLine, ...]


def strays_part(
    strays: Strays | None, links: JobLinks, *, asked: bool, stopped: bool = False, done: int = 0, of: int = 0
) -> StraysPart:
    """The part.

    Args:
        strays: None while it is worked out, or nobody has asked.
        asked: somebody wants it.
        stopped: a person stopped it.
        done: cars and corners done. [-]
        of: cars and corners to do. [-]
    """
    lines = strays.lines if strays is not None else ()
    return StraysPart(
        begin="" if asked else job_path(links.job, "worst", query={"off": "yes"}) + "#strays",
        waiting=asked and strays is None and not stopped,
        stopped=stopped,
        done=done,
        of=of,
        stop=job_path(links.job, "worst", "strays", "stop"),
        again=job_path(links.job, "worst", "strays", "again"),
        says=""
        if strays is None
        else f"Everything that passes as solved still {passed_words(strays.passed, strays.cars, strays.sure_frac)}.",
        small=""
        if strays is None
        else f"{strays.cars} cars, {strays.draws} figures drawn in each, {strays.states} states, "
        f"{strays.asked} questions.",
        loads=tuple(_line(one, links) for one in lines if one.unit == "V"),
        things=tuple(_line(one, links) for one in lines if one.unit == "A"),
        verdicts=tuple(_verdict(one, links) for one in (strays.verdicts if strays is not None else ())),
    )


def _line(one: Stray, links: JobLinks) -> StrayLine:
    bound = one.bound
    return StrayLine(
        name=one.name,
        href=links.thing(one.name),
        title=one.label.removeprefix(one.name).strip(" ()"),
        solved=_text(one.solved, one.unit),
        most_of=_span(one.low, one.high, one.unit),
        every=_span(one.least, one.most, one.unit),
        bound="" if bound is None else _span(bound.least, bound.most, one.unit),
        holds=bound is not None and bound.holds,
        state=state_words(one.state, one.before),
        state_href=links.car(one.state, one.before, ()),
    )


def _text(figure: float, unit: str) -> str:
    return f"{figure:.{_DIGITS[unit]}f} {unit}"


def _span(least: float, most: float, unit: str) -> str:
    return f"{least:.{_DIGITS[unit]}f} to {_text(most, unit)}"


def _verdict(one: Verdict, links: JobLinks) -> VerdictLine:
    name = one.at[0] if one.at else ""
    return VerdictLine(
        rule=one.rule,
        name=name,
        href=links.thing(name.partition(".")[0]) if name else "",
        wrong=one.wrong,
        passed=passed_words(one.passed, one.of, one.sure_frac).removeprefix("passes in "),
        as_solved=one.as_solved,
    )
