"""`loomwright new`: an empty job to fill in, as a workbook with a guide, or as a folder of sheets with headings."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from pathlib import Path

from loomwright.cli.printing import as_json, show
from loomwright.refusals import OutOfReach
from loomwright.sheets.empty_job import write_empty_folder, write_empty_workbook

__all__ = ["HELP", "add_arguments", "run"]

HELP = "make an empty job to fill in: a workbook (.xlsx) with a guide, notes and lists, or a folder of sheets"


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    parser.add_argument("job", metavar="JOB", help="NAME.xlsx, or a folder to make; nothing is ever written over")
    parser.add_argument("--json", action="store_true", help="the answer as JSON instead of sentences")


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code."""
    path = Path(arguments.job)
    ending = path.suffix.lower()
    if ending == ".xlsx":
        write_empty_workbook(path)
        how = "Open it in a spreadsheet; its first sheet says how to fill it in."
    elif ending == "" and arguments.job:
        write_empty_folder(path)
        how = "Each sheet has its headings; fill in vehicle.csv, parts.csv and wires.csv first."
    else:
        raise OutOfReach("JOB", arguments.job, "NAME.xlsx for a workbook, or a folder name without an ending")
    if arguments.json:
        as_json({"written": arguments.job})
    else:
        show(f"wrote {arguments.job}. {how}")
        show(f"Then: loomwright check {arguments.job}")
    return 0
