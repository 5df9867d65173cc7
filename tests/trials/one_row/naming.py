"""Is a change named in the first three findings of a check?

Findings stand in the order `loomwright check` prints them; those folded beneath another are not among the three, and a
finding that the sound car has too (same rule and places) names nothing, though it takes a place. One of the three
counts where

    its places (`at`) have the changed wire or fuse, a fuse before it on its way, a part or terminal whose wires are
    changed, or a part that the change kills;
    or the way it prints (`path`) has the changed wire or fuse itself.

Of a part with many terminals (controller, selector, switch, busbar, connector) only the changed terminals count, and a
metal counts only where its bond is what is changed. `touches` does not count: whole circuits stand there. A job that is
refused when it is read counts where the refusal says the row or the point that is changed.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

from loomwright.findings import Finding
from tests.trials.one_row.changes import Change

__all__ = ["FIRST", "named_at", "names_of_change"]

FIRST = 3
_MANY = ("ECU", "SEL", "KEY", "BUS1", "BUS2", "BUS3", "LSW", "DIP", "HAZ", "TURN", "WSW")


def names_of_change(change: Change, fuses: Collection[str], killed: Collection[str]) -> frozenset[str]:
    """What a finding may name for a change.

    Args:
        fuses: before the changed wires, in the sound car or the changed one.
        killed: parts with a load that no longer works.
    """
    parts = {point.split(".")[0] for point in change.points if "." in point}
    killed_parts = {name for name in killed if name not in _MANY}
    return frozenset({*change.rows, *change.points, *fuses, *killed_parts, *(parts - set(_MANY))})


def named_at(
    findings: Sequence[Finding],
    sound: Collection[tuple[str, tuple[str, ...]]],
    names: Collection[str],
    rows: Collection[str],
) -> int:
    """Which of the first three names it, counted from 1; 0 where none does. [-]

    Args:
        sound: rule and places of what the sound car's check finds.
        names: what counts in `at`.
        rows: what counts on a way.
    """
    for place, finding in enumerate(findings[:FIRST], 1):
        if (finding.rule, finding.at) in sound:
            continue
        at = {*finding.at, *(point.split(".")[0] for point in finding.at if point.split(".")[0] not in _MANY)}
        if at & set(names) or set(finding.path) & set(rows):
            return place
    return 0
