"""Which words may stand in a column whose list is kept with the tables?

The rules of the trade own these lists (`tables`); the sheets only use them, by the name a column gives.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

from loomwright.job.columns import Column
from loomwright.tables.kinds import load_abilities
from loomwright.tables.limits import CLASSES, FEEDS, ROLES

__all__ = ["Vocabulary", "allowed_words", "vocabulary"]

Vocabulary = Mapping[str, tuple[str, ...]]


@cache
def vocabulary() -> Vocabulary:
    """The lists of words by the name that columns know them by."""
    return {
        "classes": tuple(CLASSES),
        "roles": tuple(ROLES),
        "feeds": tuple(FEEDS),
        "abilities": tuple(load_abilities()),
    }


def allowed_words(column: Column) -> tuple[str, ...]:
    """The words that may stand in a column; none where any text may."""
    return vocabulary()[column.table] if column.table else column.allowed
