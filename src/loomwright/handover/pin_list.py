"""Which wire sits on each controller pin, what does it do there, and what may the pin carry?

In: the rows of `controller_pins`, `needs`, what is wired to them, the connectors' faces. Out: one line a pin,
controller by controller, in the order in which the pins are printed on its plugs: who pins a plug reads down it. A pin
with no wire is there as well and says so; whoever looks for a spare finds it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from loomwright.findings import id_order
from loomwright.handover.connector_faces import ConnectorFace
from loomwright.handover.pack_records import PinLine
from loomwright.handover.wire_ends import wire_ends
from loomwright.job.job import Job
from loomwright.job.rows import ControllerPin
from loomwright.quantities import for_print
from loomwright.tables.kinds import Kind, load_abilities

__all__ = ["PinLine", "pin_list"]


def pin_list(job: Job, kinds: Mapping[str, Kind], faces: Sequence[ConnectorFace]) -> tuple[PinLine, ...]:
    """The pins of the controllers that are fitted.

    Args:
        job: with what was decided filled in.
        faces: of its connectors.
    """
    ends = wire_ends(job, kinds)
    fitted = {part.id for part in job.parts if part.fitted != "removed"}
    cavity = {
        f"{face.part}.{one.terminal}": f"{face.id} {one.number}"
        for face in faces
        for one in face.cavities
        if one.terminal
    }
    rows = sorted(job.controller_pins, key=lambda row: (id_order(row.part), id_order(row.terminal)))
    return tuple(
        PinLine(
            controller=row.part,
            terminal=row.terminal,
            cavity=cavity.get(f"{row.part}.{row.terminal}", ""),
            can=", ".join(_title(word) for word in row.abilities),
            does=_does(job, row),
            wires=ends.get(f"{row.part}.{row.terminal}", ()),
            most="" if row.max_a is None else f"{for_print(row.max_a, side='down')} A",
            notes=row.notes,
        )
        for row in rows
        if row.part in fitted
    )


def _title(word: str) -> str:
    found = load_abilities().get(word)
    return found.title if found is not None and found.title else word.replace("_", " ")


def _does(job: Job, row: ControllerPin) -> str:
    points = (row.id, row.terminal, f"{row.part}.{row.terminal}")
    need = next((one for one in job.needs if one.pin and one.pin in points), None)
    return (need.does or need.id).replace("_", " ") if need is not None else ""
