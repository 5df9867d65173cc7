"""What does the page of jobs side by side say: this job, others of the shelf, and what it was before?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from urllib.parse import urlencode

from loomwright.loom.weighing import Weighed
from loomwright.pages.addresses import JobLinks, job_path
from loomwright.pages.records.weighed_lines import HEADINGS, WeighedLine, runs_that_differ, weighed_line

__all__ = ["BesideChoice", "BesidePage", "beside_page", "beside_path"]


@dataclass(frozen=True, slots=True, kw_only=True)
class BesideChoice:
    """What may be held beside the job. name: of a job, or the number of a revision.   says: it in words."""

    name: str
    says: str
    is_picked: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class BesidePage:
    """The page. headings: of the table.   through: runs whose wires differ: run, its hole, a number for each job.

    waiting: it is being worked out; done, of: states. [-]
    """

    jobs: tuple[BesideChoice, ...]
    revisions: tuple[BesideChoice, ...]
    action: str
    asked: bool
    headings: tuple[str, ...]
    lines: tuple[WeighedLine, ...]
    through: tuple[tuple[str, str, tuple[str, ...]], ...]
    is_unpriced: bool
    waiting: bool
    stopped: bool
    refused: str
    done: int
    of: int
    stop: str
    again: str
    links: JobLinks


def beside_path(job: str, what: str, others: Sequence[str]) -> str:
    """An address of the page, or of one of its buttons, with what is asked.

    Example:
        >>> beside_path("van", "stop", ["tourer", "3"])
        '/j/van/beside/stop?other=tourer&other=3'
    """
    asked = urlencode([("other", one) for one in others])
    path = job_path(job, "beside", what) if what else job_path(job, "beside")
    return f"{path}?{asked}" if asked else path


def beside_page(
    weighed: Sequence[Weighed] | None,
    links: JobLinks,
    *,
    jobs: Sequence[tuple[str, str]],
    revisions: Sequence[tuple[str, str]],
    others: Sequence[str],
    stopped: bool = False,
    refused: str = "",
    done: int = 0,
    of: int = 0,
) -> BesidePage:
    """The page.

    Args:
        weighed: this job, then each of the others; None while it is worked out, or where nothing is asked.
        jobs, revisions: what may be picked, and it in words.
        others: what was asked for.
        stopped: a person stopped it.
        refused: why there is no answer; empty where it is not so.
        done: states looked at. [-]
        of: states to look at. [-]
    """
    rows = tuple(weighed or ())
    named = {name for name, _ in jobs}
    return BesidePage(
        jobs=tuple(BesideChoice(name=name, says=says, is_picked=name in others) for name, says in jobs),
        revisions=tuple(BesideChoice(name=name, says=says, is_picked=name in others) for name, says in revisions),
        action=job_path(links.job, "beside"),
        asked=bool(others),
        headings=HEADINGS,
        lines=tuple(weighed_line(one, rows, job_path(one.name, "car") if one.name in named else "") for one in rows),
        through=tuple(runs_that_differ(rows)),
        is_unpriced=any(one.unpriced for one in rows),
        waiting=bool(others) and weighed is None and not stopped and not refused,
        stopped=stopped,
        refused=refused,
        done=done,
        of=of,
        stop=beside_path(links.job, "stop", others),
        again=beside_path(links.job, "again", others),
        links=links,
    )
