"""What stands on the label at each end of each wire?

In: the job with what was decided filled in. Out: one `Label` an end, in order of wire; the start of the wire first.
What is new or comes with a donor loom is labelled; a wire that stays in the car keeps its tag. The id comes first,
since it is what fits where the rest does not.

Source: common practice, no source: a label at both ends, put on before the terminal is.
"""

from __future__ import annotations

from dataclasses import dataclass

from loomwright.findings import id_order
from loomwright.job.job import Job
from loomwright.quantities import for_print

__all__ = ["Label", "labels_of"]

_LABELLED = ("new", "donor")


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """The label of one end. end: from or to. here, there: the points at this end and at the other; empty where open.

    size: as printed, empty where it is not decided.
    """

    wire: str
    end: str
    here: str
    there: str
    colour: str
    size: str
    circuit: str


def labels_of(job: Job) -> tuple[Label, ...]:
    """The labels of a job, two a wire."""
    wires = sorted((wire for wire in job.wires if wire.fitted in _LABELLED), key=lambda wire: id_order(wire.id))
    return tuple(
        Label(
            wire=wire.id,
            end=end,
            here=here,
            there=there,
            colour=wire.colour,
            size="" if wire.size_mm2 is None else f"{for_print(wire.size_mm2)} mm²",
            circuit=wire.circuit,
        )
        for wire in wires
        for end, here, there in (("from", wire.from_, wire.to), ("to", wire.to, wire.from_))
    )
