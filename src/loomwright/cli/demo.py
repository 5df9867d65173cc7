"""`loomwright demo`: the made-up van on a shelf of its own, in the browser, drawn with mistakes and then mended.

What somebody does to it there stays: a later start serves the same shelf and puts on it only what is missing.
"""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from pathlib import Path

from loomwright.cli.serve import add_serving, at_once, serve_shelf
from loomwright.cli.shelf_folder import clock, data_folder
from loomwright.examples.shelf import example_folder
from loomwright.sheets.csv_folder import open_folder
from loomwright.store.shelf import Shelf

__all__ = ["HELP", "add_arguments", "run"]

HELP = "the made-up van in the browser, on a shelf of its own, drawn with mistakes and mended"

_JOBS = ("van-as-drawn", "van")


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    parser.add_argument(
        "--shelf", default="", metavar="FOLDER", help="where the van is kept; a folder of its own beside your shelf"
    )
    add_serving(parser)


def run(arguments: Namespace) -> int:
    """Run it until it is stopped; gives the exit code."""
    with at_once():
        shelf = Shelf(Path(arguments.shelf) if arguments.shelf else data_folder().with_name("loomwright-demo"), clock)
        try:
            there = {line.name for line in shelf.jobs()}
            for name in _JOBS:
                if name not in there:
                    shelf.add(name, open_folder(example_folder(name)), who="loomwright", why="made up for looking at")
            says = "the made-up van, drawn with mistakes and mended"
            return serve_shelf(shelf, arguments, says=says)
        finally:
            shelf.close()
