"""What does the page say that tells why a cell is what it is: value, standing, every limit back to its source?"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from loomwright.handover.worst_sheet import state_words
from loomwright.job.decided import decision_at, reasons_at
from loomwright.job.job import Job
from loomwright.job.variables import Variable
from loomwright.pages.addresses import JobLinks, job_path
from loomwright.pages.records.finding_lines import state_in
from loomwright.quantities import ending_of, unit_word
from loomwright.quantities.printing import for_print
from loomwright.sizing.why import Why, WhyLimit
from loomwright.tables.load import read_rows

__all__ = ["LimitLine", "WhyPage", "kept_why", "why_page"]

_PERCENT = 100.0
_STANDS = {
    "typed": "Typed in the sheet. Below: the limits of such a cell, and what is left to each.",
    "cut": "Cut already; it is not decided anew. Below: its limits, and what is left to each.",
    "kept": "Decided, and kept beside the sheet.",
    "stale": "Decided and kept, and rows it rests on have changed since.",
    "decided now": "The cell is blank; this is worked out now.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitLine:
    """One limit. asks: what it alone would ask for.   left: what is left to it, in words.   ruled: it decided.

    when: its worst state; car: the car in it.   rests_on: rows.   method, table, source: the way back.
    """

    limit: str
    asks: str
    says: str
    left: str
    ruled: bool
    when: str
    car: str
    rests_on: tuple[str, ...]
    method: str
    table: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WhyPage:
    """The page. row: the wire or the part, href: its page.   value: printed with its unit.   stands: in a sentence.

    waiting: it is being worked out; done, of: states meanwhile. [-]   stop, again: where to post.
    """

    cell: str
    row: str
    href: str
    cell_href: str
    word: str
    value: str
    stands: str
    decided: bool
    limits: tuple[LimitLine, ...]
    why: str
    mend: str
    waiting: bool
    stopped: bool
    done: int
    of: int
    stop: str
    again: str
    links: JobLinks


def why_page(
    cell: tuple[str, str, str, str],
    why: Why | None,
    links: JobLinks,
    variables: Sequence[Variable],
    *,
    path: str,
    stopped: bool = False,
    done: int = 0,
    of: int = 0,
) -> WhyPage:
    """The page of a cell.

    Args:
        cell: as typed; its sheet, row and column.
        why: the answer; None while it is worked out.
        path: the page's own.
        stopped: a person stopped the work.
        done: states looked at. [-]
        of: states to look at. [-]
    """
    typed, sheet, row, column = cell
    setting = column.rpartition(".")[2]
    ending = ending_of(setting)
    thing = links.things.get(row)
    return WhyPage(
        cell=typed,
        row=row,
        href=_href(links, sheet, row),
        cell_href=links.cell(sheet, thing.key if thing is not None else None, column.partition(".")[0]),
        word=(setting.removesuffix(f"_{ending}") if ending else setting).replace("_", " "),
        value="" if why is None or not why.value else f"{why.value} {why.unit}".rstrip(),
        stands="" if why is None else _STANDS[why.stands],
        decided=why is not None and why.stands not in ("typed", "cut"),
        limits=() if why is None else tuple(_limits(why, links, variables)),
        why="" if why is None else why.why,
        mend="" if why is None else why.mend,
        waiting=why is None and not stopped,
        stopped=stopped,
        done=done,
        of=of,
        stop=f"{path}/stop",
        again=f"{path}/again",
        links=links,
    )


def kept_why(job: Job, cell: str, sheet: str, row: str, column: str) -> Why | None:
    """The answer as it was kept beside the sheet; None where no reasons are kept for the cell."""
    choice, reasons = decision_at(job, sheet, row, column), reasons_at(job, sheet, row, column)
    if choice is None or not reasons:
        return None
    setting = column.rpartition(".")[2]
    titles = {one["key"]: one["title"] for one in read_rows("sources")}
    return Why(
        cell=cell,
        value=choice.value,
        unit=unit_word(ending_of(setting) or ""),
        stands="kept",
        kept=choice.value,
        decided_by=choice.decided_by,
        limits=tuple(
            WhyLimit(
                limit=one.limit,
                asks=one.asks,
                says=one.says,
                left_frac=None,
                is_least=True,
                when=one.when.text if one.when.terms else "",
                rests_on=one.rests_on,
                method=one.method,
                table=one.table,
                source=one.source,
                place="",
                title=titles.get(one.source.partition(",")[0].strip(), ""),
            )
            for one in reasons
        ),
    )


def _href(links: JobLinks, sheet: str, row: str) -> str:
    """The page of what the cell belongs to: of a need, the pins with it picked."""
    if sheet == "needs":
        return job_path(links.job, "pins", query={"need": row}) if links.has("pins") else ""
    return links.page("wire" if sheet == "wires" else "part", row)


def _limits(why: Why, links: JobLinks, variables: Sequence[Variable]) -> Iterator[LimitLine]:
    for one in why.limits:
        pieces = (piece.partition("=") for piece in one.when.split(","))
        pairs = [(name.strip(), value.strip()) for name, sign, value in pieces if sign]
        yield LimitLine(
            limit=one.limit,
            asks=f"{one.asks} {why.unit}".rstrip() if one.asks else "",
            says=one.says,
            left=_left(one.left_frac, one.is_least),
            ruled=one.limit == why.decided_by,
            when=state_words(dict(pairs), {}) if pairs and len(pairs) == one.when.count("=") else one.when,
            car=links.car(*state_in(pairs, variables)) if pairs else "",
            rests_on=one.rests_on,
            method=one.method,
            table=one.table,
            source=", ".join(piece for piece in (one.source, one.place, one.title) if piece),
        )


def _left(left_frac: float | None, is_least: bool) -> str:
    if left_frac is None:
        return ""
    percent = left_frac * _PERCENT
    if percent < 0.0:
        return f"broken by {for_print(-percent, side='up', digits=2)} %"
    return f"{for_print(percent, side='down', digits=2)} % {'over it' if is_least else 'of it left'}"
