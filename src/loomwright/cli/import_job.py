"""`loomwright import`: a file or folder read and checked as a job, and written as a folder of sheets."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from pathlib import Path

from loomwright.cli.asking import open_car
from loomwright.cli.export import new_folder
from loomwright.cli.printing import as_json, counted, show
from loomwright.sheets.csv_folder import write_folder

__all__ = ["HELP", "add_arguments", "run"]

HELP = "read and check a folder of sheets (or an example), and write it as a new folder of sheets"


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    parser.add_argument("job", metavar="FILE", help="what to read")
    parser.add_argument("into", metavar="JOB", help="the folder to make")
    parser.add_argument("--json", action="store_true", help="the answer as JSON instead of sentences")


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code."""
    job = open_car(arguments.job).job
    write_folder(job, new_folder(Path(arguments.into)))
    if arguments.json:
        as_json({"written": arguments.into, "parts": len(job.parts), "wires": len(job.wires)})
    else:
        show(f"{counted(len(job.parts), 'part')} and {counted(len(job.wires), 'wire')} written to {arguments.into}")
    return 0
