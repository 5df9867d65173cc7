"""`loomwright fuse-ways`: which fuse each load hangs on, what must not die together, and why."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace

from loomwright.allocation.fuse_asked import FUSE_GOALS
from loomwright.allocation.fuse_ways import BranchSeat, FuseWays
from loomwright.allocation.way_fixing import with_fuses_typed
from loomwright.cli.asking import add_job, open_car
from loomwright.cli.keeping import container_of, write_back
from loomwright.cli.printing import as_json, counted, show, show_hanging
from loomwright.cli.telling import telling

__all__ = ["HELP", "add_arguments", "fuse_ways_plain", "run"]

HELP = (
    "a fuse for every load: rating, key state, what must not die together, place; and what each relay's contact feeds"
)
_GAP = " " * 4


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_job(parser)
    parser.add_argument(
        "--keep", action="store_true", help="lead the wires to their fuses in the sheets, add what is new"
    )


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code: 1 where something has to move or cannot be fused."""
    path = container_of(arguments.job) if arguments.keep else None
    car = open_car(arguments.job)
    shown = telling("steps")
    answer = car.fuse_ways(shown)
    fits = not answer.left_out
    if path is not None and fits and answer.moved:
        write_back(with_fuses_typed(car.job, answer), path)
    if arguments.json:
        as_json(fuse_ways_plain(answer) | ({} if path is None else {"written": str(path)}))
    else:
        _show(answer, sum(not need.pin for need in car.filled.needs))
        if path is not None and fits:
            told = f"{counted(len(answer.moved), 'wire')} led to another fuse"
            show(f"{told}, {counted(len(answer.new), 'fuse')} added in the sheets of {path}.")
    return 1 if answer.left_out or (answer.moved and path is None) else 0


def fuse_ways_plain(answer: FuseWays) -> dict[str, object]:
    """The answer as plain lists and words, in the shape that `--json` prints."""
    return {
        "status": answer.status,
        "proved": answer.proved,
        "branches": {
            each.wire: {
                "was": each.was,
                "fuse": each.fuse,
                "state": each.state,
                "loads": list(each.loads),
                "amps": None if each.amps is None else round(each.amps, 2),
                "says": each.says,
            }
            for each in answer.seats
        },
        "moved": [[each.wire, each.was, each.fuse] for each in answer.moved],
        "new": list(answer.new),
        "shared": list(answer.shared),
        "left_out": list(answer.left_out),
        "fuses": {
            one.id: {"place": one.place, "state": one.state, "family": one.family, "rating_a": one.rating_a}
            for one in answer.fuses.values()
        },
        "relays": {name: list(loads) for name, loads in answer.relays.items()},
        "goals": [{"goal": name, "cost": cost, "proved": done} for name, (cost, done) in answer.goals.items()],
        "notes": list(answer.notes),
    }


def _show(answer: FuseWays, unpinned: int) -> None:
    across = max((len(each.fuse) for each in answer.seats), default=0)
    for each in answer.seats:
        show_hanging(f"{each.fuse.ljust(across)}  {_what(each)}: {each.says}.", " " * (across + 2))
    for name, loads in answer.relays.items():
        show_hanging(
            f"{name}  {' '.join(loads) or 'further fuses, or nothing that is known,'} behind its contact.", _GAP
        )
    for number, said in enumerate((*answer.left_out, *answer.shared), 1):
        show_hanging(f"{number}. {said}.", _GAP)
    for note in answer.notes:
        show_hanging(f"{note[:1].upper()}{note[1:]}.", _GAP)
    if unpinned:
        show_hanging(f"{counted(unpinned, 'need has', 'needs have')} no pin yet: what they switch counts as off.", _GAP)
    if not answer.seats:
        return
    told = f"{counted(len(answer.moved), 'branch moves', 'branches move')}, {counted(len(answer.new), 'fuse')} to add."
    asked = ", ".join(FUSE_GOALS.values())
    show_hanging(
        f"{told} {'No answer is better' if answer.proved else 'Not proved'}, asked in this order: {asked}.", _GAP
    )


def _what(each: BranchSeat) -> str:
    pieces = [each.wire, " ".join(each.loads), "" if each.amps is None else f"{round(each.amps, 2):.3g} A"]
    return ", ".join(piece for piece in pieces if piece)
