"""How far do mends get, the first of every fault made in turn?

Faults in the order they are told; after a mend the findings are those of the mended job. A fault that no mend holds for
is passed over. Nothing is decided here that a person would not be shown: each step is one mend with what it changed.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

from loomwright.findings import Finding
from loomwright.job.job import Job
from loomwright.trials.edits import applied
from loomwright.trials.mend import Mend, Mends, key_of

__all__ = ["InTurn", "Step", "mended_in_turn"]

Tell = Callable[[int, int], None]


class MendsOf(Protocol):
    """Gives the mends of a finding of a job whose findings are known."""

    def __call__(self, job: Job, findings: tuple[Finding, ...], finding: Finding, tell: Tell | None) -> Mends:
        """The mends of one finding."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One finding and the mend that was made for it; None where none holds."""

    finding: Finding
    mend: Mend | None


@dataclass(frozen=True, slots=True, kw_only=True)
class InTurn:
    """What was done, the job after it, and what is found in it."""

    steps: tuple[Step, ...]
    job: Job
    left: tuple[Finding, ...]


def mended_in_turn(
    job: Job,
    findings: Sequence[Finding],
    mends_of: MendsOf,
    *,
    severities: Sequence[str] = ("fault",),
    tell: Tell | None = None,
) -> InTurn:
    """The first mend of every finding, one after another.

    Args:
        findings: of the job.
        mends_of: gives the mends of a finding; one is enough.
        severities: of the findings that are mended.
        tell: called with findings done and to do; may raise Stopped.
    """
    left = tuple(findings)
    steps: list[Step] = []
    seen: set[object] = set()
    while True:
        waiting = [one for one in left if one.severity in severities and key_of(one) not in seen]
        if not waiting:
            return InTurn(steps=tuple(steps), job=job, left=left)
        if tell is not None:
            tell(len(seen), len(seen) + len(waiting))
        first = waiting[0]
        seen.add(key_of(first))
        offered = mends_of(job, left, first, tell=None).offered
        steps.append(Step(finding=first, mend=offered[0] if offered else None))
        if offered:
            job, left = applied(job, offered[0].edits), offered[0].left
