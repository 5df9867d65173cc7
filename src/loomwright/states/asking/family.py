"""What is a family of rules: what it asks of every state, and what it reads off the sheets alone?"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from loomwright.states.asking.folding import Told
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.watch import Watch

__all__ = ["Family"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Family:
    """Rules that are asked together. name: no other has it.   codes: what the code of each begins with.

    watches: its questions to every state; None where it has none.
    sheet_findings: what it finds without the search, off the sheets or in states of its own; None where nothing.
    """

    name: str
    codes: str
    watches: Callable[[Scene], Iterable[Watch]] | None = None
    sheet_findings: Callable[[Scene], Iterable[Told]] | None = None
