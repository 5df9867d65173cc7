"""`loomwright backup` and `loomwright restore`: the whole shelf as one proved file, and back."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from datetime import UTC, datetime
from pathlib import Path

from loomwright.cli.printing import as_json, counted, show
from loomwright.cli.shelf_folder import add_shelf, folder_of
from loomwright.store.backup import Contents, back_up, left_beside

__all__ = ["HELP", "add_arguments", "contents_plain", "run"]

HELP = "copy the shelf of jobs into one file, with photos and history, and prove the copy"


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    parser.add_argument("file", metavar="FILE", nargs="?", default="", help="the file to make; named by day left out")
    add_shelf(parser)
    parser.add_argument("--json", action="store_true", help="the answer as JSON instead of sentences")


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code."""
    day = datetime.now(UTC).strftime("%Y-%m-%d_%H%M%S")
    file = Path(arguments.file or f"loomwright_{day}.backup")
    folder = folder_of(arguments)
    contents, beside = back_up(folder, file), left_beside(folder)
    if arguments.json:
        as_json({"written": str(file), "jobs": contents_plain(contents), "not_in_it": list(beside)})
        return 0
    show(f"wrote {file}, read back and found the same:")
    for job in contents.jobs:
        show(f"  {job.name}: revision {job.revision}, {counted(job.photos, 'photo')}")
    if beside:
        show(f"Not in it: {', '.join(beside)} in {folder}. Copy those as they are.")
    return 0


def contents_plain(contents: Contents) -> list[dict[str, object]]:
    """What a shelf holds, as plain data."""
    return [{"name": one.name, "revision": one.revision, "photos": one.photos} for one in contents.jobs]
