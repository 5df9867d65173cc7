"""What does the page of the first start show: the stages, the one that is open in full, the tries so far?"""

from __future__ import annotations

from dataclasses import dataclass

from loomwright.job.job import Job
from loomwright.job.rows import Attempt
from loomwright.pages.addresses import JobLinks, job_path
from loomwright.refusals import Problem
from loomwright.startup.first_start import FirstStart, StartStage
from loomwright.startup.plain import limit_words

__all__ = ["StartPage", "start_page"]


@dataclass(frozen=True, slots=True, kw_only=True)
class StartPage:
    """The page. now: number of the first stage that is open and has something left; 0: none. [-]

    limits: item -> its limit in words.   tries: newest first.
    """

    made: FirstStart
    stages: tuple[StartStage, ...]
    now: int
    limits: dict[str, str]
    tries: tuple[Attempt, ...]
    problems: tuple[Problem, ...]
    save: str
    tried: str
    links: JobLinks


def start_page(job: Job, made: FirstStart, links: JobLinks, problems: tuple[Problem, ...]) -> StartPage:
    """The page.

    Args:
        job: with its attempts.
        made: the list.
        links: of the job.
        problems: why what was typed was not taken.
    """
    return StartPage(
        made=made,
        stages=made.stages,
        now=next((stage.number for stage in made.stages if stage.is_open and stage.left), 0),
        limits={
            item.name: limit_words(item.limit)
            for stage in made.stages
            for item in stage.items
            if item.limit is not None
        },
        tries=tuple(reversed(job.attempts)),
        problems=problems,
        save=job_path(links.job, "start"),
        tried=job_path(links.job, "start", "tried"),
        links=links,
    )
