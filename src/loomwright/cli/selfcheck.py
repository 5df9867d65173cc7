"""`loomwright selfcheck`: is this installation whole, and are the solving routines compiled?

Step by step: the tables and part kinds can be read, the solving routines are loaded (or compiled, once, and kept for
every later process), each example is solved, a page is set. With `--warm` only what compiles and one example.
"""

from __future__ import annotations

import platform
import time
from argparse import ArgumentParser, Namespace
from collections.abc import Callable, Mapping
from typing import Any

from loomwright.car import Car
from loomwright.cli.printing import as_json, counted, show
from loomwright.examples.shelf import example_folder, example_names
from loomwright.handover.paper import paper_of
from loomwright.network.kernel import eliminate
from loomwright.network.settle import settle_many
from loomwright.sheets.csv_folder import open_folder
from loomwright.tables.kinds import load_abilities, load_kinds
from loomwright.writers.paper import paper_pdf

__all__ = ["HELP", "add_arguments", "run"]

HELP = "see that this installation is whole; --warm compiles the solving routines once"

_ROUTINES: Mapping[str, Any] = {"eliminate": eliminate, "settle_many": settle_many}
"""The compiled routines that are called from outside the compiled code."""


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    parser.add_argument(
        "--warm", action="store_true", help="compile and keep the solving routines, so that none waits later"
    )
    parser.add_argument("--json", action="store_true", help="the answer as JSON instead of sentences")


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code."""
    names = example_names()
    steps: list[tuple[str, Callable[[], str]]] = [
        ("part kinds", lambda: f"{counted(len(load_kinds()), 'kind')}, {len(load_abilities())} abilities"),
        ("solving routines", lambda: _warm(names[0])),
    ]
    if not arguments.warm:
        steps += [(f"example {name}", lambda name=name: _solved(name)) for name in names]  # type: ignore[misc]
        steps.append(("paper", lambda: _page(names[0])))
    told = []
    for name, step in steps:
        begun = time.perf_counter()
        found = step()
        told.append({"step": name, "found": found, "time_s": round(time.perf_counter() - begun, 2)})
        if not arguments.json:
            show(f"{name:18} {told[-1]['time_s']:8.2f} s   {found}")
    if arguments.json:
        as_json({"python": platform.python_version(), "steps": told})
    return 0


def _warm(name: str) -> str:
    """Compile every routine in the form in which it is used, or load what was kept of it."""
    car = Car(open_folder(example_folder(name)))
    car.solve({})
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
