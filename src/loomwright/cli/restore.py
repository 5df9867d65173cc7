"""`loomwright restore`: a backup becomes the shelf; what was there is moved aside, never written over."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from datetime import UTC, datetime
from pathlib import Path

from loomwright.cli.backup import contents_plain
from loomwright.cli.printing import as_json, counted, show
from loomwright.cli.shelf_folder import add_shelf, folder_of
from loomwright.store.backup import restore

__all__ = ["HELP", "add_arguments", "run"]

HELP = "bring a backup back as the shelf; the one that is there is moved aside"


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    parser.add_argument("file", metavar="FILE", help="made with loomwright backup")
    add_shelf(parser)
    parser.add_argument("--json", action="store_true", help="the answer as JSON instead of sentences")


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code."""
    folder = folder_of(arguments)
    aside = datetime.now(UTC).strftime("shelf_before_%Y-%m-%d_%H%M%S.db")
    contents = restore(Path(arguments.file), folder, aside=aside)
    moved = str(folder / aside) if (folder / aside).exists() else ""
    if arguments.json:
        as_json({"shelf": str(folder), "moved_aside": moved, "jobs": contents_plain(contents)})
        return 0
    show(f"the shelf in {folder} holds now:")
    for job in contents.jobs:
        show(f"  {job.name}: revision {job.revision}, {counted(job.photos, 'photo')}")
    if moved:
        show(f"what was there is {moved}")
    return 0
