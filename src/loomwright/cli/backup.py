"""`loomwright backup` and `loomwright restore`: the whole shelf as one proved file, and back."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from datetime import UTC, datetime
from pathlib import Path

from loomwright.cli.printing import as_json, counted, show
from loomwright.cli.shelf_folder import add_shelf, folder_of
from loomwright.store.backup import Contents, back_up
from loomwright.store.beside import BesideFile, left_beside

__all__ = ["HELP", "add_arguments", "beside_said", "contents_plain", "run"]

HELP = "copy the shelf of jobs into one file, with photos, history and what lies beside it, and prove the copy"


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    parser.add_argument("file", metavar="FILE", nargs="?", default="", help="the file to make; named by day left out")
    parser.add_argument("--without-logs", action="store_true", help="leave the recorded drives out, which are large")
    add_shelf(parser)
    parser.add_argument("--json", action="store_true", help="the answer as JSON instead of sentences")


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code."""
    day = datetime.now(UTC).strftime("%Y-%m-%d_%H%M%S")
    file = Path(arguments.file or f"loomwright_{day}.backup")
    folder = folder_of(arguments)
    logs = not arguments.without_logs
    contents, left = back_up(folder, file, logs=logs), left_beside(folder, logs=logs)
    if arguments.json:
        as_json(
            {
                "written": str(file),
                "jobs": contents_plain(contents),
                "beside": [one.name for one in contents.beside],
                "not_in_it": list(left),
            }
        )
        return 0
    show(f"wrote {file}, read back and found the same:")
    for job in contents.jobs:
        show(f"  {job.name}: revision {job.revision}, {counted(job.photos, 'photo')}")
    for said in beside_said(contents.beside):
        show(f"  {said}")
    if left:
        show(f"Not in it: {', '.join(left)} in {folder}. Copy those as they are.")
    return 0


def beside_said(beside: tuple[BesideFile, ...]) -> tuple[str, ...]:
    """The files beside a shelf, one line for each thing that lies there: `controllers: 2 files, 1 kB`."""
    tops = {one.name.partition("/")[0]: 0 for one in beside}
    return tuple(
        f"{top}: {counted(len(files), 'file')}, {-(-sum(one.size for one in files) // 1000)} kB"
        for top in tops
        for files in [[one for one in beside if one.name.partition("/")[0] == top]]
    )


def contents_plain(contents: Contents) -> list[dict[str, object]]:
    """What a shelf holds, as plain data."""
    return [{"name": one.name, "revision": one.revision, "photos": one.photos} for one in contents.jobs]
