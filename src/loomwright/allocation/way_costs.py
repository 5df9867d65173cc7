"""What does a way out cost: pins, wires, parts, minutes, money?

Counted from what each change makes. Minutes are the usual ones of the table of work, the shop's own where the job has
them; a part's price is that of the stock row of its name. What has no price is named, never taken as nothing.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from loomwright.allocation.ground import Ground
from loomwright.allocation.way_edits import Change
from loomwright.allocation.way_records import WayCost
from loomwright.job.shop_terms import shop_terms_of
from loomwright.tables.rework import rework_typical_minutes
from loomwright.tables.stand_ins import STAND_INS
from loomwright.tables.work_minutes import OPERATIONS

__all__ = ["cost_of", "minutes_of"]

_MINUTES_PER_HOUR = 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Work:
    """What one change makes. steps: operation -> how often.   pins, wires: more than before. [-]"""

    steps: Mapping[str, int]
    pins: int = 0
    wires: int = 0
    parts: tuple[str, ...] = ()
    taken_out: int = 0


def cost_of(ground: Ground, changes: tuple[Change, ...]) -> WayCost:
    """What all changes of a way out take together."""
    works = [_work(ground, change) for change in changes]
    terms = shop_terms_of(ground.job)
    parts = tuple(sorted(part for work in works for part in work.parts))
    minutes = sum(_minutes(ground, work) for work in works)
    prices = {part: _price(ground, part) for part in parts}
    known = [prices[part] for part in parts if prices[part] is not None]
    labour = None if terms.rate_price is None else minutes / _MINUTES_PER_HOUR * terms.rate_price
    whole = [figure for figure in (labour, *known) if figure is not None]
    return WayCost(
        pins=sum(work.pins for work in works),
        wires=sum(work.wires for work in works),
        parts=parts,
        minutes=minutes,
        price=round(sum(whole), 2) if whole else None,
        currency=terms.currency,
        unpriced=tuple(sorted({part for part in parts if prices[part] is None})),
    )


def minutes_of(ground: Ground, change: Change) -> float:
    """What one change takes, parts turned into minutes where their prices and the shop's rate are known. [min]"""
    work = _work(ground, change)
    rate = shop_terms_of(ground.job).rate_price
    bought = sum(_price(ground, part) or 0.0 for part in work.parts)
    return _minutes(ground, work) + (bought / rate * _MINUTES_PER_HOUR if rate else 0.0)


def _work(ground: Ground, change: Change) -> _Work:
    if change.kind == "leave out":
        wires = {ground.needs[name].wire for name in change.needs} - {""}
        return _Work(steps={}, pins=-_pins_of(ground, change.needs), wires=-len(wires))
    if change.kind == "share":
        return _Work(steps={"splice_made": 1, "circuit_planned": 1}, pins=-1)
    if change.kind == "another pin":
        built = sum(_is_made_up(ground, name) for name in change.needs)
        return _Work(steps={"pin_given": len(change.needs), "end_seated": built}, taken_out=built)
    one = STAND_INS[change.stand_in]
    if one.how == "pull_up":
        steps = {**_wires(2), "splice_made": 2, "sensor_set": 1}
        return _Work(steps=steps, wires=2, parts=("resistor",) * one.resistors)
    if one.how == "relay":
        steps = {**_wires(3), "part_mounted": 1, "way_fitted": 1, "output_tried": 1, "circuit_planned": 1}
        return _Work(steps=steps, wires=3, parts=("relay",) * one.relays)
    return _Work(steps={"pin_given": 1, "output_tried": 1})


def _pins_of(ground: Ground, needs: tuple[str, ...]) -> int:
    """The pins that needs take, of an option those of its smallest alternative. [-]"""
    options: dict[str, Counter[str]] = {}
    for name in needs:
        group, _, alternative = ground.needs[name].row.option.partition("/")
        options.setdefault(group, Counter())[alternative if group else name] += 1
    return sum(sum(each.values()) if not group else min(each.values()) for group, each in options.items())


def _wires(count: int) -> dict[str, int]:
    return {"wire_cut": count, "end_crimped": 2 * count, "wire_proved": count}


def _is_made_up(ground: Ground, need: str) -> bool:
    return any(row.wire == ground.needs[need].wire for row in ground.job.progress)


def _minutes(ground: Ground, work: _Work) -> float:
    own = shop_terms_of(ground.job).minutes
    steps = Counter(work.steps)
    minutes = sum((own.get(step) or OPERATIONS[step].minutes).usual_minutes * often for step, often in steps.items())
    taken_out = own["extract"].usual_minutes if "extract" in own else rework_typical_minutes("extract")
    return minutes + taken_out * work.taken_out


def _price(ground: Ground, part: str) -> float | None:
    rows = [row for row in ground.job.stock if row.item.strip().lower() == part and row.price is not None]
    return min((row.price for row in rows if row.price is not None), default=None)
