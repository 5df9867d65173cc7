"""How sure is a quote, and what is not in it? Said plainly, one sentence each.

In: the job as it was counted, and the parts. Out: sentences with their counts; nothing is said that no row says.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from loomwright.handover.quote_records import QuotePart, WishCost, WorkLine
from loomwright.handover.quote_sheet import one_hours
from loomwright.job.job import Job
from loomwright.job.shop_terms import ShopTerms
from loomwright.quantities import for_print
from loomwright.tables.work_minutes import OPERATIONS

__all__ = ["left_out_of", "sure_of"]

_HOUR_MINUTES = 60.0
_HUNDRED = 100.0
_NAMED = "old_wire_named"


def sure_of(job: Job, parts: Sequence[QuotePart], terms: ShopTerms) -> tuple[str, ...]:
    """How sure the figures are.

    Args:
        job: as it was counted.
        terms: what the shop has set.
    """
    return tuple(one for one in (_range(), _minutes(parts), *_open(job, parts, terms)) if one)


def left_out_of(wishes: Iterable[WishCost], parts: Sequence[QuotePart]) -> tuple[str, ...]:
    """What is not in the quote.

    Args:
        wishes: with what each costs.
    """
    told = [f"{_sentence(wish.text or wish.id)} Not in the job." for wish in wishes if wish.included == "no"]
    told += [
        f"{_sentence(wish.text or wish.id)} The owner has not decided: not in the sum."
        for wish in wishes
        if wish.included == "asked"
    ]
    missing = [line for part in parts for line in part.no_price]
    if missing:
        told.append(
            f"What has to be bought and has no price in the stock sheet: {_count(len(missing), 'item')}, named."
        )
    told.append("Work on the engine, the gearbox, the body and paint, and the dyno's own fee: no sheet holds them.")
    told.append("What the survey brings to light: part two is looked at again after part one.")
    return tuple(told)


def _range() -> str:
    return (
        "The figure is how it usually goes; the range behind it lets each operation go well or badly for itself, "
        "not all of them together."
    )


def _minutes(parts: Sequence[QuotePart]) -> str:
    """How much of the hours rests on typical minutes."""
    lines = [line for part in parts for stage in part.stages for line in stage.lines]
    typical = _usual(line for line in lines if line.set_by == "typical")
    whole = _usual(lines)
    if not whole:
        return ""
    if typical == whole:
        return "All hours rest on typical minutes (common practice, no source): the shop has set none of its own."
    share = for_print(_HUNDRED * typical / whole, digits=2)
    return (
        f"{share} % of the hours rest on typical minutes (common practice, no source), "
        f"the rest on the shop's own or on what a wish names."
    )


def _open(job: Job, parts: Sequence[QuotePart], terms: ShopTerms) -> Iterable[str]:
    """What is not known yet and would move the figures."""
    if terms.rate_price is None:
        yield "No price of an hour is set: there are hours and no sum."
    unmeasured = sum(wire.length_mm is None for wire in job.wires if wire.fitted == "new")
    if unmeasured:
        yield f"{_count(unmeasured, 'new wire')} without a length: neither its metres nor its price are counted."
    unsized = sum(wire.size_mm2 is None for wire in job.wires if wire.fitted == "new")
    if unsized:
        yield f"{_count(unsized, 'new wire')} without a size: counted in metres, without a price."
    kept = sum(wire.fitted == "kept" for wire in job.wires)
    if kept and not job.old_wires:
        stays = "1 wire stays" if kept == 1 else f"{kept} wires stay"
        yield f"{stays} in the car and none is written down as found: each is counted as sound."
    if not job.old_wires:
        each = terms.minutes.get(_NAMED, OPERATIONS[_NAMED].minutes)
        yield (
            "No old wire is listed yet, so the hours of the survey stand for none: "
            f"each that is found and named adds about {one_hours(each.usual_minutes)}."
        )
    if not job.wires:
        yield "No wire is written down yet: only what every job has is counted."
    materials = [line for part in parts for line in part.materials]
    missing = sum(line.price is None for line in materials)
    if missing:
        yield f"{missing} of {_count(len(materials), 'item')} to buy have no price: the sum is without them."
    if terms.tax_frac is None:
        yield "No tax is set: none is added."


def _usual(lines: Iterable[WorkLine]) -> float:
    return sum(line.all.usual_minutes for line in lines) / _HOUR_MINUTES


def _sentence(words: str) -> str:
    told = words.strip()
    told = told[:1].upper() + told[1:]
    return told if told.endswith((".", "?", "!")) else f"{told}."


def _count(number: int, noun: str) -> str:
    return f"{number} {noun if number == 1 else noun + 's'}"
