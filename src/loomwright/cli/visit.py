"""`loomwright visit`: the car is back; today's readings beside those of the day it was well, and what a move says."""

from __future__ import annotations

import csv
import io
from argparse import ArgumentParser, Namespace
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

from loomwright.car import Car
from loomwright.cli.asking import add_job, dated, open_given
from loomwright.cli.locate import located_plain, show_causes
from loomwright.cli.printing import as_json, counted, show, show_hanging, told, write_file
from loomwright.cli.table_file import rows_of_file
from loomwright.cli.telling import telling
from loomwright.handover.drift import drift_of
from loomwright.handover.later_visit import ReadAgain, blank_visit, read_again, readings_of, sound_called
from loomwright.proving.locate import Located
from loomwright.refusals import OutOfReach

__all__ = ["HELP", "add_arguments", "run"]

HELP = "the car is back: today's readings beside the baseline, what has moved, what that is a sign of, and its causes"


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_job(parser)
    parser.add_argument("readings", nargs="?", default="", metavar="FILE.csv", help="the sheet of --blank, filled in")
    parser.add_argument("--blank", default="", metavar="FILE.csv", help="write the baseline as a sheet to fill in")
    parser.add_argument(
        "--date", default="", metavar="YYYY-MM-DD", help="the day of the readings; today where left out"
    )


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code: 1 where something is not as it was."""
    job = open_given(arguments.job).job
    if bool(arguments.blank) == bool(arguments.readings):
        raise OutOfReach("visit", arguments.readings, "either --blank FILE.csv, or that file filled in")
    if arguments.blank:
        puts = {test.id: test.put for test in Car(job).proof_plan().plan.tests} if job.proofs else {}
        return _blank(arguments, blank_visit(job.proofs, puts))
    again = read_again(job.proofs, _read(Path(arguments.readings)))
    off = [one for one in again if one.verdict in ("moved", "outside")]
    read = readings_of(again) if off else ()
    found = Car(job).located(read, telling("faults")) if read else None
    today = dated(arguments.date) or datetime.now(UTC).date().isoformat()
    if arguments.json:
        as_json(_plain(again, found, today))
    else:
        _show(again, found, today)
    return 1 if off else 0


def _blank(arguments: Namespace, rows: Sequence[Sequence[str]]) -> int:
    path, made = Path(arguments.blank), io.StringIO()
    if len(rows) == 1:
        raise OutOfReach("--blank", arguments.blank, "a job with a test that passed; they become the baseline")
    csv.writer(made, lineterminator="\n").writerows(rows)
    write_file(path, made.getvalue().encode())
    if arguments.json:
        as_json({"written": str(path), "tests": len(rows) - 1})
    else:
        show(f"wrote {path}: {counted(len(rows) - 1, 'test')}. Fill the column value in; blank where it was not read.")
    return 0


def _read(path: Path) -> list[tuple[str, str]]:
    rows = [
        (row["test"], row["value"]) for row in rows_of_file(path, "a CSV file of readings", ("test", "value")) if row
    ]
    if not all(test for test, _ in rows):
        raise told(
            f"{path}: a row without a test", "the headings test and value", "Write it with --blank, then fill it in"
        )
    read = [(test, value) for test, value in rows if value.strip()]
    if not read:
        raise told(f"{path}: no value", "what was read, in the column value", "Fill in at least one")
    return read


def _plain(again: Sequence[ReadAgain], found: Located | None, today: str) -> dict[str, object]:
    rows = []
    for one in again:
        drift = drift_of(one, today)
        rows.append(
            {
                "test": one.test,
                "then": one.then,
                "now": one.now,
                "unit": one.unit,
                "verdict": one.verdict,
                "by": "" if drift is None else drift.by,
                "sign": "" if drift is None else drift.sign,
                "pace": "" if drift is None else drift.pace,
            }
        )
    return {"readings": rows, "causes": None if found is None else located_plain(found, sound_called(again))}


def _show(again: Sequence[ReadAgain], found: Located | None, today: str) -> None:
    order = ("outside", "moved", "no baseline", "as then")
    for one in sorted(again, key=lambda one: order.index(one.verdict)):
        show_hanging(
            f"{one.verdict.upper():12}{one.test}: then {one.then or '-'}, now {one.now} {one.unit}".rstrip(), " " * 12
        )
        drift = drift_of(one, today)
        if drift is not None:
            show_hanging(f"{'':12}{drift.says}.", " " * 12)
    same = sum(one.verdict == "as then" for one in again)
    show(f"{counted(len(again), 'reading')}, {same} as then.")
    if found is None:
        return
    show("Causes of the volts that were read, the likeliest first, on the car as it was built:")
    show_causes(found, sound_called(again))
    for point in found.next[:1]:
        show_hanging(f"Read next: {point.says}.", " " * 11)
    show("A sign is common practice, no proof: a fault is proved by mending it and reading again.")
