"""Why has a need the pin it has, told as the way back of any other cell that is decided?

In: the job and its allocation. Out: a `Why` like that of a size: the rule that gave the pin, and under it every other
pin that could take the need, alike ones together, with what that would cost or why it cannot be. A need that is left
out has no pin: then the set of needs it does not fit with, and the cheapest way out.
"""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.allocation.allocated import Allocation
from loomwright.allocation.pin_decisions import PIN_CELL, PIN_METHOD, stale_pins
from loomwright.allocation.why_pin import OtherPin, WhyPin
from loomwright.job.decided import decision_at
from loomwright.job.job import Job
from loomwright.sizing.why import Why, WhyLimit, cell_named

__all__ = ["why_need"]

_MOST_PINS = 6


def why_need(job: Job, allocation: Allocation, cell: str) -> Why:
    """Why a need's pin is what it is.

    Args:
        allocation: of the same job.
        cell: `FAN1.pin`, the need and its column.
    Raises:
        OutOfReach: no such need.
    """
    _, need, _ = cell_named(job, cell)
    kept = decision_at(job, PIN_CELL[0], need, PIN_CELL[1])
    is_typed = any(row.id == need and row.pin for row in job.needs)
    pin = allocation.pins.get(need, "")
    told = allocation.why.get(need)
    return Why(
        cell=cell,
        value=pin,
        unit="",
        stands="typed" if is_typed else _stands(job, need, pin, "" if kept is None else kept.value),
        kept="" if kept is None or is_typed else kept.value,
        decided_by="" if told is None else told.by,
        limits=() if told is None else tuple(_limits(told)),
        why="" if told is not None else _why_none(allocation, need),
        mend="" if told is not None else _mend(allocation),
    )


def _stands(job: Job, need: str, pin: str, kept: str) -> str:
    if not kept:
        return "decided now"
    return "stale" if kept != pin or need in stale_pins(job) else "kept"


def _limits(told: WhyPin) -> Iterator[WhyLimit]:
    yield _limit(told.by, told.pin, told.says, (told.pin,))
    alike: dict[str, list[OtherPin]] = {}
    for other in told.others:
        alike.setdefault(other.says.removeprefix(other.pins[0]), []).append(other)
    for others in alike.values():
        pins = tuple(pin for other in others for pin in other.pins)
        more = f" and {len(pins) - _MOST_PINS} more" if len(pins) > _MOST_PINS else ""
        yield _limit(f"instead {' '.join(pins[:_MOST_PINS])}{more}", "", others[0].says, pins)


def _limit(limit: str, asks: str, says: str, rests_on: tuple[str, ...]) -> WhyLimit:
    return WhyLimit(
        limit=limit,
        asks=asks,
        says=says,
        left_frac=None,
        is_least=True,
        when="",
        rests_on=rests_on,
        method=PIN_METHOD,
        table="",
        source="",
        place="",
        title="",
    )


def _why_none(allocation: Allocation, need: str) -> str:
    """Why a need is left out, in words; that its part is removed where it was not asked at all."""
    own = [one.says for one in allocation.conflicts if need in (*one.needs, *one.likewise)]
    if own:
        return own[0].rstrip(".")
    is_asked = any(need in unit for unit in allocation.left_out)
    return f"{need} is left out" if is_asked else f"{need} is not asked: its part is removed"


def _mend(allocation: Allocation) -> str:
    if not allocation.ways_out:
        return "See loomwright allocate for what is in the way"
    return f"The cheapest way out: {allocation.ways_out[0].says}"
