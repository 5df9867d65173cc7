"""`loomwright solve`: volts, amps and relays of the whole car in one state."""

from __future__ import annotations

import math
from argparse import ArgumentParser, Namespace

from loomwright.cli.asking import add_changes, add_job, add_state, known, open_car, question_of
from loomwright.cli.printing import as_json, show
from loomwright.findings import id_order
from loomwright.job.job import Job
from loomwright.network.solve import Solved

__all__ = ["HELP", "add_arguments", "as_plain", "of_circuit", "run", "show_solved"]

HELP = "volts, amps and relays of the whole car in one state"


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_job(parser)
    add_state(parser)
    add_changes(parser)
    parser.add_argument(
        "--circuit", default="", metavar="CIRCUIT", help="print only the wires and parts of this circuit"
    )


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code."""
    car = open_car(arguments.job)
    if arguments.circuit:
        known("--circuit", [arguments.circuit], {circuit.id for circuit in car.job.circuits})
    asked = question_of(arguments, car)
    solved = car.solve(asked.state, before=asked.before, changes=asked.changes)
    if arguments.json:
        as_json(as_plain(solved))
        return 0
    show_solved(solved, of_circuit(car.job, arguments.circuit) if arguments.circuit else None)
    return 0


def of_circuit(job: Job, circuit: str) -> set[str]:
    """The wires and parts of a circuit, and what its wires end at."""
    wires = [wire for wire in job.wires if wire.circuit == circuit]
    parts = {part.id for part in job.parts if part.circuit == circuit}
    ends = {end for wire in wires for end in (wire.from_, wire.to) if end}
    return {wire.id for wire in wires} | parts | ends


def show_solved(solved: Solved, wanted: set[str] | None) -> None:
    """Print an answer: points, currents, relays, controllers, and what does not hold.

    Args:
        wanted: points, parts and wires to print; everything where None.
    """

    def is_wanted(name: str) -> bool:
        return wanted is None or name in wanted or name.split(".")[0] in wanted

    show("state: " + ", ".join(f"{name}={value}" for name, value in solved.state.items()))
    for point, volts in sorted(solved.volts.items(), key=lambda item: id_order(item[0])):
        if is_wanted(point):
            show(f"  {point:24} {'  floating' if volts is None else f'{_tidy(volts, 3):10.3f} V'}")
    for name, amps in sorted(solved.amps.items(), key=lambda item: id_order(item[0])):
        if is_wanted(name):
            show(f"  {name:24} {_tidy(amps, 3):10.3f} A")
    for part, lies in sorted(solved.relays.items()):
        if is_wanted(part):
            show(f"  {part:24}   {lies}")
    for part, alive in sorted(solved.alive.items()):
        if is_wanted(part):
            show(f"  {part:24}   {'alive' if alive else 'dead'}")
    _show_trouble(solved)


def _show_trouble(solved: Solved) -> None:
    for fuse in solved.blown:
        show(f"  {fuse}: more than twice its rating, blown; the rest is told with it open.")
    if solved.buzzing:
        show(f"  {' '.join(solved.buzzing)}: buzzing, in and out by turns; what is told is one moment of it.")
    if solved.collapsed:
        show("  The supply cannot hold this load: no steady answer, these figures are where it gave way.")
    for note in solved.notes:
        show(f"  note: {note}")


def as_plain(solved: Solved) -> dict[str, object]:
    """An answer as plain lists and words, in the shape that `--json` prints."""
    return {
        "state": dict(solved.state),
        "volts": {point: _round(value) for point, value in sorted(solved.volts.items())},
        "amps": {name: _round(value) for name, value in sorted(solved.amps.items())},
        "relays": dict(sorted(solved.relays.items())),
        "alive": dict(sorted(solved.alive.items())),
        "blown": list(solved.blown),
        "buzzing": list(solved.buzzing),
        "collapsed": solved.collapsed,
        "notes": list(solved.notes),
    }


def _round(value: float | None) -> float | None:
    """A figure without the dust of its last digits; none where a collapse left no number."""
    return None if value is None or not math.isfinite(value) else _tidy(value, 9)


def _tidy(value: float, digits: int) -> float:
    return round(value, digits) + 0.0
