"""Is a column left unread because its heading is misspelt?

JOB-6: a heading that the sheet does not have and that differs by one letter from one it has, with something written
below it. Such a column is the job's own and is kept; no answer looks at it.
"""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.findings import Finding
from loomwright.job.schema import look_alike_columns, row_key, rows_of
from loomwright.states.asking.folding import Told
from loomwright.states.asking.scene import Scene
from loomwright.states.rules.bridges import first_four

__all__ = ["sheet_findings"]


def sheet_findings(scene: Scene) -> tuple[Told, ...]:
    """JOB-6, one a column."""
    return tuple(Told(finding, None, None) for finding in _misspelt(scene))


def _misspelt(scene: Scene) -> Iterator[Finding]:
    for sheet, heading, known in look_alike_columns(scene.job):
        written = [row for row in rows_of(scene.job, sheet) if row.extra.get(heading, "").strip()]
        names = tuple(dict.fromkeys(key[0] for row in written if (key := row_key(sheet, row)) and key[0]))
        if written:
            yield Finding(
                rule="JOB-6",
                severity="warning",
                at=first_four(names or (sheet,)),
                touches=names[4:],
                label=f"{heading} (column of the sheet {sheet})",
                wrong=f"nothing reads it; {known} is the column that is read",
                mend=f"Write {known} over it, or, where it is a column of your own, give it a name less like that one",
            )
