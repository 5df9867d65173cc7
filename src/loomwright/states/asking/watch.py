"""What is a rule's question, in a form that can be asked of every state?

A `Watch` looks at the answers of many states and says in which it is broken and by how much. *always*: broken where any
possible state breaks it. *ever*: broken where no possible state satisfies it. The search finds the states, `smallest`
the least conditions, `telling` makes the finding.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import NamedTuple

from loomwright.findings import Severity
from loomwright.network.records import Changes
from loomwright.states.asking.answers import Answers, type_bool, type_float
from loomwright.states.asking.cones import LooksAt

__all__ = ["Places", "Watch"]


class Places(NamedTuple):
    """Where a finding stands: where to put a hand first, what it touches, the way there."""

    at: tuple[str, ...]
    touches: tuple[str, ...]
    path: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Watch:
    """One question about one thing.

    broken: for a batch, where it is broken (for `ever`: where it is satisfied) and the figure found there.
    at, touches: ids or points; at[0] is where to put a hand.  label: its printed name and what it is.
    wrong: what is wrong, in words.  allowed, unit, source: the limit.  mend: what a person can do.
    trial: a change to the network that would cure it, used to see which other findings go with it.
    root: it may stand at the root of others; with root_from only where the figure is at least that.
    worst: pick the state with the largest figure (else the plainest).
    severity_of, wrong_of: severity and words where they hang on the figure.
    limit_of: the limit in each state, where a figure is held against one; it may change from state to state.
    may_break: False where less work than asking each state shows that none of them breaks it.
    looks_at: for `ever` all that the answer hangs on, key and engine apart: the states that decide it are enough then.
    places_of: at, touches and path where states must be solved to find them: most questions are never broken.
    """

    rule: str
    severity: Severity
    at: tuple[str, ...]
    label: str
    wrong: str
    mend: str
    broken: Callable[[Answers], tuple[type_bool, type_float]]
    quantifier: str = "always"
    touches: tuple[str, ...] = ()
    allowed: float | None = None
    unit: str = ""
    source: str = ""
    trial: Changes | None = None
    root: bool = False
    root_from: float | None = None
    worst: bool = False
    severity_of: Callable[[float], Severity] | None = None
    wrong_of: Callable[[float], str] | None = None
    path: tuple[str, ...] = ()
    path_of: Callable[[Answers, int], tuple[str, ...]] | None = None
    limit_of: Callable[[Answers], type_float] | None = None
    may_break: Callable[[Answers], bool] | None = None
    looks_at: LooksAt | None = None
    places_of: Callable[[], Places] | None = None

    def placed(self) -> Watch:
        """The same question with its places found."""
        if self.places_of is None:
            return self
        at, touches, path = self.places_of()
        return replace(self, at=at, touches=touches, path=path, places_of=None)
