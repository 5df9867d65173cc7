"""Does the car hold with a recipe's rows in it?

The findings of the car with the rows, everything blank decided, are held against those it had before: what is new is
told, and a new fault means that the rows are not taken in unless a person insists.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from loomwright.findings import Finding

__all__ = ["Accepting", "accepting"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Accepting:
    """What changed. new: findings that were not there, notes left out.   gone: those that no longer are."""

    new: tuple[Finding, ...]
    gone: tuple[Finding, ...]

    @property
    def holds(self) -> bool:
        """Whether no new fault came."""
        return all(finding.severity != "fault" for finding in self.new)


def accepting(before: Sequence[Finding], after: Sequence[Finding]) -> Accepting:
    """What findings came and went.

    Args:
        before, after: of the car without and with the rows.
    """
    had = {_key(finding) for finding in before}
    has = {_key(finding) for finding in after}
    return Accepting(
        new=tuple(one for one in after if one.severity != "note" and _key(one) not in had),
        gone=tuple(one for one in before if one.severity != "note" and _key(one) not in has),
    )


def _key(finding: Finding) -> tuple[object, ...]:
    return finding.rule, finding.at, finding.severity
