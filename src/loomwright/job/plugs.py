"""Which terminals of its part does a connector hold?

Those that its row names, `A*` standing for all that begin so; where it names none, those that no other connector of the
part names.
"""

from __future__ import annotations

from collections.abc import Iterable
from fnmatch import fnmatchcase

from loomwright.findings import id_order
from loomwright.job.job import Job
from loomwright.job.rows import Connector

__all__ = ["held_terminals"]


def held_terminals(job: Job, row: Connector, there: Iterable[str]) -> list[str]:
    """The terminals a connector holds, in the order of its row.

    Args:
        row: of the sheet connectors.
        there: the terminals of its part.

    Example:
        >>> one = Connector(id="XA", part="ECU", terminals=("A*",))
        >>> job = Job(connectors=(one, Connector(id="XB", part="ECU")))
        >>> [held_terminals(job, row, ("A10", "A2", "B1")) for row in job.connectors]
        [['A2', 'A10'], ['B1']]
    """
    names = list(there)
    if not row.terminals:
        others = [word for one in job.connectors if one.part == row.part and one.id != row.id for word in one.terminals]
        return [name for name in names if not any(fnmatchcase(name, word) for word in others)]
    found: list[str] = []
    for word in row.terminals:
        found += sorted((name for name in names if fnmatchcase(name, word)), key=id_order) if "*" in word else [word]
    return list(dict.fromkeys(found))
