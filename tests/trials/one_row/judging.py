"""One change judged: does it alter the table, and does the real check name it?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import loomwright
from loomwright.car import Car
from loomwright.findings import Finding, says
from loomwright.job.decided import adopted
from loomwright.job.job import Job
from loomwright.job.reading import job_from_text
from loomwright.job.writing import text_from_job
from loomwright.refusals import BadDocument
from loomwright.sheets.csv_folder import open_folder
from tests.trials.one_row.changes import Change, drawn
from tests.trials.one_row.halves import half_of
from tests.trials.one_row.naming import FIRST, named_at, names_of_change
from tests.trials.one_row.table import Difference, Table, differences, table_of

__all__ = ["SEED", "Sound", "Verdict", "changes_of", "judged", "sound_van", "verdict_of"]

SEED = 20260302
COUNT = 300


@dataclass(frozen=True, slots=True, kw_only=True)
class Sound:
    """The mended van: its sheets with what was decided typed in, its table, what its check finds."""

    sheets: dict[str, list[dict[str, str]]]
    table: Table
    told: frozenset[tuple[str, tuple[str, ...]]]
    faults: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """What came of a change. named: which of the first three says it, 0 none. faults: new ones, in words."""

    change: str
    kind: str
    alters: tuple[str, ...]
    named: int
    first: tuple[str, ...]
    faults: tuple[str, ...]

    @property
    def word(self) -> str:
        """named, missed, quiet (alters nothing, no fault) or loud (alters nothing, a fault)."""
        if self.alters:
            return "named" if self.named else "missed"
        return "loud" if self.faults else "quiet"


@cache
def sound_van(which: str = "whole") -> Sound:
    """The mended van or half of it, worked out once a process.

    Args:
        which: `whole`, or a half.
    """
    job = open_folder(Path(loomwright.__file__).parent / "examples" / "van" / "mended")
    sheets = text_from_job(adopted(job, job.decisions))
    if which != "whole":
        sheets = half_of(sheets, which)
    car = Car(job_from_text(sheets))
    findings = car.findings()
    return Sound(
        sheets=sheets,
        table=table_of(car),
        told=frozenset((finding.rule, finding.at) for finding in findings),
        faults=tuple(says(finding) for finding in findings if finding.severity == "fault"),
    )


@cache
def changes_of(which: str = "whole", count: int = COUNT, seed: int = SEED) -> tuple[Change, ...]:
    """The changes that are judged.

    Args:
        which: `whole`, or a half.
        count: how many. [-]
        seed: of the generator.
    """
    return drawn(sound_van(which).sheets, seed, count)


def judged(change: Change, sound: Sound) -> Verdict:
    """One change, its table and its check."""
    try:
        job: Job = job_from_text(change.sheets)
    except BadDocument as refused:
        words = tuple(str(problem) for problem in refused.problems)
        said = any(name in word for word in words[:FIRST] for name in (*change.rows, *change.points))
        return Verdict(
            change=change.says,
            kind=change.kind,
            alters=("refused",),
            named=int(said),
            first=words[:FIRST],
            faults=words,
        )
    car = Car(job)
    table = table_of(car, sound.table.states)
    return verdict_of(change, sound, differences(sound.table, table), table, car.findings())


def verdict_of(
    change: Change, sound: Sound, found: Sequence[Difference], table: Table, findings: Sequence[Finding]
) -> Verdict:
    """The verdict on a change, its table and its findings known."""
    fuses = {
        fuse for row in change.rows for side in (sound.table, table) for fuse in side.guarding.fuse_of.get(row, ())[:1]
    }
    names = names_of_change(change, fuses, {one.part for one in found if one.killed})
    new = [one for one in findings if one.severity == "fault" and (one.rule, one.at) not in sound.told]
    return Verdict(
        change=change.says,
        kind=change.kind,
        alters=tuple(f"{one.name} {one.what}" for one in found),
        named=named_at(findings, sound.told, names, change.rows),
        first=tuple(f"{one.severity} {one.rule} {' '.join(one.at)}" for one in findings[:FIRST]),
        faults=tuple(f"{one.rule} {' '.join(one.at)}" for one in new),
    )
