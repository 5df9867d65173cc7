"""`loomwright revisions`: what was changed in a job of the shelf, by whom, and what differs between two revisions."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from dataclasses import asdict

from loomwright.cli.printing import as_json, counted, show, show_hanging
from loomwright.cli.shelf_folder import add_shelf, open_shelf
from loomwright.refusals import OutOfReach
from loomwright.store.history import Difference, Revision
from loomwright.store.shelf import Shelf

__all__ = ["HELP", "add_arguments", "run"]

HELP = "what was changed in a job of the shelf, by whom and why; with --between, what differs between two revisions"

_MOST = 100


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    parser.add_argument("job", metavar="JOB", help="the job's name on the shelf")
    add_shelf(parser)
    parser.add_argument(
        "--between", nargs="+", default=[], metavar="REVISION", help="one or two revisions: 12, or 12 15; alone: to now"
    )
    parser.add_argument("--most", default=str(_MOST), metavar="COUNT", help=f"how many to tell ({_MOST})")
    parser.add_argument("--json", action="store_true", help="the answer as JSON instead of sentences")


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code."""
    shelf = open_shelf(arguments)
    try:
        return _between(shelf, arguments) if arguments.between else _all(shelf, arguments)
    finally:
        shelf.close()


def _all(shelf: Shelf, arguments: Namespace) -> int:
    found = shelf.revisions(arguments.job, newest=_number("--most", arguments.most))
    if arguments.json:
        as_json([asdict(one) for one in found])
        return 0
    for one in found:
        show_hanging(_line(one), "      ")
    return 0


def _between(shelf: Shelf, arguments: Namespace) -> int:
    numbers = [_number("--between", text) for text in arguments.between]
    if len(numbers) not in (1, 2):
        raise OutOfReach("--between", " ".join(arguments.between), "one revision, or two")
    newest = shelf.now(arguments.job).revision
    older, newer = sorted((numbers[0], numbers[1] if len(numbers) > 1 else newest))
    found = shelf.differences(arguments.job, older, newer)
    if arguments.json:
        as_json({"older": older, "newer": newer, "differences": [asdict(one) for one in found]})
        return 0
    for one in found:
        show_hanging(_difference(one), "    ")
    show(f"{counted(len(found), 'difference')} between revision {older} and revision {newer}")
    return 0


def _line(one: Revision) -> str:
    turned = f" (turns revision {one.turns} round)" if one.turns is not None else ""
    return f"{one.number:>5} {one.time} {one.who}: {one.why or one.kind}{turned}"


def _difference(one: Difference) -> str:
    if one.op == "set":
        return f"{one.sheet} {one.row}, {one.column}: {one.older or 'blank'} -> {one.newer or 'blank'}"
    return f"{one.sheet} {one.row}: row {'added' if one.op == 'add' else 'taken out'}: {one.newer or one.older}"


def _number(option: str, text: str) -> int:
    if not (text.isascii() and text.isdecimal() and int(text) > 0):
        raise OutOfReach(option, text, "a whole number from 1")
    return int(text)
