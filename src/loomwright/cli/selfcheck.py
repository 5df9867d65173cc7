"""`loomwright selfcheck`: is this installation whole, are the solving routines compiled, is the shelf sound?

Step by step: the tables and part kinds can be read, the solving routines are loaded (or compiled, once, and kept for
every later process), each example is solved, a page is set, the files of the pages are there, the shelf's file is
whole, its jobs and what lies beside it can be read and the disk has room. A step that fails says what it saw and what
would mend it, and the others are done all the same. With `--warm` only what compiles and one example.
"""

from __future__ import annotations

import platform
import shutil
import sqlite3
import time
from argparse import ArgumentParser, Namespace
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np

from loomwright.car import Car
from loomwright.cli.printing import as_json, counted, show
from loomwright.cli.shelf_folder import add_shelf, clock, folder_of
from loomwright.examples.shelf import example_folder, example_names
from loomwright.handover.paper import paper_of
from loomwright.network.alike import alike
from loomwright.network.elimination import eliminate
from loomwright.network.settle import settle_many
from loomwright.proving.bits_told import bits_told, told_bits
from loomwright.refusals import Refusal
from loomwright.sheets.csv_folder import open_folder
from loomwright.store.backup import file_faults
from loomwright.store.beside import files_beside
from loomwright.store.own_recipes import own_recipes
from loomwright.store.shelf import Shelf
from loomwright.store.shelf_file import FILE_NAME
from loomwright.tables.kinds import load_abilities, load_kinds
from loomwright.writers.paper import paper_pdf

__all__ = ["HELP", "add_arguments", "run"]

HELP = "see that this installation and its shelf are whole; --warm compiles the solving routines once"

_ROUTINES: Mapping[str, Any] = {
    "eliminate": eliminate,
    "alike": alike,
    "settle_many": settle_many,
    "told_bits": told_bits,
}
"""The compiled routines that are called from outside the compiled code."""
_ROOM_MB = 200
_MB = 1024 * 1024


@dataclass(frozen=True, slots=True, kw_only=True)
class _Step:
    """One thing that is looked at. look: says what it saw, or raises.   mend: what to do where it does."""

    name: str
    look: Callable[[], str]
    mend: str = "Install loomwright again from its locked list"


class _Wrong(Exception):
    """Something is not as it has to be."""


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    parser.add_argument(
        "--warm", action="store_true", help="compile and keep the solving routines, so that none waits later"
    )
    add_shelf(parser)
    parser.add_argument("--json", action="store_true", help="the answer as JSON instead of sentences")


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code: 1 where a step found something wrong."""
    told = []
    for step in _steps(arguments):
        begun = time.perf_counter()
        found, mend = _done(step)
        line = {"step": step.name, "found": found, "mend": mend, "time_s": round(time.perf_counter() - begun, 2)}
        told.append(line)
        if not arguments.json:
            show(f"{step.name:18} {line['time_s']:8.2f} s   {'WRONG: ' if mend else ''}{found}")
            if mend:
                show(f"{'':31}{mend}.")
    if arguments.json:
        as_json({"python": platform.python_version(), "steps": told})
    return int(any(line["mend"] for line in told))


def _done(step: _Step) -> tuple[str, str]:
    """What a step saw, and the mend where something is wrong."""
    try:
        return step.look(), ""
    except _Wrong as wrong:
        return str(wrong), step.mend
    except Refusal as refusal:
        return str(refusal), step.mend
    except Exception as fault:  # noqa: BLE001  # the other steps are done all the same
        return f"{type(fault).__name__}: {fault}", step.mend


def _steps(arguments: Namespace) -> Iterator[_Step]:
    names = example_names()
    yield _Step(name="part kinds", look=_kinds)
    yield _Step(name="solving routines", look=lambda: _warm(names[0]))
    if arguments.warm:
        return
    for name in names:
        yield _Step(name=f"example {name}", look=lambda name=name: _solved(name))  # type: ignore[misc]
    yield _Step(name="paper", look=lambda: _page(names[0]))
    yield _Step(name="files of the pages", look=_files)
    yield _Step(name="a shelf for a trial", look=_database)
    folder = folder_of(arguments)
    yield _Step(name="shelf", look=lambda: _shelf(folder), mend="Keep the file, and bring back the last backup")
    yield _Step(
        name="beside the shelf",
        look=lambda: _beside(folder),
        mend="Mend the file, or bring back the last backup: it holds these files too",
    )
    yield _Step(
        name="room on the disk", look=lambda: _room(folder), mend="Make room: edits are refused when it is full"
    )


def _kinds() -> str:
    return f"{counted(len(load_kinds()), 'kind')}, {len(load_abilities())} abilities"


def _warm(name: str) -> str:
    """Compile every routine in the form in which it is used, or load what was kept of it."""
    car = Car(open_folder(example_folder(name)))
    car.solve({})
    bits_told(np.array([[0.0, 12.0]]), 0.08, 0.03, np.array([0.5, 0.5]), np.array([0, 1]))
    found = []
    for word, routine in _ROUTINES.items():
        compiled = sum(routine.stats.cache_misses.values())
        found.append(f"{word} {'compiled and kept' if compiled else 'loaded'}")
    return ", ".join(found)


def _solved(name: str) -> str:
    car = Car(open_folder(example_folder(name)))
    return f"{counted(len(car.job.wires), 'wire')}, {len(car.solve({}).volts)} points solved"


def _page(name: str) -> str:
    car = Car(open_folder(example_folder(name)))
    paper = paper_of(car.job, car.kinds, car.compiled, (), states_searched=0)
    return f"{len(paper_pdf(paper))} bytes"


def _files() -> str:
    """Every template can be read, and the scripts, styles and letters they name are there."""
    from loomwright.pages.rendering import environment

    made = environment()
    names = made.list_templates(extensions=["html"])
    for name in names:
        made.get_template(name)
    static = Path(str(resources.files("loomwright.pages").joinpath("static")))
    files = [file for file in static.rglob("*") if file.is_file()]
    empty = sorted(file.name for file in files if not file.stat().st_size)
    if empty or not files:
        raise _Wrong(f"nothing in {', '.join(empty) or static}")
    return f"{counted(len(names), 'template')}, {counted(len(files), 'file')}"


def _database() -> str:
    """A shelf can be made, written, closed and read again."""
    job = open_folder(example_folder(example_names()[0]))
    with TemporaryDirectory() as place:
        shelf = Shelf(Path(place), clock)
        shelf.add("trial", job, who="selfcheck")
        shelf.close()
        again = Shelf(Path(place), clock)
        same = again.now("trial").job == job
        again.close()
    if not same:
        raise _Wrong("a job came back from a shelf as another one")
    return f"written and read back, SQLite {sqlite3.sqlite_version}"


def _shelf(folder: Path) -> str:
    """The file is whole, its shape is the one this version knows, every job can be read."""
    if not (folder / FILE_NAME).exists():
        return f"none in {folder} yet: it is made by the first `loomwright serve`"
    faults = file_faults(folder / FILE_NAME)
    if faults:
        raise _Wrong(f"{folder / FILE_NAME}: {'; '.join(faults)}")
    shelf = Shelf(folder, clock)
    try:
        jobs = shelf.jobs()
        unfit = [line.name for line in jobs if shelf.now(line.name).job is None]
    finally:
        shelf.close()
    open_ones = f"; rows do not fit yet in {', '.join(unfit)}" if unfit else ""
    return f"{counted(len(jobs), 'job')} in {folder}, file whole{open_ones}"


def _beside(folder: Path) -> str:
    """The shop's own recipes can be read, and so can every file that lies beside the shelf."""
    recipes = own_recipes(folder)
    files = files_beside(folder)
    size = 0
    for path in files:
        try:
            with path.open("rb") as file:
                file.read(1)
            size += path.stat().st_size
        except OSError as fault:
            raise _Wrong(f"{path}: {fault.strerror}") from fault
    return f"{counted(len(recipes), 'recipe')} of the shop's own, {counted(len(files), 'file')}, {-(-size // _MB)} MB"


def _room(folder: Path) -> str:
    there = next(one for one in (folder, *folder.absolute().parents) if one.exists())
    free_mb = shutil.disk_usage(there).free // _MB
    if free_mb < _ROOM_MB:
        raise _Wrong(f"{free_mb} MB left beside the shelf")
    return f"{free_mb} MB"
