"""Which pins are decided for cells that are blank, and does a kept one still stand?

A blank `needs.pin` is decided by allocation. Each decision has its reasons: what the pin does, and what every other
pin that could take the need would cost. All carry one digest of the rows that pins are given by: needs, pins, plugs,
places, runs, and the parts that needs and controllers are. A kept pin is not frozen by what is built: it is what the
next allocation moves last of all.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from loomwright.allocation.allocated import Allocation
from loomwright.allocation.why_pin import WhyPin
from loomwright.job.decided import adopted, digest_of, with_decisions, without_decisions
from loomwright.job.fixed_map import FixedMap
from loomwright.job.job import Job
from loomwright.job.rows import Decision, Reason

__all__ = [
    "PIN_CELL",
    "PIN_METHOD",
    "pin_decisions",
    "pin_digest",
    "stale_pins",
    "with_pins",
    "with_pins_typed",
    "with_wires",
]

PIN_CELL = ("needs", "pin")
"""The cell that is decided."""

PIN_METHOD = "allocation.allocated"
"""What it is worked out by."""
_SHEETS = ("needs", "controller_pins", "connectors", "places", "runs")


def pin_digest(job: Job) -> str:
    """What pins rest on, in short. What is decided does not count, nor why a need is there."""
    boxes = {pin.part for pin in job.controller_pins}
    parts = {need.part for need in job.needs} | boxes
    bare = replace(job, needs=tuple(replace(need, does="", written=FixedMap({})) for need in job.needs))
    return digest_of(bare, _SHEETS, {"parts": parts})


def pin_decisions(allocation: Allocation) -> tuple[tuple[Decision, ...], tuple[Reason, ...]]:
    """The pins of needs whose cell is blank, and why each is the one."""
    job = allocation.job
    digest = pin_digest(job)
    blank = {need.id for need in job.needs if not need.pin}
    given = [need for need in allocation.pins if need in blank]
    decisions = tuple(
        Decision(
            sheet=PIN_CELL[0],
            row=need,
            column=PIN_CELL[1],
            value=allocation.pins[need],
            decided_by=allocation.why[need].by,
            digest=digest,
        )
        for need in given
    )
    return decisions, tuple(reason for need in given for reason in _reasons(allocation.why[need]))


def stale_pins(job: Job) -> tuple[str, ...]:
    """Needs whose kept pin rests on rows that have changed, in the order kept."""
    kept = [one for one in job.decisions if (one.sheet, one.column) == PIN_CELL]
    blank = {need.id for need in job.needs if not need.pin}
    if not kept:
        return ()
    digest = pin_digest(job)
    return tuple(one.row for one in kept if one.row in blank and one.digest != digest)


def with_pins(allocation: Allocation) -> Job:
    """The job keeping its pins as decisions; those of needs that are gone, typed or left out are dropped."""
    job = allocation.job
    old = [(one.sheet, one.row, one.column) for one in job.decisions if (one.sheet, one.column) == PIN_CELL]
    return with_decisions(without_decisions(job, old), *pin_decisions(allocation))


def with_pins_typed(allocation: Allocation) -> Job:
    """The job with its pins written into the sheet needs, and the wires that are missing added, their far end blank.

    A wire's blank end beside a need follows the need's pin, so it need not be written.
    """
    job = with_pins(allocation)
    mine = [one for one in job.decisions if (one.sheet, one.column) == PIN_CELL]
    return with_wires(adopted(job, mine), allocation)


def with_wires(job: Job, allocation: Allocation) -> Job:
    """The job with the wires that allocation proposes."""
    names = {wire.id for wire in job.wires}
    return replace(job, wires=(*job.wires, *(wire for wire in allocation.wires if wire.id not in names)))


def _reasons(why: WhyPin) -> Iterator[Reason]:
    rests_on = (why.pin, *(pin for other in why.others for pin in other.pins))
    yield Reason(
        sheet=PIN_CELL[0],
        row=why.need,
        column=PIN_CELL[1],
        limit=why.by,
        asks=why.pin,
        says=why.says,
        rests_on=tuple(dict.fromkeys(rests_on)),
        method=PIN_METHOD,
    )
    for other in why.others:
        yield Reason(
            sheet=PIN_CELL[0],
            row=why.need,
            column=PIN_CELL[1],
            limit=(other.goal or "order") if other.is_possible else "taken",
            says=other.says,
            rests_on=other.pins,
            method=PIN_METHOD,
        )
