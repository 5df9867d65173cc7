"""Which rules are there, those of wires and their fuses among them?"""

from __future__ import annotations

from loomwright.sizing import protection
from loomwright.states.asking.family import Family
from loomwright.states.rulebook import FAMILIES

__all__ = ["EVERY_FAMILY"]

EVERY_FAMILY = (*FAMILIES, Family(name="protection", codes="PRO", sheet_findings=protection.sheet_findings))
"""Every family of rules that asks states or reads sheets; findings come in this order before they are sorted."""
