"""`loomwright import`: a job read and checked from any container, and written into another one to work in."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from pathlib import Path

from loomwright.cli.asking import open_given
from loomwright.cli.export import add_over, show_left_out, write_out
from loomwright.cli.printing import as_json, counted, show

__all__ = ["HELP", "add_arguments", "run"]

HELP = "read and check a job (a folder of sheets, .xlsx, .loomjob, .json, an example), and write it as a job of yours"


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    parser.add_argument("job", metavar="FILE", help="what to read")
    parser.add_argument("into", metavar="JOB", help="a folder to make, or NAME.xlsx, NAME.loomjob, NAME.json")
    add_over(parser)
    parser.add_argument("--json", action="store_true", help="the answer as JSON instead of sentences")


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code."""
    opened = open_given(arguments.job)
    left_out = write_out(opened, Path(arguments.into), is_over=arguments.over)
    parts, wires = len(opened.job.parts), len(opened.job.wires)
    if arguments.json:
        as_json({"written": arguments.into, "parts": parts, "wires": wires, "left_out": left_out})
    else:
        show(f"{counted(parts, 'part')} and {counted(wires, 'wire')} written to {arguments.into}")
        show_left_out(left_out)
    return 0
