"""What does the page say of the day at the dyno: each criterion with its record, what is left, limits still typical?"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from loomwright.logs.dyno import Criterion, Readiness
from loomwright.logs.in_short import ready_in_short
from loomwright.logs.limits import Unproved
from loomwright.pages.addresses import job_path
from loomwright.refusals import Problem

__all__ = ["DynoPage", "dyno_page"]


@dataclass(frozen=True, slots=True, kw_only=True)
class DynoPage:
    """The page. reading: drives that are being read. [-]   certificate: its address; empty while anything is open.

    in_short: three sentences.   agree: where limits go.   problems: why what was typed was not taken.
    typed: what was typed then.
    """

    in_short: tuple[str, ...]
    save: str
    agree: str
    criteria: tuple[Criterion, ...]
    left: int
    reading: int
    drives: tuple[str, ...]
    limits: tuple[Unproved, ...]
    paper: str
    certificate: str
    says: str
    logs: str
    gates: str
    problems: tuple[Problem, ...] = ()
    typed: Mapping[str, str] = field(default_factory=dict)


def dyno_page(
    job: str,
    ready: Readiness,
    limits: Sequence[Unproved],
    *,
    drives: Sequence[str],
    reading: int,
    problems: Sequence[Problem] = (),
    typed: Mapping[str, str] | None = None,
) -> DynoPage:
    """The page.

    Args:
        limits: of the day, that nobody has given for this engine.
        drives: names of the recorded drives that count, the newest first.
        reading: how many are being read still. [-]
        problems: why what was typed was not taken.
        typed: what was typed then.
    """
    here = job_path(job, "dyno")
    return DynoPage(
        in_short=ready_in_short(ready, drives),
        save=here,
        agree=f"{here}/limits",
        problems=tuple(problems),
        typed=dict(typed or {}),
        criteria=ready.criteria,
        left=len(ready.left),
        reading=reading,
        drives=tuple(drives),
        limits=tuple(limits),
        paper=f"{here}/paper",
        certificate=f"{here}/certificate" if ready.is_ready and not reading else "",
        says=ready.certificate,
        logs=job_path(job, "logs"),
        gates=job_path(job, "sheet/gates"),
    )
