"""What does the page of sizes say: which rule decided each wire, and of one wire, every rule beside the
others?
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from loomwright.car import Car
from loomwright.findings import id_order
from loomwright.handover.worst_sheet import state_words
from loomwright.pages.addresses import JobLinks, job_path
from loomwright.pages.records.loom_words import bar_of, degrees, is_warm
from loomwright.pages.records.row_cells import why_href
from loomwright.pages.records.state_words import amps_text, volts_text
from loomwright.pages.records.why_page import LimitLine, WhyPage, why_page
from loomwright.quantities.printing import for_print, with_unit
from loomwright.refusals import OutOfReach
from loomwright.sizing.sized import LIMITS, Ask, Sized, SizedFuse, SizedWire
from loomwright.sizing.unsettled import alike
from loomwright.sizing.why import why_size

__all__ = ["FuseSized", "RuleBeside", "SizeLine", "SizesPage", "WireSized", "sizes_page"]

_SIZE = "size_mm2"
_FLOWS_A = 0.0005
_TOLD = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleChoice:
    """Wires that one rule decided, or all."""

    word: str
    href: str
    is_here: bool
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeLine:
    """One wire. by: what decided, a rule, or typed or cut.   most: the rule that asks for most; asks: how much.

    amps, state, state_href: the worst that warms it.   warm: of its copper then; stands: its insulation.
    fuse: that guards it.   asked: the page with its rules side by side.
    """

    wire: str
    href: str
    asked: str
    size: str
    is_decided: bool
    by: str
    most: str
    asks: str
    is_short: bool
    amps: str
    state: str
    state_href: str
    drop: str
    warm: str
    stands: str
    is_too_hot: bool
    fuse: str
    fuse_href: str
    fuse_rating: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FuseSized:
    """One fuse. by: what decided.   asked: where it is asked why."""

    fuse: str
    href: str
    asked: str
    rating: str
    is_decided: bool
    by: str
    amps: str
    state: str
    state_href: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleBeside:
    """One rule for one wire. bar: what it asks for, of the thickest in question; is_over: more than stands there.

    bar, stands_at: its length, of the longest. [-]
    """

    line: LimitLine
    bar: float
    stands_at: float
    is_over: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class WireSized:
    """One wire, all rules side by side. why: where it stands with its reasons in full."""

    wire: str
    href: str
    why: WhyPage
    why_href: str
    rules: tuple[RuleBeside, ...]
    close: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SizesPage:
    """The page. waiting: it is being worked out; done, of: states. [-]   copper: of all new wires, printed.

    unsettled: what could not be decided: its cells, why and the mend.
    """

    lines: tuple[SizeLine, ...]
    fuses: tuple[FuseSized, ...]
    rules: tuple[RuleChoice, ...]
    wire: WireSized | None
    copper: str
    solved: int
    proof: str
    unsettled: tuple[tuple[str, str, str], ...]
    waiting: bool
    stopped: bool
    refused: str
    done: int
    of: int
    stop: str
    again: str
    sheet: str
    links: JobLinks


def sizes_page(
    car: Car,
    sized: Sized | None,
    links: JobLinks,
    *,
    wire: str = "",
    by: str = "",
    stopped: bool = False,
    refused: str = "",
    done: int = 0,
    of: int = 0,
) -> SizesPage:
    """The page.

    Args:
        sized: None while it is worked out; every new wire was looked at for it.
        wire: the one whose rules stand side by side; empty: none.
        by: only wires that this rule decided, or typed or cut ones; empty: all.
        stopped: a person stopped it.
        refused: why there is no answer; empty where it is not so.
        done: states looked at. [-]
        of: states to look at. [-]
    Raises:
        OutOfReach: a wire that is not a new one of the job.
    """
    new = sorted((one.id for one in car.job.wires if one.fitted == "new"), key=id_order)
    if wire and wire not in new:
        raise OutOfReach("wire", wire, "a new wire of this job")
    here = _addresses(links.job)
    asked = [sized.wires[name] for name in new if name in sized.wires] if sized is not None else []
    words = [*LIMITS, *sorted({one.decided_by for one in asked} - {*LIMITS})]
    counts = {word: sum(one.decided_by == word for one in asked) for word in words}
    rules = [RuleChoice(word="all", href=here(""), is_here=not by, count=len(asked))]
    rules += [
        RuleChoice(word=_by(word), href=here(word), is_here=word == by, count=count)
        for word, count in counts.items()
        if count
    ]
    return SizesPage(
        lines=tuple(_line(sized, one, links) for one in asked if not by or one.decided_by == by) if sized else (),
        fuses=() if sized is None else tuple(_fuse(sized, sized.fuses[name], links) for name in _fuses(sized)),
        rules=tuple(rules),
        wire=_wire(car, sized, wire, links, here(by)) if sized is not None and wire else None,
        copper="" if sized is None else f"{for_print(sized.copper_g, side='up')} g",
        solved=0 if sized is None else sized.solved,
        proof="" if sized is None or not sized.decided else _proof(sized),
        unsettled=()
        if sized is None
        else tuple((" ".join(cells), one.why, one.mend) for cells, one in alike(sized.unsettled)),
        waiting=sized is None and not stopped and not refused,
        stopped=stopped,
        refused=refused,
        done=done,
        of=of,
        stop=job_path(links.job, "sizes", "stop"),
        again=job_path(links.job, "sizes", "again"),
        sheet=links.sheet("wires"),
        links=links,
    )


def _addresses(job: str) -> Callable[[str], str]:
    return lambda by: job_path(job, "sizes", query={"by": by})


def _proof(sized: Sized) -> str:
    if sized.proved:
        return "No choice that keeps every rule has less copper."
    return "No wire, and no two on one way, can be thinner."


def _fuses(sized: Sized) -> list[str]:
    return sorted(sized.fuses, key=id_order)


def _by(word: str) -> str:
    return word.replace("_", " ")


def _line(sized: Sized, one: SizedWire, links: JobLinks) -> SizeLine:
    most = _asks_most(one)
    guard = next((ask.at for ask in one.asks if ask.limit == "fuse" and ask.at), "")
    rating_a = sized.fuses[guard].rating_a if guard in sized.fuses else None
    state = sized.state_of(one.values) if one.amps >= _FLOWS_A else {}
    return SizeLine(
        wire=one.wire,
        href=links.thing(one.wire),
        asked=job_path(links.job, "sizes", query={"wire": one.wire}, at="rules"),
        size="" if one.size_mm2 is None else with_unit(one.size_mm2, "mm2"),
        is_decided=one.wire in sized.decided,
        by=_by(one.decided_by),
        most=most.limit if most is not None and most.limit != one.decided_by else "",
        asks="" if most is None or most.asks is None else with_unit(most.asks, "mm2"),
        is_short=most is not None and _is_short(one.size_mm2, most),
        amps=amps_text(one.amps),
        state=_short(state) if state else "",
        state_href=links.car(state, {}, ()) if state else "",
        drop=volts_text(one.drop_v) if one.size_mm2 is not None else "",
        warm="" if one.conductor_c is None else degrees(one.conductor_c),
        stands="" if one.insulation_c is None else f"{one.insulation_c:g} °C",
        is_too_hot=one.conductor_c is not None and is_warm(one.conductor_c, one.insulation_c),
        fuse=guard,
        fuse_href=links.thing(guard) if guard else "",
        fuse_rating="" if rating_a is None else amps_text(rating_a),
    )


def _short(state: Mapping[str, str]) -> str:
    """A state in a line: what comes first of it, and how much more there is where its link leads."""
    if len(state) <= _TOLD + 1:
        return state_words(state, {})
    first = dict(list(state.items())[:_TOLD])
    return f"{state_words(first, {})} and {len(state) - _TOLD} more"


def _asks_most(one: SizedWire) -> Ask | None:
    """The rule that asks for most; the first in the order of rules where several do."""
    asking = [ask for ask in one.asks if ask.asks is not None]
    return max(asking, key=lambda ask: (ask.asks or 0.0, -LIMITS.index(ask.limit)), default=None)


def _is_short(size_mm2: float | None, ask: Ask) -> bool:
    return size_mm2 is not None and ask.asks is not None and ask.asks > size_mm2


def _fuse(sized: Sized, one: SizedFuse, links: JobLinks) -> FuseSized:
    state = sized.state_of(one.values) if one.amps >= _FLOWS_A else {}
    return FuseSized(
        fuse=one.part,
        href=links.thing(one.part),
        asked=why_href(links, f"{one.part}.rating_a"),
        rating="" if one.rating_a is None else amps_text(one.rating_a),
        is_decided=one.part in sized.decided,
        by=_by(one.decided_by),
        amps=amps_text(one.amps),
        state=_short(state) if state else "",
        state_href=links.car(state, {}, ()) if state else "",
    )


def _wire(car: Car, sized: Sized, wire: str, links: JobLinks, close: str) -> WireSized:
    cell = f"{wire}.{_SIZE}"
    path = why_href(links, cell)
    why = why_page(
        (cell, "wires", wire, _SIZE),
        why_size(car.job, cell, lambda _: sized),
        links,
        car.variables,
        path=path,
    )
    one = sized.wires[wire]
    asked = {ask.limit: ask.asks for ask in one.asks}
    most = max([one.size_mm2 or 0.0, *(value or 0.0 for value in asked.values())])
    return WireSized(
        wire=wire,
        href=links.thing(wire),
        why=why,
        why_href=path,
        rules=tuple(
            RuleBeside(
                line=line,
                bar=bar_of(asked.get(line.limit) or 0.0, most),
                stands_at=bar_of(one.size_mm2 or 0.0, most),
                is_over=(asked.get(line.limit) or 0.0) > (one.size_mm2 or most),
            )
            for line in why.limits
        ),
        close=close,
    )
