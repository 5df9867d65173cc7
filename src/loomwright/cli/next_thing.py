"""`loomwright next`: the next thing to do on the loom, on the car, on its proof, and those after it."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace

from loomwright.car import Car
from loomwright.cli.asking import add_job, open_given
from loomwright.cli.printing import as_json, counted, show, show_hanging
from loomwright.refusals import OutOfReach
from loomwright.worklist.day import day_plain
from loomwright.worklist.thing import WORKS, Thing, WorkList, next_of

__all__ = ["HELP", "add_arguments", "run"]

HELP = "the next thing to do: read, cut, crimp, seat, fit, prove, start; in the order that takes least walking"
_MANY = 1


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_job(parser)
    parser.add_argument("--work", default="", metavar="WORK", help=f"only this one: {', '.join(WORKS)}")
    parser.add_argument("--most", type=int, default=_MANY, metavar="N", help=f"how many of each are told ({_MANY})")


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code: 1 while something is left."""
    if arguments.work and arguments.work not in WORKS:
        raise OutOfReach("--work", arguments.work, " ".join(WORKS))
    day = Car(open_given(arguments.job).job).day(arguments.work)
    lists = [one for one in day.lists if not arguments.work or one.work == arguments.work]
    if arguments.json:
        as_json(day_plain(day))
    else:
        for one in lists:
            _show(one, max(1, arguments.most))
    return int(any(one.left for one in lists))


def _show(one: WorkList, most: int) -> None:
    show(f"{WORKS[one.work]}: {counted(one.left, 'thing')} left")
    done: set[str] = set()
    for _ in range(most):
        thing = next_of(one.things, done)
        if thing is None:
            break
        done.add(thing.id)
        _show_thing(thing)


def _show_thing(thing: Thing) -> None:
    for caution in thing.cautions[:1]:
        show_hanging(f"! {caution}", "     ")
    colour = f" ({thing.wire} {thing.colour})".replace(" )", ")") if thing.wire else ""
    show_hanging(f"   {thing.does}{colour}", "     ")
    way = f"{thing.here} > {thing.there}" if thing.there else thing.here
    told = [way, f"at {thing.place}" if thing.place else "", thing.asks.says]
    told += [f"{word}: {value}" for word, value in thing.facts]
    show_hanging("     " + "; ".join(text for text in told if text), "     ")
