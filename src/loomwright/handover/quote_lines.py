"""What does a quote say as it is printed: on the page, on paper, to the owner?

In: a `Quote`. Out: the same in words, each figure rounded once, here; what makes up a sum is rounded to come to
it as printed. Wires of one size stand in one line; what has no price is named, with its count. The same record is
placed by the page, by the paper and by the command, so that they agree.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import reduce

from loomwright.handover.quote_records import MaterialLine, PartName, Priced, Quote, QuotePart, WishCost, WorkLine
from loomwright.handover.quote_sheet import (
    adding_up,
    agreed_words,
    count_words,
    exact_price_words,
    hours_words,
    one_hours,
    price_words,
    printed_per_one,
    range_words,
    rounded,
    wish_words,
)
from loomwright.quantities.printing import for_print
from loomwright.tables.work_minutes import Minutes

__all__ = [
    "ChangeLine",
    "MaterialRow",
    "PartSheet",
    "QuoteSheet",
    "StageRow",
    "SumRow",
    "WishRow",
    "WorkRow",
    "quote_sheet",
]

_HUNDRED = 100.0
_WIRE = "wire, "
_STATUS = {"yes": "in the job", "no": "not in the job", "asked": "to be decided"}


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkRow:
    """One operation in words. typical: nobody here has timed it."""

    words: str
    count: str
    each: str
    hours: str
    typical: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class StageRow:
    """One stage. least_minutes, usual_minutes, most_minutes: of its work. [min]   hours: the same in words."""

    stage: str
    word: str
    hours: str
    least_minutes: float
    usual_minutes: float
    most_minutes: float
    lines: tuple[WorkRow, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialRow:
    """One line to buy. price: in words, `no price` where the stock sheet has none. missing: some of it has none.

    items: the words a row of the stock sheet would price it by; none for wire, whose price stands with its reel.
    """

    item: str
    count: str
    price: str
    missing: bool
    items: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SumRow:
    """One row of a sum. name: in one word.   total: it is the sum itself."""

    name: str
    word: str
    price: str
    total: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PartSheet:
    """One part. hours: of all stages.   missing: items without a price, of `of`. [-]"""

    part: PartName
    name: str
    title: str
    hours: str
    total: str
    stages: tuple[StageRow, ...]
    materials: tuple[MaterialRow, ...]
    sums: tuple[SumRow, ...]
    missing: int
    of: int


@dataclass(frozen=True, slots=True, kw_only=True)
class WishRow:
    """One wish. status: in words.   made: pins, wires, metres, hours it makes.   price: what it adds; empty: not known.

    hours: of its work.   missing: how much of it has no price.   nothing: no row of the sheets is there for it yet.
    """

    id: str
    text: str
    included: str
    status: str
    made: str
    hours: str
    price: str
    missing: str
    says: str
    nothing: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeLine:
    """One later change."""

    revision: str
    time: str
    who: str
    why: str
    price: str


@dataclass(frozen=True, slots=True, kw_only=True)
class QuoteSheet:
    """The quote in words. rate: of an hour.   both: sum of both parts.   total: with the changes agreed so far."""

    title: str
    owner: str
    plate: str
    rate: str
    parts: tuple[PartSheet, ...]
    both: str
    wishes: tuple[WishRow, ...]
    changes: tuple[ChangeLine, ...]
    agreed: str
    unpriced_changes: int
    total: str
    sure: tuple[str, ...]
    left_out: tuple[str, ...]


def quote_sheet(quote: Quote) -> QuoteSheet:
    """A quote as it is printed."""
    sums = [part.sum for part in quote.parts if part.sum is not None]
    currency = quote.currency
    counted = reduce(Priced.beside, sums) if sums else None
    per_one = 1 if counted is None else printed_per_one(counted.usual_price)
    whole = None if counted is None else rounded(counted, per_one=per_one)
    each = iter(() if whole is None else adding_up(sums, whole, per_one=per_one))
    return QuoteSheet(
        title=quote.title,
        owner=quote.owner,
        plate=quote.plate,
        rate="" if quote.rate_price is None else f"{price_words(quote.rate_price, currency)} an hour",
        parts=tuple(_part(part, None if part.sum is None else next(each), per_one, quote) for part in quote.parts),
        both="" if whole is None else range_words(whole, currency),
        wishes=tuple(_wish(wish, currency) for wish in quote.wishes),
        changes=tuple(
            ChangeLine(
                revision="" if one.revision is None else str(one.revision),
                time=one.time,
                who=one.who,
                why=one.why,
                price="" if one.price is None else agreed_words(one.price, currency),
            )
            for one in quote.changes
        ),
        agreed=agreed_words(quote.agreed_price, currency),
        unpriced_changes=sum(one.price is None for one in quote.changes),
        total="" if whole is None else range_words(whole.plus(quote.agreed_price), currency, agreed=True),
        sure=quote.sure,
        left_out=quote.left_out,
    )


def _part(part: QuotePart, whole: Priced | None, per_one: int, quote: Quote) -> PartSheet:
    """whole: its sum as printed."""
    currency = quote.currency
    return PartSheet(
        part=part.part,
        name=f"Part {part.part}",
        title=part.title,
        hours=hours_words(part.all),
        total="" if whole is None else range_words(whole, currency),
        stages=tuple(
            StageRow(
                stage=stage.stage,
                word=stage.stage[:1].upper() + stage.stage[1:],
                hours=hours_words(stage.all),
                least_minutes=stage.all.least_minutes,
                usual_minutes=stage.all.usual_minutes,
                most_minutes=stage.all.most_minutes,
                lines=tuple(_work(line) for line in stage.lines),
            )
            for stage in part.stages
        ),
        materials=tuple(_materials(part.materials, currency)),
        sums=() if whole is None else tuple(_sums(part, whole, per_one, quote)),
        missing=len(part.no_price),
        of=len(part.materials),
    )


def _work(line: WorkLine) -> WorkRow:
    figures = f"{for_print(line.count, digits=3)} m" if line.per == "m" else f"{line.count:g}"
    return WorkRow(
        words=line.words,
        count=figures,
        each=_each(line.each),
        hours=one_hours(line.all.usual_minutes),
        typical=line.set_by == "typical",
    )


def _each(minutes: Minutes) -> str:
    """Minutes of one as printed."""
    usual, least, most = (
        for_print(one) for one in (minutes.usual_minutes, minutes.least_minutes, minutes.most_minutes)
    )
    return f"{usual} min" if least == most else f"{usual} min ({least} to {most})"


def _sums(part: QuotePart, whole: Priced, per_one: int, quote: Quote) -> Iterable[SumRow]:
    lines = tuple(_summed(part, quote))
    prices = adding_up([price for *_, price in lines], whole, per_one=per_one)
    for (name, word, _), price in zip(lines, prices, strict=True):
        yield SumRow(name=name, word=word, price=range_words(price, quote.currency))
    yield SumRow(name="sum", word="Sum", price=range_words(whole, quote.currency), total=True)


def _summed(part: QuotePart, quote: Quote) -> Iterable[tuple[str, str, Priced]]:
    """What the sum of a part is made of, in words, as counted."""
    if part.work is not None:
        yield "work", f"Work, {hours_words(part.all)}", part.work
    if part.materials:
        known = len(part.materials) - len(part.no_price)
        words = "Materials" if not part.no_price else f"Materials, {known} of {len(part.materials)} items with a price"
        if part.material_factor != 1.0:
            words += f", at {for_print(part.material_factor)} times the prices of the stock"
        yield "materials", words, _one(part.material_price)
    if part.margin_price is not None and part.materials:
        share = for_print(_HUNDRED * (quote.margin_frac or 0.0))
        yield "margin", f"Margin on materials, {share} %", _one(part.margin_price)
    if part.own_price:
        yield "wishes", "What wishes name of their own", _one(part.own_price)
    if part.tax is not None:
        yield "tax", f"Tax, {for_print(_HUNDRED * (quote.tax_frac or 0.0))} %", part.tax


def _one(price: float) -> Priced:
    """A price that is one figure."""
    return Priced(least_price=price, usual_price=price, most_price=price)


def _materials(lines: Iterable[MaterialLine], currency: str) -> Iterable[MaterialRow]:
    """Wires of one size in one line, all else by itself."""
    groups: dict[str, list[MaterialLine]] = {}
    for line in lines:
        groups.setdefault(_group(line), []).append(line)
    for name, found in groups.items():
        open_ = [line for line in found if line.price is None]
        known = sum(line.price for line in found if line.price is not None)
        if len(found) == 1 or len(open_) == len(found):
            price = "no price" if open_ else exact_price_words(known, currency)
        else:
            price = exact_price_words(known, currency) + (f", {len(open_)} of {len(found)} without" if open_ else "")
        colours = f", {len(found)} colours" if len(found) > 1 else ""
        count = sum(line.count for line in found)
        metres = found[0].per == "m"
        yield MaterialRow(
            item=name + colours,
            count=f"{for_print(count, side='up')} m" if metres else f"{count:g}",
            price=price,
            missing=bool(open_),
            items=tuple(line.item for line in open_ if line.per == "piece"),
        )


def _group(line: MaterialLine) -> str:
    return ", ".join(line.item.split(", ")[:2]) if line.item.startswith(_WIRE) and line.per == "m" else line.item


def _wish(wish: WishCost, currency: str) -> WishRow:
    made = [
        count_words(number, noun)
        for number, noun in ((wish.pins, "pin"), (wish.wires, "wire"), (wish.parts, "part"))
        if number
    ]
    if wish.wire_m:
        made.append(f"{for_print(wish.wire_m)} m of wire")
    price = (
        "" if wish.price is None or not (wish.counted or wish.price.usual_price) else range_words(wish.price, currency)
    )
    return WishRow(
        id=wish.id,
        text=wish.text,
        included=wish.included,
        status=_STATUS[wish.included],
        made=", ".join(made),
        hours=hours_words(wish.minutes) if wish.minutes.usual_minutes else "",
        price=price,
        missing=f"{count_words(wish.no_price, 'thing')} without a price beside" if price and wish.no_price else "",
        says=wish_words(wish, currency),
        nothing=not wish.counted,
    )
