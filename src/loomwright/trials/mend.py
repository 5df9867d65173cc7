"""What is a mend before and after it was tried?"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from loomwright.findings import Finding, as_plain, says
from loomwright.trials.edits import Edit, edits_plain

__all__ = ["Idea", "Mend", "Mends", "Turned", "every_finding", "key_of", "mends_plain"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Idea:
    """Edits that may cure a finding. says: what a person does, in one sentence."""

    says: str
    edits: tuple[Edit, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Mend:
    """A mend that was tried and holds.

    gone: findings that are there no more, this one first.   came: those that were not there before.
    wire_mm: wire that is cut for it. [mm]   copper_g: its copper. [g]
    price: of that wire, as the stock has it; None where it has not. In the shop's currency.
    left: findings after it, for whoever goes on from there.
    """

    says: str
    edits: tuple[Edit, ...]
    gone: tuple[Finding, ...]
    came: tuple[Finding, ...]
    wire_mm: float
    copper_g: float
    price: float | None
    left: tuple[Finding, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Turned:
    """An idea that was not taken, and why."""

    says: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Mends:
    """What became of the mends of a finding. offered: those that hold, the best first.   turned: the others."""

    finding: Finding
    offered: tuple[Mend, ...]
    turned: tuple[Turned, ...]


def every_finding(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings and what is folded beneath them, in one row."""
    found: list[Finding] = []
    for finding in findings:
        found.append(finding)
        found.extend(every_finding(finding.folded))
    return tuple(found)


def key_of(finding: Finding) -> tuple[str, tuple[str, ...], str]:
    """What makes a finding the same one after an edit: its rule, its places and its words, not its figures."""
    return finding.rule, finding.at, finding.wrong


def mends_plain(mends: Mends) -> dict[str, Any]:
    """The mends of a finding as plain lists and words."""
    return {
        "finding": as_plain(mends.finding),
        "offered": [
            {
                "says": mend.says,
                "edits": edits_plain(mend.edits),
                "gone": [says(one) for one in mend.gone],
                "came": [says(one) for one in mend.came],
                "wire_mm": mend.wire_mm,
                "copper_g": mend.copper_g,
                "price": mend.price,
            }
            for mend in mends.offered
        ],
        "turned": [{"says": one.says, "why": one.why} for one in mends.turned],
    }
