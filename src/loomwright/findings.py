"""What the core reports about a job: findings, the one sentence each is told in, and their order.

A finding is a value in a result, never raised: a job with forty of them still draws. It says which rule was broken,
how grave that is, where to put a hand, in which states of the car, what was found against what is allowed, and a mend
that a person can do with tools in hand. Findings that vanish when another is mended are folded beneath that one.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Literal, get_args

from loomwright.quantities.printing import Side, for_print
from loomwright.refusals import OutOfReach

__all__ = ["Finding", "Severity", "as_plain", "id_order", "in_order", "says"]

Severity = Literal["fault", "warning", "note"]

_RANK: dict[str, int] = {word: place for place, word in enumerate(get_args(Severity))}
_HURTS = ("KEY-1",)
"""What stands before all else of its severity: a starter that turns in gear or by itself [-]."""
_RULE = re.compile(r"[A-Z]{3}-[A-Z0-9]+")
_MOST_PLACES = 4
_IDS_KEPT = 4096
"""So many ids are taken apart once; a large job has some hundreds [-]."""
_DIGITS = re.compile(r"([0-9]+)")


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing about the job that a person should know.

    rule: the rule's code, such as PRO-2.
    severity: fault, warning or note.
    at: at most four ids or points, the first being where to put a hand; empty only where the whole job is meant.
    when: the smallest set of conditions, as (variable, text of its condition) pairs; empty where it is always so.
    touches: other ids and points that belong to it.
    label: the printed name and what the thing is, such as `F3 (fuse)`; the first place where empty.
    wrong: what is wrong, in words, without the figures.
    found, allowed: the figures, in `unit`, where there are any.
    source: key of the source of the allowed figure.
    mend: what a person can do about it.
    folded: findings that vanish when this one is mended.
    path: the way the current takes, wire by wire.
    """

    rule: str
    severity: Severity
    at: tuple[str, ...] = ()
    when: tuple[tuple[str, str], ...] = ()
    touches: tuple[str, ...] = ()
    label: str = ""
    wrong: str
    found: float | None = None
    allowed: float | None = None
    unit: str = ""
    source: str = ""
    mend: str = ""
    folded: tuple[Finding, ...] = ()
    path: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        """Refuses a finding that could not be told or sorted; that would be a mistake of ours."""
        if _RULE.fullmatch(self.rule) is None:
            raise OutOfReach("rule", self.rule, "three capitals, a dash, and letters or figures, such as NET-1")
        if self.severity not in _RANK:
            raise OutOfReach("severity", self.severity, " ".join(_RANK))
        if len(self.at) > _MOST_PLACES:
            raise OutOfReach("at", self.at, f"at most {_MOST_PLACES} places; the others go into touches")
        for name, figure in (("found", self.found), ("allowed", self.allowed)):
            if figure is not None and not math.isfinite(figure):
                raise OutOfReach(name, figure, "a finite number, or None")


def says(finding: Finding) -> str:
    """The finding as one sentence: what, when, what is wrong, the figures, where the limit comes from, and the mend.

    Example:
        >>> says(Finding(rule="DRP-1", severity="warning", at=("W7",), when=(("key", "run"),), label="W7 (lamp feed)",
        ...              wrong="loses too much", found=1.2345, allowed=0.9, unit="V", mend="Use 2.5 mm²"))
        'W7 (lamp feed), key=run: loses too much (1.24 V, allowed 0.9 V). Use 2.5 mm².'
    """
    label = finding.label or (finding.at[0] if finding.at else "")
    head = ", ".join(part for part in (label, when_text(finding.when)) if part)
    figures = _figures(finding)
    source = f" [{finding.source}]" if finding.source else ""
    what = finding.wrong.rstrip(".") + (f" ({figures})" if figures else "") + source
    sentence = f"{head}: {what}." if head else f"{what}."
    mend = finding.mend.rstrip(".")
    return f"{sentence} {mend}." if mend else sentence


def when_text(when: Iterable[tuple[str, str]]) -> str:
    """The conditions as they may be typed back: `key=start, selector=P|N, coolant_c>=95`.

    Example:
        >>> when_text((("key", "start"), ("coolant_c", ">=95")))
        'key=start, coolant_c>=95'
    """
    return ", ".join(f"{name}{text if text[:1] in '<>!=' else '=' + text}" for name, text in when if text)


def as_plain(finding: Finding) -> dict[str, Any]:
    """The finding as plain lists and words, in the shape that `--json` prints."""
    return {
        "rule": finding.rule,
        "severity": finding.severity,
        "at": list(finding.at),
        "when": dict(finding.when),
        "touches": list(finding.touches),
        "says": says(finding),
        "mend": finding.mend,
        "found": finding.found,
        "allowed": finding.allowed,
        "unit": finding.unit,
        "source": finding.source,
        "path": list(finding.path),
        "folded": [as_plain(inner) for inner in finding.folded],
    }


def in_order(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """The findings as told: faults, warnings, notes; within each what hurts, then the open circuits, then by id."""
    return tuple(sorted(findings, key=_place))


@lru_cache(maxsize=_IDS_KEPT)
def id_order(name: str) -> tuple[tuple[int, int, str], ...]:
    """What to sort ids by, so that figures in them count as numbers: W2 stands before W10.

    Example:
        >>> sorted(["W10", "W2", "F1"], key=id_order)
        ['F1', 'W2', 'W10']
    """
    return tuple(
        (0, int(piece), piece) if piece.isdecimal() else (1, 0, piece) for piece in _DIGITS.split(name) if piece
    )


def _hurts(finding: Finding) -> bool:
    """True of a finding that can hurt by itself, or that one beneath it can."""
    return finding.rule in _HURTS or any(_hurts(inner) for inner in finding.folded if inner.severity == "fault")


def _place(finding: Finding) -> tuple[object, ...]:
    """Where a finding stands in the list; nothing but its own words decide, so every machine gives the same order."""
    return (
        _RANK[finding.severity],
        not _hurts(finding),
        not finding.rule.startswith("NET-"),
        tuple(id_order(place) for place in finding.at),
        id_order(finding.rule),
        finding.when,
        finding.wrong,
        tuple(id_order(place) for place in finding.touches),
    )


def _figures(finding: Finding) -> str:
    """Found against allowed; each rounded away from the other, so that print never makes a broken limit look kept."""
    found, allowed, unit = finding.found, finding.allowed, f" {finding.unit}" if finding.unit else ""
    sides: tuple[Side, Side] = ("near", "near")
    if found is not None and allowed is not None and found != allowed:
        sides = ("up", "down") if found > allowed else ("down", "up")
    pieces = []
    if found is not None:
        pieces.append(f"{for_print(found, side=sides[0])}{unit}")
    if allowed is not None:
        pieces.append(f"allowed {for_print(allowed, side=sides[1])}{unit}")
    return ", ".join(pieces)
