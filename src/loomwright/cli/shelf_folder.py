"""Which folder is the shelf in? Named on the command line, by LOOMWRIGHT_SHELF, or the user's own data folder."""

from __future__ import annotations

import os
from argparse import ArgumentParser, Namespace
from datetime import UTC, datetime
from pathlib import Path

from loomwright.store.shelf import Shelf

__all__ = ["add_shelf", "clock", "data_folder", "folder_of", "open_shelf"]


def add_shelf(parser: ArgumentParser) -> None:
    """The shelf a command works on."""
    parser.add_argument(
        "--shelf", default="", metavar="FOLDER", help="where the jobs are kept; LOOMWRIGHT_SHELF or your data folder"
    )


def folder_of(arguments: Namespace) -> Path:
    """The folder of the shelf."""
    named = arguments.shelf or os.environ.get("LOOMWRIGHT_SHELF", "")
    return Path(named) if named else data_folder()


def data_folder() -> Path:
    """The user's own folder for the shelf."""
    data = os.environ.get("XDG_DATA_HOME", "") or Path.home() / ".local" / "share"
    return Path(data) / "loomwright"


def open_shelf(arguments: Namespace) -> Shelf:
    """The shelf, made where it is not there yet.

    Raises:
        BadDocument: it cannot be had there.
    """
    return Shelf(folder_of(arguments), clock)


def clock() -> str:
    """Now, as it is written beside what was done."""
    return datetime.now(UTC).isoformat(timespec="seconds")
