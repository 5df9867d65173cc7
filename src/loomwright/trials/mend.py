"""What is a mend before and after it was tried?"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from loomwright.findings import Finding, as_plain, says
from loomwright.quantities.printing import for_print
from loomwright.trials.cost import Bought
from loomwright.trials.edits import Edit, edits_plain

__all__ = ["Idea", "Mend", "Mends", "Turned", "cost_words", "every_finding", "key_of", "mends_plain"]


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
    bought: parts that it adds or exchanges, each with its price where the stock has one.
    left: findings after it, for whoever goes on from there.
    """

    says: str
    edits: tuple[Edit, ...]
    gone: tuple[Finding, ...]
    came: tuple[Finding, ...]
    wire_mm: float
    copper_g: float
    price: float | None
    bought: tuple[Bought, ...]
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


def cost_words(mend: Mend) -> tuple[str, ...]:
    """What a mend takes: a line for its wire, a line for each part; nothing where it takes neither."""
    lines = []
    if mend.wire_mm:
        price = "no price known" if mend.price is None else f"{mend.price:.2f} by the stock"
        length, copper = for_print(mend.wire_mm, side="up"), for_print(mend.copper_g, side="up")
        lines.append(f"{length} mm of wire, {copper} g of copper: {price}")
    for one in mend.bought:
        price = "no price known" if one.price is None else f"{one.price:.2f} by the stock"
        lines.append(f"{one.id}, {one.item}: {price}")
    return tuple(lines)


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
                "bought": [{"id": one.id, "item": one.item, "price": one.price} for one in mend.bought],
            }
            for mend in mends.offered
        ],
        "turned": [{"says": one.says, "why": one.why} for one in mends.turned],
    }
