"""`loomwright check`: what is wrong with the car, in which states, why, and how to mend it."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Callable
from functools import partial
from typing import TypeVar

from loomwright.car import Car, Checked
from loomwright.cli.asking import add_job, open_car, state_of
from loomwright.cli.check_mends import run_mends
from loomwright.cli.printing import as_json, counted, show, show_hanging, told
from loomwright.cli.telling import telling
from loomwright.cli.wrong_shown import show_wrong
from loomwright.findings import Finding, as_plain, says
from loomwright.job.pins_waiting import pins_given_in
from loomwright.pages.wrong_work import wrong_of
from loomwright.refusals import Stopped

__all__ = ["HELP", "add_arguments", "checked_plain", "run", "show_checked"]

HELP = "every finding, in every state the car can be in"
_GAP = " " * 15
Tell = Callable[[int, int], None]
T = TypeVar("T")


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_job(parser)
    parser.add_argument(
        "--every-state", action="store_true", help="solve every raw state instead of proving most by bounds"
    )
    parser.add_argument(
        "--fix",
        default="",
        metavar="STATE",
        help='hold variables at one value, such as "turn=off, wipe=off": states with another are not asked',
    )
    parser.add_argument(
        "--mend", action="store_true", help="try small edits for every fault and warning, and show those that hold"
    )
    parser.add_argument(
        "--apply",
        default="",
        metavar="FOLDER",
        help="with --mend: make the first mend of every fault in turn, and write the job so mended into a folder",
    )
    parser.add_argument(
        "--wrong", action="store_true", help="one thing missing, stuck or shorted, each in turn, in every state"
    )


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code."""
    if arguments.wrong:
        car = open_car(arguments.job)
        return show_wrong(_stoppable(partial(wrong_of, car)), arguments.json)
    if arguments.apply and not arguments.mend:
        raise told("--apply without --mend", "both", "Say --mend too: it is the mends that are made")
    car = open_car(arguments.job)
    fixed = state_of(arguments.fix, "--fix")
    checked = _stoppable(lambda tell: car.check(tell, arguments.every_state, fixed))
    if arguments.mend:
        return run_mends(car, checked, arguments.apply, as_plain_data=arguments.json)
    if arguments.json:
        as_json(checked_plain(checked))
    else:
        show_checked(checked)
        _show_pins_missing(car, arguments.job)
    return 1 if checked.worst in ("fault", "warning") else 0


def _stoppable(work: Callable[[Tell], T]) -> T:
    """What `work` gives; stopped by hand it says how far it was.

    Raises:
        Stopped: a person pressed ctrl-C.
    """
    come = [0, 0]
    shown = telling()

    def count(done: int, of: int) -> None:
        come[:] = [done, of]
        if shown is not None:
            shown(done, of)

    try:
        return work(count)
    except KeyboardInterrupt:
        raise Stopped(*come) from None


def checked_plain(checked: Checked) -> dict[str, object]:
    """A check as plain lists and words."""
    return {
        "findings": [as_plain(finding) for finding in checked.findings],
        "states_searched": checked.states_searched,
        "solved": checked.solved,
        "raw_states": checked.raw_states,
    }


def show_checked(checked: Checked) -> None:
    """Print a check: the findings, roots first, and how many there are."""
    for finding in checked.findings:
        _show_finding(finding, "")
    count = {word: sum(f.severity == word for f in checked.findings) for word in ("fault", "warning", "note")}
    show(
        ", ".join(counted(number, word) for word, number in count.items())
        + f"; {counted(checked.states_searched, 'state')} settled by solving {checked.solved}."
    )


def _show_pins_missing(car: Car, job: str) -> None:
    """Say that needs wait for their pins, from which much of what was found follows."""
    missing = pins_given_in(car.job).missing
    if missing:
        show(
            f"{len(missing)} of what the controller does {'has' if len(missing) == 1 else 'have'} no pin yet, and wires"
            f" that wait for one end nowhere: loomwright decide {job} --keep, then check again."
        )


def _show_finding(finding: Finding, indent: str) -> None:
    hang = indent + _GAP
    show_hanging(f"{indent}{finding.severity.upper():8}{finding.rule:7}{says(finding)}", hang)
    if finding.path:
        show_hanging(f"{hang}way: {' – '.join(finding.path)}", hang + "     ")
    if finding.folded:
        show(f"{hang}gone with it once it is mended:")
    for one in finding.folded:
        _show_finding(one, hang)
