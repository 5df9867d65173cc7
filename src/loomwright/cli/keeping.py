"""Where does a job go that a command has changed? Back into the container it came from.

A folder, a workbook, an archive (with its photos and history) or a JSON document; an example ships with the program and
is not written to.
"""

from __future__ import annotations

from pathlib import Path

from loomwright.cli.printing import told
from loomwright.examples.shelf import example_names
from loomwright.job.job import Job
from loomwright.sheets.opening import open_with_kept, write_job

__all__ = ["container_of", "write_back"]


def container_of(name: str) -> Path:
    """The folder or file that a job named on the command line stands in.

    Raises:
        BadDocument: it is an example.
    """
    path = Path(name)
    if name in example_names() and not path.exists():
        copy = f"my_{name.replace('-', '_')}"
        raise told(
            f"{name} is an example, and examples are not written to",
            "a job of your own",
            f"Make one of it first: loomwright import {name} {copy}",
        )
    return path


def write_back(job: Job, path: Path) -> None:
    """Writes a changed job into the container it was read from; photos and history stay in it.

    Raises:
        BadDocument: it cannot be written there; nothing is changed.
    """
    write_job(job, path, open_with_kept(path).kept)
