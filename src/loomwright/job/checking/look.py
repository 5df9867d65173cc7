"""What the questions about a job look things up in, worked out once.

A `Look` holds the job, its ids by sheet, its terminals and row numbers. It is made for one reading and thrown away;
the only thing that changes in it is the memory of words already looked up, so that a bad sheet stays quick to tell
about.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from loomwright.job.job import Job
from loomwright.job.nearest import nearest
from loomwright.job.points import Kinds, Terminals, all_terminals
from loomwright.job.schema import SHEETS, row_key, rows_of
from loomwright.job.taking import FIRST_ROW
from loomwright.job.vehicle import metals_of
from loomwright.refusals import Problem

__all__ = ["Look", "look_at"]

_MOST_LOOKED_UP = 250
_MOST_TOLD = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """A job and what is asked of it again and again.

    kinds: the library's and the job's own.   terminals: part -> its terminals.   metals: ids of the metals.
    ids: sheet -> its ids, in order.   numbers: sheet -> number of each row in the spreadsheet. [-]
    unread: sheets whose ids are not all known.   half_made: a kind of the job's own could not be read.
    """

    job: Job
    kinds: Kinds
    terminals: Terminals
    metals: tuple[str, ...]
    ids: Mapping[str, Mapping[str, int]]
    numbers: Mapping[str, Sequence[int]]
    unread: frozenset[str]
    half_made: bool = False
    looked_up: dict[tuple[str, str], str] = field(default_factory=dict)

    def row(self, sheet: str, index: int) -> int:
        """The number of a row in the spreadsheet. [-]"""
        numbers = self.numbers.get(sheet, ())
        return numbers[index] if index < len(numbers) else FIRST_ROW + index

    def problem(self, sheet: str, index: int, column: str, *, found: str, allowed: str, mend: str) -> Problem:
        """A problem in a cell of a row, the row given by its index."""
        return Problem(sheet=sheet, row=self.row(sheet, index), column=column, found=found, allowed=allowed, mend=mend)

    def nearest(self, what: str, word: str, words: Iterable[str]) -> str:
        """The known word most like the one given; empty once very many words have been looked up.

        Args:
            what: a name for the list of words, so that a word is looked up in it only once.
        """
        key = (what, word)
        if key not in self.looked_up:
            if len(self.looked_up) >= _MOST_LOOKED_UP:
                return ""
            self.looked_up[key] = nearest(word, words)
        return self.looked_up[key]

    def unknown(
        self, sheet: str, index: int, column: str, *, word: str, words: Iterable[str], what: str, otherwise: str
    ) -> Problem:
        """A problem about a word nobody knows: what is known, and the one most likely meant, or what else to do."""
        known = list(words)
        meant = self.nearest(what, word, known)
        mend = f"Write {meant}, or {otherwise[0].lower()}{otherwise[1:]}" if meant else otherwise
        return self.problem(sheet, index, column, found=word, allowed=told(what, known), mend=mend)


def look_at(
    job: Job, kinds: Kinds, *, numbers: Mapping[str, Sequence[int]], unread: frozenset[str], half_made: bool
) -> Look:
    """The look of a job; `kinds` has its own kinds in it already."""
    ids: dict[str, dict[str, int]] = {}
    for sheet in SHEETS:
        keyed = ids.setdefault(sheet, {})
        for index, row in enumerate(rows_of(job, sheet)):
            key = row_key(sheet, row)
            if len(key) == 1 and key[0]:
                keyed.setdefault(key[0], index)
    return Look(
        job=job,
        kinds=kinds,
        terminals=all_terminals(replace(job, kinds=()), kinds),
        metals=metals_of(job),
        ids=ids,
        numbers=numbers,
        unread=unread,
        half_made=half_made,
    )


def told(what: str, words: Sequence[str]) -> str:
    """A list of words as it is told: all of a short one, the beginning of a long one."""
    if not words:
        return f"{what}; there are none yet"
    if len(words) > _MOST_TOLD:
        return f"{what}: {' '.join(words[:_MOST_TOLD])} and {len(words) - _MOST_TOLD} more"
    return f"{what}: {' '.join(words)}"
