"""`loomwright built`: what the job as it is asked for now asks of the wires that are built already."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Iterator
from dataclasses import replace

from loomwright.car import Car
from loomwright.cli.asking import add_job, known, open_given
from loomwright.cli.printing import as_json, counted, show_hanging
from loomwright.cli.shelf_folder import add_shelf, open_shelf
from loomwright.job.job import Job
from loomwright.loom.as_built_plain import as_built_plain, changed_at
from loomwright.loom.as_built_records import ASKS, AsBuilt, Ask
from loomwright.quantities.printing import for_print
from loomwright.refusals import NoAnswer, OutOfReach
from loomwright.store.earlier import Earlier, earlier_of

__all__ = ["HELP", "add_arguments", "run"]

HELP = (
    "what changes ask of the wires that are built already: nothing, longer, another cavity, another terminal, a new one"
)

_HOUR_MINUTES = 60.0
_IDLE = ("shorten", "look")
_MOST_NAMES = 12


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_job(parser)
    add_shelf(parser)
    parser.add_argument("wires", nargs="*", metavar="WIRE", help="named right after the job: only these")
    parser.add_argument(
        "--since",
        default="",
        metavar="REVISION",
        help="what steps without a revision were done from: a revision of the shelf, or an older copy of the job",
    )


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code: 1 where something built has to be worked on."""
    job, past = _on_shelf(arguments) if arguments.shelf else _in_files(arguments)
    known("wire", arguments.wires, {row.wire for row in job.progress})
    told = Car(job).as_built(past.jobs, past.renamed)
    if arguments.wires:
        kept = tuple(wire for wire in told.wires if wire.wire in arguments.wires)
        told = replace(told, wires=kept, proofs=(), minutes=sum(wire.minutes for wire in kept))
    if arguments.json:
        as_json(as_built_plain(told, past.changed))
    else:
        for line in _lines(told, past):
            show_hanging(line, "    ")
    return int(any(ask.does not in _IDLE for ask in told.asks) or bool(told.proofs))


def _on_shelf(arguments: Namespace) -> tuple[Job, Earlier]:
    """A job of the shelf with its own past."""
    shelf = open_shelf(arguments)
    try:
        snapshot = shelf.now(arguments.job)
        job = snapshot.job
        if job is None:
            raise NoAnswer("what is built", tuple(str(problem) for problem in snapshot.problems[:_MOST_NAMES]))
        past = earlier_of(shelf, snapshot)
        if arguments.since:
            if not arguments.since.isdecimal():
                raise OutOfReach("--since", arguments.since, f"a revision of the shelf, 1 to {snapshot.revision}")
            number = int(arguments.since)
            then = shelf.now(arguments.job, number).job
            job = _stamped(job, number)
            past = past if then is None else replace(past, jobs={**past.jobs, number: then})
        return job, past
    finally:
        shelf.close()


def _in_files(arguments: Namespace) -> tuple[Job, Earlier]:
    """A job in files: its past is what `--since` names, for every revision that progress names."""
    job = open_given(arguments.job).job
    if not arguments.since:
        return job, Earlier()
    then = open_given(arguments.since).job
    job = _stamped(job, 0)
    return job, Earlier(jobs={row.revision: then for row in job.progress if row.revision is not None})


def _stamped(job: Job, number: int) -> Job:
    """The job with a revision beside every step that has none."""
    progress = tuple(row if row.revision is not None else replace(row, revision=number) for row in job.progress)
    return replace(job, progress=progress)


def _lines(told: AsBuilt, past: Earlier) -> Iterator[str]:
    if not told.wires:
        yield "nothing is built yet: the sheet progress has no row"
    for does, means in ASKS.items():
        asks = [ask for ask in told.asks if ask.does == does]
        if asks:
            yield f"{does}: {means}"
            yield from (f"  {_line(ask, past)}" for ask in asks)
    if told.proofs:
        yield "proofs to take again"
        yield from (f"  {proof.says}" for proof in told.proofs)
    if told.fresh:
        yield f"new since: {_some(told.fresh)}"
    if told.unknown:
        numbers = ", ".join(str(number) for number in told.unknown)
        yield f"built from revisions that are not to be had here: {numbers}. Name an older copy with --since."
    if told.wires:
        hours = for_print(told.minutes / _HOUR_MINUTES, side="up", digits=2)
        yield (
            f"{counted(len(told.wires), 'wire')} built, {len(told.untouched)} of them as asked; "
            f"{counted(len(told.uncut) + len(told.fresh), 'wire')} to cut; {hours} h of work on what is built (typical)"
        )


def _line(ask: Ask, past: Earlier) -> str:
    number = changed_at(ask, past.changed)
    when = f" (revision {number})" if number is not None else ""
    minutes = f" {for_print(ask.minutes)} min." if ask.minutes else ""
    other = f" Or {for_print(ask.or_minutes)} min for the other way." if ask.or_minutes is not None else ""
    return f"{ask.says}{when}{minutes}{other}"


def _some(names: tuple[str, ...]) -> str:
    more = len(names) - _MOST_NAMES
    return " ".join(names[:_MOST_NAMES]) + (f" and {counted(more, 'other')}" if more > 0 else "")
