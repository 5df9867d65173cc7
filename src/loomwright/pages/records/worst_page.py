"""What does the page of worst cases say: the most each thing carries, how near that is to its rating, in which state;
and what draws on each supply?
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from loomwright.findings import id_order
from loomwright.handover.worst_sheet import state_words
from loomwright.pages.addresses import JobLinks, job_path
from loomwright.pages.records.state_words import amps_text
from loomwright.pages.records.strays_part import StraysPart
from loomwright.sizing.drawn_on import DrawnOn
from loomwright.sizing.worst_asked import WHATS
from loomwright.sizing.worst_cases import WorstCase, WorstCases

__all__ = ["SORTS", "Choice", "SupplyLine", "WorstLine", "WorstPage", "worst_page"]

SORTS: Mapping[str, str] = {"share": "share of its rating", "amps": "most it carries", "name": "name", "what": "what"}
"""How the table may be sorted, and the words of it."""

_PERCENT = 100.0
_BAR = 100.0
_WORDS = {
    "battery": "batteries",
    "alternator": "alternators",
    "fuse": "fuses",
    "switch": "switches",
    "contact": "contacts",
    "output": "outputs",
    "supply": "limited supplies",
    "diode": "diodes",
    "wire": "wires",
    "joint": "connector ways",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """One way to look at the table."""

    word: str
    href: str
    is_here: bool
    count: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class WorstLine:
    """One thing. title: what it is, of several contacts which.   share: printed; empty where it has no rating.

    bar: of its rating, to a full width of 100. [-]   is_over: beyond its rating.
    state, href: where it carries most.   share_state, share_href: where it is nearest to its rating, if elsewhere.
    """

    name: str
    href: str
    what: str
    title: str
    amps: str
    state: str
    state_href: str
    share: str
    bar: float
    is_over: bool
    allowed: str
    judged: str
    share_state: str
    share_href: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplyLine:
    """One supply and what draws on it. together: all its loads on at once, printed; empty where nobody knows."""

    name: str
    href: str
    what: str
    title: str
    together: str
    rating: str
    loads: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WorstPage:
    """The page. waiting: it is being worked out.   done, of: states. [-]"""

    lines: tuple[WorstLine, ...]
    supplies: tuple[SupplyLine, ...]
    sorts: Mapping[str, Choice]
    whats: tuple[Choice, ...]
    states_searched: int
    solved: int
    waiting: bool
    stopped: bool
    refused: str
    done: int
    of: int
    stop: str
    again: str
    workbook: str
    strays: StraysPart
    links: JobLinks


def worst_page(
    worst: WorstCases | None,
    supplies: Sequence[DrawnOn],
    links: JobLinks,
    strays: StraysPart,
    *,
    sort: str = "share",
    what: str = "",
    stopped: bool = False,
    refused: str = "",
    done: int = 0,
    of: int = 0,
) -> WorstPage:
    """The page.

    Args:
        worst: None while it is worked out.
        strays: what it says of figures that are a little off.
        sort: one of SORTS.
        what: only things of this sort; all where empty.
        stopped: a person stopped it.
        refused: why there is no answer; empty where it is not so.
        done: states looked at. [-]
        of: states to look at. [-]
    """

    def here(**asked: str) -> str:
        query = {"sort": "" if sort == "share" else sort, "what": what, **asked}
        return job_path(links.job, "worst", query=query)

    cases = worst.cases if worst is not None else ()
    counts = {word: sum(one.what == word for one in cases) for word in WHATS}
    whats = [Choice(word="all", href=here(what=""), is_here=not what, count=len(cases))]
    whats += [
        Choice(word=_WORDS[word], href=here(what=word), is_here=word == what, count=count)
        for word, count in counts.items()
        if count
    ]
    shown = sorted((one for one in cases if not what or one.what == what), key=_order(sort))
    return WorstPage(
        lines=tuple(_line(one, links) for one in shown),
        supplies=tuple(_supply(one, links) for one in supplies),
        sorts={
            key: Choice(word=word, href=here(sort="" if key == "share" else key), is_here=key == sort)
            for key, word in SORTS.items()
        },
        whats=tuple(whats),
        states_searched=worst.states_searched if worst is not None else 0,
        solved=worst.solved if worst is not None else 0,
        waiting=worst is None and not stopped and not refused,
        stopped=stopped,
        refused=refused,
        done=done,
        of=of,
        stop=job_path(links.job, "worst", "stop"),
        again=job_path(links.job, "worst", "again"),
        workbook=job_path(links.job, "worst", "table.xlsx") if worst is not None else "",
        strays=strays,
        links=links,
    )


def _order(sort: str) -> Callable[[WorstCase], tuple[object, ...]]:
    keys: dict[str, Callable[[WorstCase], tuple[object, ...]]] = {
        "share": lambda one: (-(one.share_frac if one.share_frac is not None else -1.0), -one.amps, id_order(one.name)),
        "amps": lambda one: (-one.amps, id_order(one.name)),
        "name": lambda one: (id_order(one.name), one.label),
        "what": lambda one: (WHATS.index(one.what), id_order(one.name), one.label),
    }
    return keys[sort]


def _line(one: WorstCase, links: JobLinks) -> WorstLine:
    share = one.share_frac
    is_elsewhere = bool(one.judged) and (one.share_state, one.share_before) != (one.state, one.before)
    return WorstLine(
        name=one.name,
        href=links.thing(one.name),
        what=one.what,
        title=_title(one.label, one.name, one.what),
        amps=amps_text(one.amps),
        state=state_words(one.state, one.before) if one.amps else "",
        state_href=links.car(one.state, one.before, ()) if one.amps else "",
        share="" if share is None else _share(share),
        bar=0.0 if share is None else round(min(_BAR, share * _BAR), 1),
        is_over=share is not None and share > 1.0 + 1e-4,
        allowed="" if share is None or not one.allowed_a else amps_text(one.allowed_a),
        judged="" if one.judged == "steady" else one.judged,
        share_state=state_words(one.share_state, one.share_before) if is_elsewhere else "",
        share_href=links.car(one.share_state, one.share_before, ()) if is_elsewhere else "",
    )


def _share(share_frac: float) -> str:
    """A share in percent; never rounded down to one that is allowed."""
    percent = share_frac * _PERCENT
    return f"{percent:.1f} %" if _PERCENT < percent < _PERCENT + 1.0 else f"{percent:.0f} %"


def _title(label: str, name: str, what: str) -> str:
    """The label without the name and the sort that stand before it."""
    inside = label.removeprefix(name).strip()
    title = inside[1:-1] if inside.startswith("(") and inside.endswith(")") else inside
    return "" if title == what else title.removeprefix(f"{what}, ")


def _supply(one: DrawnOn, links: JobLinks) -> SupplyLine:
    return SupplyLine(
        name=one.name,
        href=links.thing(one.name),
        what=one.what,
        title=_title(one.label, one.name, one.what),
        together=amps_text(one.rated_a) if one.rated_a else "",
        rating="" if one.rating_a is None else amps_text(one.rating_a),
        loads=one.loads,
    )
