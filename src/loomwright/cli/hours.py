"""`loomwright hours`: the hours spent against those quoted, stage by stage, and what is over."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace

from loomwright.cli.asking import add_job, open_car
from loomwright.cli.printing import as_json, show
from loomwright.handover.quote_hours import HoursAgainst, StageHours
from loomwright.quantities import for_print
from loomwright.tables.work_minutes import Minutes

__all__ = ["HELP", "add_arguments", "hours_plain", "run"]

HELP = "the hours spent against those quoted, stage by stage, and what is over"

_HOUR_MINUTES = 60.0
_DIGITS = 4


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_job(parser)


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code: 1 where a stage, or the whole, is over."""
    told = open_car(arguments.job).hours
    if arguments.json:
        as_json(hours_plain(told))
    else:
        _show(told)
    return 1 if any(line.standing == "over" for line in (*told.stages, told.whole)) else 0


def hours_plain(told: HoursAgainst) -> dict[str, object]:
    """The hours as plain lists and words, in the shape that `--json` prints."""
    return {"stages": [_plain(line) for line in told.stages], "whole": _plain(told.whole)}


def _plain(line: StageHours) -> dict[str, object]:
    return {
        "stage": line.stage,
        "quoted_minutes": _span(line.quoted),
        "spent_minutes": line.spent_minutes,
        "over_minutes": round(line.over_minutes, 6),
        "standing": line.standing,
        "by": {one.who: one.spent_minutes for one in line.by},
    }


def _span(minutes: Minutes) -> dict[str, float]:
    return {
        "least": round(minutes.least_minutes, 6),
        "usual": round(minutes.usual_minutes, 6),
        "most": round(minutes.most_minutes, 6),
    }


def _show(told: HoursAgainst) -> None:
    rows = [("stage", "quoted", "spent", ""), *(_row(line, line.stage or "no stage named") for line in told.stages)]
    rows.append(_row(told.whole, "the whole job"))
    widths = [max(len(cell) for cell in column) for column in zip(*rows, strict=True)]
    for row in rows:
        show("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip())


def _row(line: StageHours, name: str) -> tuple[str, str, str, str]:
    quoted = line.quoted
    span = (
        f"{_h(quoted.usual_minutes)} h ({_h(quoted.least_minutes)} to {_h(quoted.most_minutes)})"
        if quoted.most_minutes
        else "–"
    )
    said = {
        "over": f"over by {_h(line.over_minutes)} h",
        "beyond usual": "beyond the usual, within the most",
    }.get(line.standing, "")
    return name, span, f"{_h(line.spent_minutes)} h", said


def _h(minutes: float) -> str:
    return for_print(round(minutes / _HOUR_MINUTES, 1), digits=_DIGITS)
