"""Between which needs must be chosen, and which are only built together?

The column `option` of the sheet needs holds group and alternative, `idle/stepper`. A group of several alternatives is a
choice: exactly one is built. A group of one is no choice: its needs are built all, or none of them, because one without
the others is of no use: the leads of a stepper, the lines of a coded selector.
"""

from __future__ import annotations

from collections.abc import Iterable

from loomwright.job.rows import Need

__all__ = ["choice_groups", "group_of"]


def group_of(need: Need) -> str:
    """The group a need belongs to; empty where it stands by itself."""
    return need.option.partition("/")[0].strip()


def choice_groups(needs: Iterable[Need]) -> frozenset[str]:
    """The groups of which one alternative of several is built.

    Example:
        >>> options = ("idle/stepper", "idle/valve", "selector/coded")
        >>> sorted(choice_groups(Need(id=each, option=each) for each in options))
        ['idle']
    """
    found: dict[str, set[str]] = {}
    for need in needs:
        if group_of(need):
            found.setdefault(group_of(need), set()).add(need.option.partition("/")[2].strip())
    return frozenset(group for group, alternatives in found.items() if len(alternatives) > 1)
