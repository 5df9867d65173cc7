"""`loomwright restore`: a backup becomes the shelf; what was there is moved aside, never written over."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from datetime import UTC, datetime
from pathlib import Path

from loomwright.cli.backup import beside_said, contents_plain
from loomwright.cli.printing import as_json, counted, show
from loomwright.cli.shelf_folder import add_shelf, folder_of
from loomwright.store.backup import restore

__all__ = ["HELP", "add_arguments", "run"]

HELP = "bring a backup back as the shelf, and what lay beside it; what is there is moved aside"


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
    shelved = folder / f"{aside}.beside"
    moved_beside = str(shelved) if shelved.exists() else ""
    if arguments.json:
        as_json(
            {
                "shelf": str(folder),
                "moved_aside": moved,
                "jobs": contents_plain(contents),
                "beside": [one.name for one in contents.beside],
                "moved_aside_beside": moved_beside,
            }
        )
        return 0
    show(f"the shelf in {folder} holds now:")
    for job in contents.jobs:
        show(f"  {job.name}: revision {job.revision}, {counted(job.photos, 'photo')}")
    for said in beside_said(contents.beside):
        show(f"  {said}")
    if moved:
        show(f"what was there is {moved}")
    if moved_beside:
        show(f"what lay beside it is in {moved_beside}")
    return 0
