"""What stands on the label at each end of each wire?

In: the job with what was decided filled in. Out: one `Label` an end, in the order in which the wires are cut
(`loom.cut_list`), since each goes on as its wire comes off the reel; cores of cables and what is not cut after them,
and wires too thick for the usual fold last. The start of a wire comes first. What is new or comes with a donor loom is
labelled; a wire that stays in the car keeps its tag. The id comes first, since it is what fits where the rest does not.

Source: common practice, no source: a label at both ends, put on before the terminal is.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from loomwright.findings import id_order
from loomwright.job.job import Job
from loomwright.loom.cut_list import cut_list
from loomwright.quantities import for_print
from loomwright.refusals import OutOfReach
from loomwright.tables.conductors import outside_mm

__all__ = ["FOLD_MM", "Label", "labels_of"]

FOLD_MM = 9.5
"""Between the faces of a flag: it goes round 2.5 mm², ours; `paper_labels.typ` has the same. [mm]"""

_LABELLED = ("new", "donor")


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """The label of one end. end: from or to. here, there: the points at this end and at the other; empty where open.

    size: as printed, empty where it is not decided.   round_mm: once round the wire; None where no row has its size.
    [mm]
    """

    wire: str
    end: str
    here: str
    there: str
    colour: str
    size: str
    circuit: str
    round_mm: float | None = None


def labels_of(job: Job) -> tuple[Label, ...]:
    """The labels of a job, two a wire."""
    rounds_mm = {wire.id: _round_mm(wire.size_mm2) for wire in job.wires}
    turns = {cut.wire: turn for turn, cut in enumerate(cut for reel in cut_list(job).reels for cut in reel.cuts)}
    wires = sorted(
        (wire for wire in job.wires if wire.fitted in _LABELLED),
        key=lambda wire: ((rounds_mm[wire.id] or 0.0) > FOLD_MM, turns.get(wire.id, len(turns)), id_order(wire.id)),
    )
    return tuple(
        Label(
            wire=wire.id,
            end=end,
            here=here,
            there=there,
            colour=wire.colour,
            size="" if wire.size_mm2 is None else f"{for_print(wire.size_mm2)} mm²",
            circuit=wire.circuit,
            round_mm=rounds_mm[wire.id],
        )
        for wire in wires
        for end, here, there in (("from", wire.from_, wire.to), ("to", wire.to, wire.from_))
    )


def _round_mm(size_mm2: float | None) -> float | None:
    """Once round the insulation of a wire. [mm]"""
    try:
        return None if size_mm2 is None else pi * outside_mm(size_mm2)
    except OutOfReach:
        return None
