"""How do the hours spent stand against the hours quoted, stage by stage?

In: the sheet `hours` and a quote. Out: one line a stage with what was quoted (least, usual, most), what was spent and
by whom, and what is over. Over is what goes beyond the most that was quoted; between the usual and the most is said
too. Time without a stage, or of a stage the job does not have, stands in a line of its own and is never lost.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from loomwright.handover.quote_records import Quote, together
from loomwright.job.rows import HoursEntry
from loomwright.job.rows_survey import STAGES
from loomwright.tables.work_minutes import Minutes

__all__ = ["HoursAgainst", "SpentBy", "StageHours", "hours_against"]

Standing = Literal["none", "within", "beyond usual", "over"]
"""Nothing spent; at most the usual; beyond the usual but at most the most; beyond the most that was quoted."""

_STAGES = tuple(STAGES.split("|"))
_NONE = Minutes(least_minutes=0.0, usual_minutes=0.0, most_minutes=0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class SpentBy:
    """What one person spent. spent_minutes: in all. [min]"""

    who: str
    spent_minutes: float


@dataclass(frozen=True, slots=True, kw_only=True)
class StageHours:
    """One stage. quoted: its hours in the quote.   spent_minutes: in the sheet. [min]   by: who, the most first.

    stage: empty for time that names none.
    """

    stage: str
    quoted: Minutes
    spent_minutes: float
    by: tuple[SpentBy, ...]

    @property
    def over_minutes(self) -> float:
        """What was spent beyond the most that was quoted. [min]"""
        return max(self.spent_minutes - self.quoted.most_minutes, 0.0)

    @property
    def standing(self) -> Standing:
        """How it stands."""
        if not self.spent_minutes:
            return "none"
        if self.over_minutes:
            return "over"
        return "within" if self.spent_minutes <= self.quoted.usual_minutes else "beyond usual"


@dataclass(frozen=True, slots=True, kw_only=True)
class HoursAgainst:
    """Every stage that has hours quoted or spent, in order, and the same for the whole job. by: who, of all of it."""

    stages: tuple[StageHours, ...]
    whole: StageHours


def hours_against(rows: Iterable[HoursEntry], quote: Quote | None) -> HoursAgainst:
    """The hours spent against those quoted.

    Args:
        quote: None where there is none: nothing is quoted then, and nothing is over.
    """
    entries = tuple(rows)
    quoted = {} if quote is None else {stage.stage: stage.all for part in quote.parts for stage in part.stages}
    named = dict.fromkeys((*_STAGES, *(row.stage for row in entries)))
    lines = tuple(
        _line(stage, quoted.get(stage, _NONE), [row for row in entries if row.stage == stage]) for stage in named
    )
    return HoursAgainst(
        stages=tuple(line for line in lines if line.quoted.most_minutes or line.spent_minutes),
        whole=_line("", together(quoted.values()), entries),
    )


def _line(stage: str, quoted: Minutes, entries: Sequence[HoursEntry]) -> StageHours:
    by: dict[str, float] = {}
    for row in entries:
        by[row.who] = by.get(row.who, 0.0) + (row.minutes or 0.0)
    told = sorted(by.items(), key=lambda one: (-one[1], one[0]))
    return StageHours(
        stage=stage,
        quoted=quoted,
        spent_minutes=sum(by.values()),
        by=tuple(SpentBy(who=who, spent_minutes=minutes) for who, minutes in told if minutes),
    )
