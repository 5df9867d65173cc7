"""`loomwright truth`: what chosen points do in every combination of chosen variables."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from pathlib import Path

from loomwright.cli.asking import add_changes, add_job, open_car, question_of
from loomwright.cli.printing import as_json, show, write_file
from loomwright.handover.truth_sheet import (
    cell_text,
    changed_by_history,
    note_words,
    truth_list,
    truth_plain,
    truth_says,
)
from loomwright.job.vehicle import vehicle_of
from loomwright.refusals import OutOfReach
from loomwright.sheets.list_workbook import pack_workbook
from loomwright.states.truth.table import TruthTable
from loomwright.states.truth.typed import truth_of

__all__ = ["HELP", "add_arguments", "run"]

HELP = "what chosen points, wires, relays do in every combination of chosen variables"
_MOST = 20_000
_ENDING = ".xlsx"


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_job(parser)
    parser.add_argument("--points", required=True, metavar="POINT,...", help="points, wires, parts: LA1.1,W5,K1,ECU")
    parser.add_argument(
        "--over",
        default="",
        metavar="VARIABLE,...",
        help='every value of each, or some: "key=off|run, SW1"; what decides the points where left out',
    )
    parser.add_argument(
        "--at", "--state", dest="state", default="", metavar="STATE", help='the others, "engine=idle"; else at rest'
    )
    parser.add_argument("--before", default="", metavar="STATE", help="the state that each row is come to from")
    parser.add_argument("--out", default="", metavar="FILE.xlsx", help="write it as a workbook, too")
    add_changes(parser)


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code."""
    if arguments.out and Path(arguments.out).suffix.lower() != _ENDING:
        raise OutOfReach("--out", arguments.out, "NAME.xlsx")
    car = open_car(arguments.job)
    asked = question_of(arguments, car)
    compiled = car.compiled_with(asked.changes, {**asked.state, **(asked.before or {})})
    table = truth_of(
        compiled,
        arguments.points,
        arguments.over,
        at=asked.state,
        before=asked.before,
        system_v=vehicle_of(car.job).system_v,
        most=_MOST,
    )
    if arguments.out:
        title = vehicle_of(car.job).title
        write_file(Path(arguments.out), pack_workbook([truth_list(table)], title=title))
    if arguments.json:
        as_json(truth_plain(table))
    else:
        _show(table)
        if arguments.out:
            show(f"wrote {arguments.out}")
    return 0


def _show(table: TruthTable) -> None:
    headings = [*table.variables, *(point.name for point in table.points)]
    lines = [[*row.values, *map(cell_text, row.cells)] for row in table.rows]
    widths = [max(len(line[k]) for line in [headings, *lines]) for k in range(len(headings))]
    for line, row in [(headings, None), *zip(lines, table.rows, strict=True)]:
        notes = [] if row is None else list(note_words(row))
        if row is not None and row.other is not None:
            came = ", ".join(f"{name} {value}" for name, value in row.other.before.items())
            changed = changed_by_history(table.points, row)
            notes.append(f"from {came}: {', '.join(changed)}")
        told = "  ".join(word.ljust(width) for word, width in zip(line, widths, strict=True))
        show(f"{told}  {'; '.join(notes)}".rstrip())
    for sentence in truth_says(table):
        show(sentence)
