"""What does the job look like once a need is put on a pin by hand, or let go?

The pin is typed into the need's row. A wire that was drawn to its old pin is led to the new one; a need that sits on
the new pin by hand changes places with it. Let go, the cell and the wire's end are blank, and are decided again.
"""

from __future__ import annotations

from dataclasses import replace

from loomwright.allocation.ground import Ground
from loomwright.allocation.way_edits import freed
from loomwright.job.decided import is_at_need
from loomwright.job.edits import find_row
from loomwright.job.job import Job

__all__ = ["pin_fixed", "pin_let_go"]


def pin_fixed(ground: Ground, need: str, pin: str) -> Job:
    """The job with a need on a pin; who is fixed there gets the need's old pin, where it had one.

    Args:
        pin: by its own name.
    Raises:
        OutOfReach: there is no such need.
    """
    job = ground.job
    find_row(job, "needs", need)
    asked = ground.needs.get(need)
    here = asked.fixed if asked is not None else None
    holder = next((name for name, each in ground.needs.items() if each.fixed == pin and name != need), "")
    job = _led(ground, job, need, here, pin)
    return _led(ground, job, holder, pin, here) if holder and here is not None else job


def pin_let_go(job: Job, need: str) -> Job:
    """The job in which a need's pin is decided again.

    Raises:
        OutOfReach: there is no such need.
    """
    find_row(job, "needs", need)
    return freed(job, (need,))


def _led(ground: Ground, job: Job, name: str, old: str | None, new: str) -> Job:
    """A need's pin typed, and the wires that were drawn from its point to the old pin led to the new one."""
    row = job.needs[find_row(job, "needs", name)]
    job = replace(job, needs=tuple(replace(each, pin=new) if each.id == name else each for each in job.needs))
    if old is None or old == new or name not in ground.needs:
        return job
    was, to = (f"{ground.pins[each].part}.{ground.pins[each].terminal}" for each in (old, new))
    wires = {wire.id: wire for wire in ground.job.wires}
    moved = {
        wire.id
        for wire in wires.values()
        for one, other in ((wire.from_, wire.to), (wire.to, wire.from_))
        if other == was and one and is_at_need(row, one)
    }
    return replace(
        job,
        wires=tuple(
            wire
            if wire.id not in moved
            else replace(
                wire,
                from_=to if wires[wire.id].from_ == was else wire.from_,
                to=to if wires[wire.id].to == was else wire.to,
            )
            for wire in job.wires
        ),
    )
