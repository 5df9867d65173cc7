"""`loomwright why`: why a size, a rating, a length or a pin is what it is, limit by limit, back to the source."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace

from loomwright.cli.asking import add_job, open_car
from loomwright.cli.printing import as_json, show, show_hanging
from loomwright.cli.telling import telling
from loomwright.quantities.printing import for_print
from loomwright.sizing.why import Why, WhyLimit

__all__ = ["HELP", "add_arguments", "run", "why_plain"]

HELP = "why a size, a rating, a length or a pin is what it is, back to the table and its source"
_PERCENT = 100.0
_GAP = " " * 4


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_job(parser)
    parser.add_argument("cell", metavar="CELL", help="W104.size_mm2, W104.length_mm, F3.rating_a or NEED.pin")


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code."""
    why = open_car(arguments.job).why(arguments.cell, telling("steps"))
    if arguments.json:
        as_json(why_plain(why))
    else:
        _show(why)
    return 1 if why.why else 0


def why_plain(why: Why) -> dict[str, object]:
    """The way back of a cell as plain lists and words."""
    return {
        "cell": why.cell,
        "value": _figure(why.value, why.unit),
        "unit": why.unit,
        "stands": why.stands,
        "kept": _figure(why.kept, why.unit),
        "decided_by": why.decided_by,
        "limits": [_plain_limit(one, why.unit) for one in why.limits],
        "why": why.why or None,
        "mend": why.mend or None,
    }


def _figure(text: str, unit: str) -> float | str | None:
    """A figure where the cell has a unit, the name of a pin where it has none."""
    return (float(text) if unit else text) if text else None


def _plain_limit(one: WhyLimit, unit: str) -> dict[str, object]:
    return {
        "limit": one.limit,
        "asks": _figure(one.asks, unit),
        "says": one.says,
        "left_frac": None if one.left_frac is None else round(one.left_frac, 4),
        "when": one.when,
        "rests_on": list(one.rests_on),
        "method": one.method,
        "table": one.table,
        "source": one.source,
        "place": one.place,
        "title": one.title,
    }


def _show(why: Why) -> None:
    show(f"{why.cell}: {_headline(why)}")
    if why.why:
        show_hanging(f"{why.why}. {why.mend}.", _GAP)
    for one in why.limits:
        _show_limit(one, ruled=one.limit == why.decided_by, unit=why.unit)


def _headline(why: Why) -> str:
    value = f"{why.value} {why.unit}".rstrip() if why.value else "nothing could be decided"
    kept = f"{why.kept} {why.unit}".rstrip()
    return {
        "typed": f"{value}, typed in the sheet. The limits of such a cell, and what is left to each:",
        "cut": f"{value}, cut already; it is not decided anew. Its limits, and what is left to each:",
        "kept": f"{value}, kept, and the same worked out now. It is ruled by {why.decided_by}.",
        "stale": f"{value} worked out now, ruled by {why.decided_by}; {kept} is kept and rests on rows "
        "that have changed. --keep keeps the new one.",
        "decided now": f"{value}, worked out now; the cell is blank. It is ruled by {why.decided_by}.",
    }[why.stands]


def _show_limit(one: WhyLimit, *, ruled: bool, unit: str) -> None:
    asks = f"asks for {one.asks} {unit}".rstrip() if one.asks else "asks for nothing" if unit else ""
    left = "" if one.left_frac is None else f", {_left(one)}"
    show(f"{'→' if ruled else ' '} {one.limit}{': ' if asks else ''}{asks}{left}")
    show_hanging(f"{_GAP}{one.says}.", _GAP)
    lines = (
        ("worst in", one.when),
        ("rests on", " ".join(one.rests_on)),
        ("worked out by", one.method),
        ("table", one.table),
        ("source", _source(one)),
    )
    for word, text in lines:
        if text:
            show_hanging(f"{_GAP}{word}: {text}", _GAP * 2)


def _left(one: WhyLimit) -> str:
    percent = (one.left_frac or 0.0) * _PERCENT
    if percent < 0.0:
        return f"broken by {for_print(-percent, side='up', digits=2)} %"
    return f"{for_print(percent, side='down', digits=2)} % {'over it' if one.is_least else 'of it left'}"


def _source(one: WhyLimit) -> str:
    if not one.source:
        return ""
    return ", ".join(piece for piece in (one.source, one.place, one.title) if piece)
