"""`loomwright hours`: the hours spent against those quoted, stage by stage, and what is over."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from pathlib import Path

from loomwright.cli.asking import add_job, open_car
from loomwright.cli.printing import as_json, show, write_file
from loomwright.handover.quote_hours import HoursAgainst, StageHours
from loomwright.handover.quote_learnt import Learnt, learnt_csv, materials_says
from loomwright.handover.quote_sheet import hours_words, one_hours
from loomwright.tables.work_minutes import Minutes

__all__ = ["HELP", "add_arguments", "hours_plain", "learnt_plain", "run"]

HELP = "the hours spent against those quoted, stage by stage, and what is over"


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_job(parser)
    parser.add_argument("--next", action="store_true", help="once it is done: what it teaches the next quote")
    parser.add_argument("--out", default="", metavar="FILE.csv", help="write that as rows for the next sheet vehicle")


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code: 1 where a stage, or the whole, is over."""
    car = open_car(arguments.job)
    told, learnt = car.hours, car.learnt if arguments.next or arguments.out else None
    if arguments.out and learnt is not None:
        write_file(Path(arguments.out), learnt_csv(learnt).encode())
    if arguments.json:
        as_json(hours_plain(told) | ({} if learnt is None else {"next": learnt_plain(learnt)}))
    else:
        _show(told)
        if learnt is not None:
            _show_learnt(learnt)
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
    span = hours_words(line.quoted) if line.quoted.most_minutes else "–"
    said = {
        "over": f"over by {one_hours(line.over_minutes)}",
        "beyond usual": "beyond the usual, within the most",
    }.get(line.standing, "")
    return name, span, one_hours(line.spent_minutes), said


def learnt_plain(learnt: Learnt) -> dict[str, object]:
    """What is taught, as plain lists and words, in the shape that `--json` prints."""
    return {
        "minutes": [
            {
                "operation": one.operation,
                "stages": list(one.stages),
                "was_minutes": _span(one.was),
                "next_minutes": _span(one.now),
                "factor": round(one.factor, 4),
            }
            for one in learnt.minutes
        ],
        "materials": {
            "quoted_price": round(learnt.materials.quoted_price, 2),
            "spent_price": learnt.materials.spent_price,
            "factor": None if learnt.materials.factor is None else round(learnt.materials.factor, 4),
            "no_price": learnt.materials.no_price,
            "row": learnt.materials.row,
        },
    }


def _show_learnt(learnt: Learnt) -> None:
    show()
    moves = learnt.minutes or learnt.materials.row
    show("For the next quote, rows of its sheet vehicle:" if moves else "The next quote: nothing moves it.")
    for one in learnt.minutes:
        name, value = one.row
        show(f"  {name}  {value}   ({one.factor:.2f} times, from {', '.join(one.stages)})")
    show(materials_says(learnt.materials))
