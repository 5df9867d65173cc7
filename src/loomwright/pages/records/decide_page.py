"""What does the page say on which everything blank is decided: cell by cell, before and now, and what stays blank?"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loomwright.job.blanks import ChangedDecision, blank_cells, changed_decisions
from loomwright.job.job import Job
from loomwright.pages.addresses import JobLinks, job_path
from loomwright.pages.deciding import Decided
from loomwright.quantities.printing import for_print
from loomwright.store.snapshot import Snapshot

__all__ = ["DecidePage", "DecidedGroup", "DecidedLine", "decide_page"]

_WORDS = {
    "pin": ("Pins", ""),
    "settings.rating_a": ("Fuse ratings", "A"),
    "size_mm2": ("Sizes", "mm²"),
    "length_mm": ("Lengths", "mm"),
}

_PIN_WORDS = {
    "only": "no other pin can do it",
    "order": "others would do as well: the first by name",
    "prefer": "the pin that was asked for",
    "wiring": "the shortest wiring",
    "spares": "leaves the more useful pins free",
    "moved": "its wire is made up there",
    "kept": "it was kept there",
    "rank": "what is wanted most has its pin",
    "options": "the best option is built",
    "built": "so that all has a pin",
    "fixed": "fixed by its row or its wire",
}
"""What ruled a pin -> how that is said."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DecidedLine:
    """One cell. what: what its row is.   before, now: printed, empty where nothing stands there.   by: what ruled."""

    row: str
    what: str
    before: str
    now: str
    by: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DecidedGroup:
    """The cells of one column."""

    word: str
    unit: str
    lines: tuple[DecidedLine, ...]

    @property
    def has_before(self) -> bool:
        """Something was decided for one of its cells before."""
        return any(line.before for line in self.lines)


@dataclass(frozen=True, slots=True, kw_only=True)
class DecidePage:
    """The page. open: cells blank now, which would be decided. [-]   left: (row, what is blank still)."""

    open: int
    waiting: bool
    stopped: bool
    done: int
    of: int
    groups: tuple[DecidedGroup, ...]
    left: tuple[tuple[str, str], ...]
    revision: int
    keep: str
    stop: str
    again: str
    links: JobLinks


def decide_page(
    snapshot: Snapshot, decided: Decided | None, links: JobLinks, *, stopped: bool, done: int, of: int
) -> DecidePage:
    """The page.

    Args:
        decided: None while it is worked out.
        done, of: steps done and to do. [-]
    """
    job = snapshot.job
    changed = () if decided is None or job is None else changed_decisions(job, decided.job)
    what = {} if job is None else _what(job)
    return DecidePage(
        open=0 if job is None else len(blank_cells(job)),
        waiting=decided is None and not stopped,
        stopped=stopped,
        done=done,
        of=of,
        groups=tuple(_group(column, changed, what) for column in _WORDS if any(c.column == column for c in changed)),
        left=() if decided is None else tuple((one.row, _word(one.column)) for one in decided.blank),
        revision=snapshot.revision,
        keep=job_path(links.job, "decide", "keep"),
        stop=job_path(links.job, "decide", "stop"),
        again=job_path(links.job, "decide", "again"),
        links=links,
    )


def _what(job: Job) -> dict[tuple[str, str], str]:
    """(sheet, row) -> what it is, in words: what a need does, a part's name, a wire's ends."""
    needs = {("needs", row.id): row.does for row in job.needs}
    parts = {("parts", row.id): row.name for row in job.parts}
    wires = {("wires", row.id): f"{row.from_ or 'its pin'} to {row.to or 'its pin'}" for row in job.wires}
    return needs | parts | wires


def _group(column: str, changed: tuple[ChangedDecision, ...], what: Mapping[tuple[str, str], str]) -> DecidedGroup:
    word, unit = _WORDS[column]
    mine = (one for one in changed if one.column == column)
    return DecidedGroup(
        word=word, unit=unit, lines=tuple(_line(one, what.get((one.sheet, one.row), "")) for one in mine)
    )


def _line(one: ChangedDecision, what: str) -> DecidedLine:
    return DecidedLine(
        row=one.row,
        what=what,
        before=_figure(one.before),
        now=_figure(one.now),
        by=_PIN_WORDS.get(one.decided_by, "") if one.column == "pin" else one.decided_by.replace("_", " "),
    )


def _word(column: str) -> str:
    return _WORDS.get(column, (column, ""))[0].lower().removesuffix("s")


def _figure(text: str) -> str:
    try:
        return for_print(float(text))
    except ValueError:
        return text
