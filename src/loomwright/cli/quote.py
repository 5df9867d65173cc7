"""`loomwright quote`: what the job costs its owner, in two parts and wish by wish, as sentences, JSON or a paper."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Mapping
from pathlib import Path

from loomwright.cli.asking import add_job, dated, open_car
from loomwright.cli.printing import as_json, counted, show, show_hanging, write_file
from loomwright.handover.quote_early import is_only_without_battery, quote_before_battery
from loomwright.handover.quote_lines import PartSheet, quote_sheet
from loomwright.handover.quote_records import MaterialLine, PartName, Priced, Quote, QuotePart, StageWork, WishCost
from loomwright.handover.quote_sheet import price_words
from loomwright.job.job import Job
from loomwright.refusals import BadDocument, OutOfReach
from loomwright.tables.work_minutes import Minutes
from loomwright.writers.quote_paper import quote_pdf

__all__ = ["HELP", "add_arguments", "quote_plain", "run"]

HELP = "what the job costs its owner: strip and survey first, the rest after it, each wish by itself"

_PARTS: Mapping[str, tuple[PartName, ...]] = {"": ("one", "two"), "one": ("one",), "two": ("two",)}


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_job(parser)
    parser.add_argument("--part", default="", metavar="one|two", help="strip and survey alone, or the rest alone")
    parser.add_argument("--out", metavar="FILE.pdf", help="write it as a paper for the owner")
    parser.add_argument("--date", default="", metavar="YYYY-MM-DD", help="printed on every page; none where left out")


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code."""
    if arguments.part not in _PARTS:
        raise OutOfReach("--part", arguments.part, "one, two, or left out for both")
    when = dated(arguments.date)
    path = Path(arguments.out) if arguments.out else None
    if path is not None and path.suffix.lower() != ".pdf":
        raise OutOfReach("--out", str(path), "a file name that ends with .pdf")
    quote = _quote(arguments.job)
    parts = _PARTS[arguments.part]
    if path is not None:
        write_file(path, quote_pdf(quote, parts, date=when))
    if arguments.json:
        as_json(quote_plain(quote, parts) | ({} if path is None else {"written": str(path)}))
        return 0
    _show(quote, parts)
    if path is not None:
        show(f"wrote {path}")
    return 0


def _quote(job: str) -> Quote:
    """The quote of a job; of one that has no battery yet too, since it is only counted.

    Raises:
        BadDocument: anything else is in the way.
        OutOfReach: there is no such job.
    """
    try:
        return open_car(job).quote
    except BadDocument as refused:
        if not isinstance(refused.as_written, Job) or not is_only_without_battery(refused.problems):
            raise
        return quote_before_battery(refused.as_written)


# ------------------------------------------------------------------------ as JSON


def quote_plain(quote: Quote, parts: tuple[PartName, ...] = ("one", "two")) -> dict[str, object]:
    """The quote as plain lists and words, in the shape that `--json` prints; hours in minutes."""
    return {
        "title": quote.title,
        "currency": quote.currency,
        "rate_price": quote.rate_price,
        "parts": {name: _plain_part(quote.part(name)) for name in parts},
        "wishes": {wish.id: _plain_wish(wish) for wish in quote.wishes},
        "changes": [
            {"revision": one.revision, "time": one.time, "who": one.who, "why": one.why, "price": one.price}
            for one in quote.changes
        ],
        "agreed_price": _round(quote.agreed_price),
        "sure": list(quote.sure),
        "left_out": list(quote.left_out),
    }


def _plain_part(part: QuotePart) -> dict[str, object]:
    return {
        "title": part.title,
        "minutes": _plain_minutes(part.all),
        "stages": {stage.stage: _plain_stage(stage) for stage in part.stages},
        "materials": [_plain_material(line) for line in part.materials],
        "work_price": _plain_price(part.work),
        "material_price": _round(part.material_price),
        "margin_price": _round(part.margin_price),
        "own_price": _round(part.own_price),
        "tax_price": _plain_price(part.tax),
        "sum_price": _plain_price(part.sum),
        "no_price": [line.item for line in part.no_price],
    }


def _plain_stage(stage: StageWork) -> dict[str, object]:
    return {
        "minutes": _plain_minutes(stage.all),
        "work": [
            {
                "operation": line.operation,
                "count": _round(line.count, 3),
                "per": line.per,
                "minutes_each": _plain_minutes(line.each),
                "minutes": _plain_minutes(line.all),
                "set_by": line.set_by,
            }
            for line in stage.lines
        ],
    }


def _plain_material(line: MaterialLine) -> dict[str, object]:
    return {
        "item": line.item,
        "count": _round(line.count, 3),
        "per": line.per,
        "each_price": _round(line.each_price, 4),
        "price": _round(line.price),
        "for": list(line.ids),
    }


def _plain_wish(wish: WishCost) -> dict[str, object]:
    return {
        "text": wish.text,
        "included": wish.included,
        "pins": wish.pins,
        "wires": wish.wires,
        "parts": wish.parts,
        "wire_m": _round(wish.wire_m, 3),
        "minutes": _plain_minutes(wish.minutes),
        "material_price": _round(wish.material_price),
        "price": _plain_price(wish.price),
        "no_price": wish.no_price,
    }


def _plain_minutes(minutes: Minutes) -> dict[str, float]:
    return {
        "least": round(minutes.least_minutes, 4),
        "usual": round(minutes.usual_minutes, 4),
        "most": round(minutes.most_minutes, 4),
    }


def _plain_price(price: Priced | None) -> dict[str, float] | None:
    if price is None:
        return None
    return {
        "least": round(price.least_price, 2),
        "usual": round(price.usual_price, 2),
        "most": round(price.most_price, 2),
    }


def _round(value: float | None, digits: int = 2) -> float | None:
    return None if value is None else round(value, digits) + 0.0


# ------------------------------------------------------------------------ as words


def _show(quote: Quote, parts: tuple[PartName, ...]) -> None:
    sheet = quote_sheet(quote)
    for part, printed in zip(quote.parts, sheet.parts, strict=True):
        if part.part in parts:
            _show_part(part, printed, quote.currency)
    whole = len(parts) == len(quote.parts)
    if sheet.both and whole:
        show(f"Both parts together: {sheet.both}")
        show()
    if sheet.wishes:
        show("Wishes")
        for wish in sheet.wishes:
            show_hanging(f"  {wish.id} ({wish.included}): {wish.text.rstrip('.')}. {wish.says}", "    ")
        show()
    if sheet.changes:
        with_them = f"; with them {sheet.total}" if sheet.total and whole else ""
        show(f"{counted(len(sheet.changes), 'change')} since, {sheet.agreed} agreed{with_them}.")
    for says in (*sheet.sure, *(f"Not in it: {one}" for one in sheet.left_out)):
        show_hanging(says, "    ")


def _of_no_old_wire(stage: StageWork) -> str:
    """Said beside the survey's hours while the job lists no old wire: they stand for none."""
    is_named = any(line.operation == "old_wire_named" for line in stage.lines)
    return ", no old wire listed yet" if stage.stage == "survey" and not is_named else ""


def _show_part(part: QuotePart, printed: PartSheet, currency: str) -> None:
    show(f"{printed.name}: {printed.title}")
    rows = [
        (one.stage, one.hours + _of_no_old_wire(each)) for one, each in zip(printed.stages, part.stages, strict=True)
    ]
    rows.append(("hours", printed.hours))
    rows += [(one.name, one.price) for one in printed.sums]
    if not printed.sums:
        rows += [("materials", price_words(part.material_price, currency))] if part.materials else []
        rows.append(("sum", "no price of an hour is set"))
    open_ = f", {printed.missing} of {printed.of} items without a price" if printed.missing else ""
    for name, words in rows:
        show(f"  {name.ljust(12)} {words}{open_ if name == 'materials' else ''}")
    show()
