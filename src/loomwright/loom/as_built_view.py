"""What did a job ask of each wire at one revision?

In: a job, as it stood. Out: its wires with what was decided for their blank cells, their labels, and which connector
holds each end. A length is what the sheet or the decision asks, never what was cut: the two are to be compared.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fnmatch import fnmatchcase

from loomwright.job.decided import with_decided
from loomwright.job.fixed_map import NOTHING
from loomwright.job.job import Job
from loomwright.job.points import split_point
from loomwright.job.rows import Connector, Wire
from loomwright.loom.labels import Label, labels_of

__all__ = ["View", "view_of"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class View:
    """A job as its loom asks. decided: wire -> columns whose cell is blank and decided.

    wires: by the id they have now, those removed left out.   labels: (wire, end) -> its label.
    holds: part -> its connectors.
    """

    wires: Mapping[str, Wire]
    decided: Mapping[str, Mapping[str, str]]
    labels: Mapping[tuple[str, str], Label]
    holds: Mapping[str, tuple[Connector, ...]]

    def connector_of(self, point: str, mates: str = "") -> Connector | None:
        """The connector that holds a point; None where none is listed.

        Args:
            mates: where two halves hold it, the one of this name is taken.
        """
        part, terminal = split_point(point)
        found = [one for one in self.holds.get(part, ()) if _holds(one, terminal)]
        return next((one for one in found if one.id == mates), found[0] if found else None)


def view_of(job: Job, names: Mapping[str, str] = NOTHING) -> View:
    """What a job asks of its wires.

    Args:
        job: as it stood.
        names: what a wire was called then -> what it is called now; they stand under the name they have now.
    """
    uncut = replace(job, wires=tuple(replace(wire, built_length_mm=None) for wire in job.wires))
    filled = with_decided(uncut)
    decided: dict[str, dict[str, str]] = {}
    typed = {wire.id: wire for wire in job.wires}
    for one in job.decisions:
        wire = typed.get(one.row) if one.sheet == "wires" else None
        if wire is not None and getattr(wire, one.column, "") is None:
            decided.setdefault(one.row, {})[one.column] = one.value
    holds: dict[str, list[Connector]] = {}
    for row in job.connectors:
        holds.setdefault(row.part, []).append(row)
    return View(
        wires={**_called(filled, {}), **{now: wire for now, wire in _called(filled, names).items() if wire.id != now}},
        decided=decided,
        labels={(label.wire, label.end): label for label in labels_of(filled)},
        holds={part: tuple(rows) for part, rows in holds.items()},
    )


def _called(job: Job, names: Mapping[str, str]) -> dict[str, Wire]:
    return {names.get(wire.id, wire.id): wire for wire in job.wires if wire.fitted != "removed"}


def _holds(connector: Connector, terminal: str) -> bool:
    return not connector.terminals or any(fnmatchcase(terminal, name) for name in connector.terminals)
