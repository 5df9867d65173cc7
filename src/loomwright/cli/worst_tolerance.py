"""`loomwright worst --tolerance`: how far the figures of a car stray, and what passes all the same."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Sequence
from pathlib import Path

from loomwright.car import Car
from loomwright.cli.printing import as_json, show, show_hanging, write_file
from loomwright.cli.telling import telling
from loomwright.handover.stray_sheet import passed_words, stray_lists, stray_words, strays_plain
from loomwright.handover.worst_sheet import state_words
from loomwright.job.vehicle import vehicle_of
from loomwright.pages.strays_work import strays_with
from loomwright.sheets.list_workbook import pack_workbook
from loomwright.sizing.tolerance import CARS, Strays

__all__ = ["add_tolerance", "run_tolerance"]

_UNITS = ("V", "A")


def add_tolerance(parser: ArgumentParser) -> None:
    """The words of the question."""
    parser.add_argument(
        "--tolerance", action="store_true", help="every figure a little off: how far volts and amps stray, what passes"
    )
    parser.add_argument("--samples", type=int, default=CARS, metavar="N", help=f"cars drawn for it ({CARS})")
    parser.add_argument("--seed", type=int, default=1, metavar="N", help="another seed draws other cars (1)")
    parser.add_argument(
        "--cluster", default="", metavar="ADDRESS", help="a Dask cluster that solves them, such as tcp://host:8786"
    )


def run_tolerance(car: Car, arguments: Namespace) -> int:
    """Run it; gives the exit code."""
    strays = strays_with(
        car,
        samples=arguments.samples,
        seed=arguments.seed,
        tell=telling("pieces"),
        cluster=arguments.cluster,
    )
    if arguments.out:
        write_file(Path(arguments.out), pack_workbook(stray_lists(strays), title=vehicle_of(car.job).title))
    if arguments.json:
        as_json(strays_plain(strays, arguments.of))
        return 0
    _show(strays, arguments.of)
    return 0


def _show(strays: Strays, of: Sequence[str]) -> None:
    for unit in _UNITS:
        for one in strays.lines:
            if one.unit == unit and (not of or one.name in of):
                show_hanging(
                    f"{one.label or one.name}: {stray_words(one)}; with {state_words(one.state, one.before)}", "  "
                )
    for verdict in strays.verdicts:
        if not of or set(of) & {place.partition(".")[0] for place in verdict.at}:
            first = "" if verdict.as_solved else "not even as solved; "
            words = passed_words(verdict.passed, verdict.of, verdict.sure_frac)
            show_hanging(
                f"{verdict.rule} {verdict.label or ' '.join(verdict.at)}: {first}{words}: {verdict.wrong}", "  "
            )
    show(f"Everything that passes as solved still {passed_words(strays.passed, strays.cars, strays.sure_frac)}.")
    if strays.collapsed:
        show(f"The supply gives way in {strays.collapsed} of {strays.cars}.")
    show(f"{strays.asked} questions in {strays.states} states, {strays.draws} figures drawn, seed {strays.seed}.")
