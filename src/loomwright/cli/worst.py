"""`loomwright worst`: the most each thing ever carries, in which state, and what draws on each supply.

With `--tolerance`: how far volts and amps stray when every figure is a little off, and what passes all the same.
"""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Sequence
from pathlib import Path

from loomwright.cli.asking import add_job, known, open_car
from loomwright.cli.printing import as_json, show, write_file
from loomwright.cli.telling import telling
from loomwright.cli.worst_tolerance import add_tolerance, run_tolerance
from loomwright.handover.worst_sheet import drawn_plain, state_words, worst_lists, worst_plain
from loomwright.job.vehicle import vehicle_of
from loomwright.refusals import OutOfReach
from loomwright.sheets.list_workbook import pack_workbook
from loomwright.sizing.drawn_on import DrawnOn, drawn_on
from loomwright.sizing.worst_cases import WorstCase, worst_cases

__all__ = ["HELP", "add_arguments", "run"]

HELP = "the most each wire, fuse, contact, output ever carries, and in which state"
_ENDING = ".xlsx"
_PERCENT = 100.0


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_job(parser)
    parser.add_argument("--of", nargs="+", default=[], metavar="NAME", help="only these wires and parts")
    parser.add_argument("--out", default="", metavar="FILE.xlsx", help="write it as a workbook, too")
    add_tolerance(parser)


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code."""
    if arguments.out and Path(arguments.out).suffix.lower() != _ENDING:
        raise OutOfReach("--out", arguments.out, "NAME.xlsx")
    car = open_car(arguments.job)
    network = car.compiled.network
    there = {element.name for element in network.elements if element.is_wire}
    there |= {element.part for element in network.elements if element.part}
    there |= {element.name.removesuffix(".drive") for element in network.elements if element.name.endswith(".drive")}
    known("--of", arguments.of, there)
    if arguments.tolerance:
        return run_tolerance(car, arguments)
    worst = worst_cases(car.scene, telling())
    supplies = drawn_on(car.scene)
    if arguments.out:
        book = pack_workbook(worst_lists(worst, supplies), title=vehicle_of(car.job).title)
        write_file(Path(arguments.out), book)
    if arguments.json:
        as_json({**worst_plain(worst, arguments.of), "supplies": drawn_plain(supplies, arguments.of)})
        return 0
    _show(
        [one for one in worst.cases if not arguments.of or one.name in arguments.of],
        [one for one in supplies if not arguments.of or one.name in arguments.of],
    )
    show(f"{worst.states_searched} states searched, {worst.solved} solved.")
    return 0


def _show(cases: Sequence[WorstCase], supplies: Sequence[DrawnOn]) -> None:
    for one in sorted(cases, key=lambda case: -(case.share_frac or 0.0)):
        words = f"{one.label or one.name}: {one.amps:.3f} A"
        if one.amps:
            words += f" with {state_words(one.state, one.before)}"
        if one.share_frac is not None:
            words += f"; {one.share_frac * _PERCENT:.0f} % of {one.allowed_a:.4g} A"
            if one.judged not in ("", "steady"):
                words += f" ({one.judged})"
            if one.judged and one.share_state != one.state:
                words += f" with {state_words(one.share_state, one.share_before)}"
        show(words)
    for supply in supplies:
        rating = "" if supply.rating_a is None else f", its rating {supply.rating_a:g} A"
        drawn = f": {supply.rated_a:.1f} A if all are on" if supply.rated_a else ""
        show(f"{supply.label}{drawn}{rating}: {' '.join(supply.loads)}")
