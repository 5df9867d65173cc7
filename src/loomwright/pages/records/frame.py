"""What does the heading strip of every page of a job say?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from loomwright.pages.addresses import JobLinks, job_path
from loomwright.pages.checking import Standing
from loomwright.pages.records.page_words import PAGE_WORDS
from loomwright.pages.records.stage_counts import StageCount, stages_of
from loomwright.store.snapshot import Snapshot

__all__ = ["Frame", "PageWord", "StageWord", "frame_of"]

_GROUPS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("findings", ("findings",)),
    ("sheets", ("sheet/parts", "add", "pins", "ways", "decide")),
    ("car", ("car", "truth", "worst", "wrong", "gears", "logs", "dyno")),
    ("plan", ("car-plan", "sizes", "shorts", "placing", "beside")),
    ("fault", ("fault", "prove", "next")),
    ("as built", ("built", "next")),
    ("book", ("questions", "snags", "hours", "photos")),
    ("revisions", ("revisions",)),
    ("papers", ("pack", "drawings", "board", "handover", "codes")),
    ("", ("start", "timing", "numbers", "sensors")),
)
"""The words of the strip, each with the pages that stand beside one another under it; the first is where it leads.

Pages without a word are reached from their stage.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class StageWord:
    """One stage in the strip. left: what is left, in words.   standing: empty, open or done."""

    word: str
    left: str
    standing: str
    href: str
    is_here: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PageWord:
    """One page of the job, by its word."""

    word: str
    href: str
    is_here: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """The heading strip. job: its name.   revision: shown. [-]

    beside: pages that belong together with this one, over its heading; most pages have none.
    api: where data of the job is had.   sought: what stands in the search.   links: addresses of the job's things.
    checking: the check of the newest revision is not done yet.
    """

    job: str
    revision: int
    is_newest: bool
    href: str
    api: str
    sought: str
    stages: tuple[StageWord, ...]
    pages: tuple[PageWord, ...]
    beside: tuple[PageWord, ...]
    links: JobLinks
    checking: bool


def frame_of(
    snapshot: Snapshot, *, standing: Standing, links: JobLinks, path: str, sought: str, is_newest: bool
) -> Frame:
    """The heading strip of a page of a job.

    Args:
        standing: how far the check of the newest revision is.
        path: the page's own.
        sought: what is searched for.
        is_newest: no later revision is there.
    """
    href = job_path(snapshot.name)
    groups = [(word, _there(pages, href, path, links)) for word, pages in _GROUPS]
    here = next((pages for _, pages in groups if any(page.is_here for page in pages)), ())
    stages = stages_of(snapshot, standing if is_newest else None, links)
    now = _stage_here(stages, path)
    return Frame(
        job=snapshot.name,
        revision=snapshot.revision,
        is_newest=is_newest,
        href=href,
        api="/api" + href,
        sought=sought,
        stages=tuple(
            StageWord(word=one.word, left=one.left, standing=one.standing, href=one.href, is_here=one is now)
            for one in stages
        ),
        pages=tuple(
            PageWord(word=word, href=pages[0].href, is_here=any(page.is_here for page in pages))
            for word, pages in groups
            if word and pages
        ),
        beside=here if len(here) > 1 else (),
        links=links,
        checking=not standing.is_known and not standing.problems and not standing.stopped,
    )


def _there(pages: tuple[str, ...], href: str, path: str, links: JobLinks) -> tuple[PageWord, ...]:
    """The pages of a group that there are."""
    return tuple(
        PageWord(word=PAGE_WORDS[piece], href=f"{href}/{piece}", is_here=_is_at(path, href, piece))
        for piece in pages
        if links.has(piece) or links.has(*_as_pattern(piece))
    )


def _stage_here(stages: Sequence[StageCount], path: str) -> StageCount | None:
    """The stage a page belongs to: that which leads to it, else the first that has it among its pages."""
    homes = (one for one in stages if _is_under(path, one.href))
    holders = (one for one in stages if any(_is_under(path, there) for _, there in one.pages))
    return next(homes, next(holders, None))


def _is_under(path: str, href: str) -> bool:
    return path == href or path.startswith(f"{href}/")


def _is_at(path: str, href: str, piece: str) -> bool:
    there = f"{href}/{piece.partition('/')[0]}"
    return _is_under(path, there)


def _as_pattern(piece: str) -> tuple[str, ...]:
    first, _, rest = piece.partition("/")
    return (first, "{}") if rest else (first,)
