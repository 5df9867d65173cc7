"""What does the page of a job's stages say, and the page of what was found by a search?"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from loomwright.findings import Finding
from loomwright.handover.cautions import cautions_of
from loomwright.handover.records import Caution
from loomwright.job.points import kinds_of
from loomwright.job.vehicle import vehicle_of
from loomwright.pages.addresses import JobLinks
from loomwright.pages.checking import Standing
from loomwright.pages.records.finding_stages import stage_of_rule
from loomwright.pages.records.found_things import Group, found_in
from loomwright.pages.records.stage_counts import StageCount, plural, stages_of
from loomwright.store.snapshot import Snapshot
from loomwright.tables.kinds import load_kinds

__all__ = ["FoundPage", "NextStep", "StagesPage", "found_page", "stages_page"]

_MOST_NOTES = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class NextStep:
    """The next thing to do. stage: its word.   says: in words.   href: where."""

    stage: str
    says: str
    href: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StagesPage:
    """A job by its stages.

    facts: name and value, under the title.   worst: the gravest findings, for the margin.
    tied: stage -> their numbers. [-]   more: findings beside those. [-]
    cautions: those that can kill.   done, of: states of the check meanwhile. [-]
    ahead: other jobs that are checked before. [-]
    """

    title: str
    facts: tuple[tuple[str, str], ...]
    stages: tuple[StageCount, ...]
    next: NextStep | None
    worst: tuple[Finding, ...]
    tied: Mapping[str, tuple[int, ...]]
    more: int
    findings: str
    cautions: tuple[Caution, ...]
    is_checking: bool
    done: int
    of: int
    ahead: int
    links: JobLinks


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundPage:
    """What a search found. count: rows in all. [-]"""

    sought: str
    groups: tuple[Group, ...]
    count: int


def stages_page(snapshot: Snapshot, standing: Standing, links: JobLinks) -> StagesPage:
    """The page of a job's stages.

    Args:
        standing: how far its check is.
    """
    stages = stages_of(snapshot, standing, links)
    findings = standing.checked.findings if standing.checked is not None else ()
    worst = tuple(one for one in findings if one.severity != "note")[:_MOST_NOTES]
    job = snapshot.job
    vehicle = vehicle_of(job) if job is not None else None
    cautions = cautions_of(job, kinds_of(job, load_kinds())) if job is not None and job.parts else ()
    return StagesPage(
        title=_title(snapshot),
        facts=() if vehicle is None else _facts(snapshot, vehicle.system_v, vehicle.earth),
        stages=stages,
        next=_next(stages, links.findings()),
        worst=worst,
        tied=_tied(worst),
        more=len(findings) - len(worst),
        findings=links.findings(),
        # the first of them speaks of the paper it was written for
        cautions=tuple(replace(one, says=one.says.replace("This paper", "This page")) for one in cautions if one.kills),
        is_checking=job is not None and not standing.is_known and not standing.stopped,
        done=standing.done,
        of=standing.of,
        ahead=standing.ahead,
        links=links,
    )


def found_page(snapshot: Snapshot, sought: str, links: JobLinks) -> FoundPage:
    """The page of what a search found.

    Args:
        sought: what was typed.
    """
    groups = found_in(snapshot, sought, links)
    return FoundPage(sought=sought, groups=groups, count=sum(len(one.rows) + one.more for one in groups))


def _title(snapshot: Snapshot) -> str:
    named = {row.cells.get("name"): row.cells.get("value", "") for row in snapshot.rows.get("vehicle", ())}
    return named.get("title") or snapshot.name


def _facts(snapshot: Snapshot, system_v: float, earth: str) -> tuple[tuple[str, str], ...]:
    counted = (("parts", "part"), ("wires", "wire"), ("circuits", "circuit"))
    rows = (plural(len(snapshot.rows.get(sheet, ())), noun) for sheet, noun in counted)
    return (("system", f"{system_v:g} V, {earth} earth"), ("written down", ", ".join(rows)))


def _tied(worst: tuple[Finding, ...]) -> Mapping[str, tuple[int, ...]]:
    """In which stage each of the findings in the margin is mended."""
    found: dict[str, tuple[int, ...]] = {}
    for number, one in enumerate(worst, start=1):
        stage = stage_of_rule(one.rule)
        found[stage] = (*found.get(stage, ()), number)
    return found


def _next(stages: tuple[StageCount, ...], findings: str) -> NextStep | None:
    """The first thing left in the first stage that has something left; an empty job begins with its first stage."""
    for stage in stages:
        if stage.next is not None:
            says = plural(stage.next.left, stage.next.noun)
            return NextStep(stage=stage.word, says=says, href=stage.next.href or stage.href)
        if stage.standing == "open":
            return NextStep(stage=stage.word, says="The check tells what is left", href=findings)
    waiting = next((stage for stage in stages if stage.standing == "empty"), None)
    return None if waiting is None else NextStep(stage=waiting.word, says=waiting.teaches, href=waiting.begin)
