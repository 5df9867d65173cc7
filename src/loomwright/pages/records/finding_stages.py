"""To which stage of the job does a finding belong? By the family of its rule; most are of the plan."""

from __future__ import annotations

from collections.abc import Mapping

__all__ = ["stage_of_rule"]

_STAGE: Mapping[str, str] = {"RTE": "loom", "HEA": "loom", "FIT": "loom"}


def stage_of_rule(rule: str) -> str:
    """The stage in which a rule's findings are mended.

    Example:
        >>> stage_of_rule("PRO-2"), stage_of_rule("RTE-1")
        ('plan', 'loom')
    """
    return _STAGE.get(rule.partition("-")[0], "plan")
