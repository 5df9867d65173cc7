"""What is told of a job of the shelf, and of what became of edits; what a revision of records is decided to be."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Generic, TypeVar

from sqlalchemy import Connection

from loomwright.refusals import Problem
from loomwright.store.text_rows import Applied, Conflict

__all__ = ["Change", "Edited", "JobLine"]

Answer = TypeVar("Answer")


@dataclass(frozen=True, slots=True, kw_only=True)
class JobLine:
    """One job of the shelf. title: of the vehicle.   revision: the newest. [-]   time: of the last change."""

    name: str
    title: str
    revision: int
    time: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Edited:
    """What became of some edits.

    revision: the newest after them. [-]   conflicts, problems: why they were not taken.
    """

    revision: int
    conflicts: tuple[Conflict, ...] = ()
    problems: tuple[Problem, ...] = ()

    @property
    def is_taken(self) -> bool:
        """Whether they were; all of them or none are."""
        return not self.conflicts and not self.problems


@dataclass(frozen=True, slots=True, kw_only=True)
class Change(Generic[Answer]):
    """The next revision of a job as it is decided on the writer's thread.

    also: writes what belongs to it, given the newest revision after it, and gives what is answered.
    """

    applied: Applied
    why: str
    also: Callable[[Connection, int], Answer]
