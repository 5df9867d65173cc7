"""`loomwright start`: the go / no-go list of the first start, item by item, and every attempt written down."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from loomwright.car import Car
from loomwright.cli.asking import open_given
from loomwright.cli.export import known_ending, write_out
from loomwright.cli.printing import as_json, show, show_hanging
from loomwright.cli.shelf_folder import clock
from loomwright.job.edits import add_row
from loomwright.job.job import Job
from loomwright.job.nearest import nearest
from loomwright.refusals import OutOfReach
from loomwright.sheets.one_file import lies_there
from loomwright.sheets.opening import Opened
from loomwright.startup.first_start import FirstStart, StartItem, gate_cells
from loomwright.startup.plain import limit_words, start_plain

__all__ = ["HELP", "add_arguments", "run", "write_records"]

HELP = "the go / no-go list of the first start, made for this job; passes, waivers and attempts are written into it"
_ATTEMPT = ("soak_hours", "coolant_c", "air_c", "crank_s", "result", "changed", "notes")


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    parser.add_argument("job", metavar="JOB", help="a job; what is passed is written into it")
    parser.add_argument("--json", action="store_true", help="the answer as JSON instead of sentences")
    parser.add_argument(
        "--pass", dest="passed", action="append", default=[], metavar="ITEM=VALUE", help="looked at; the figure, or no"
    )
    parser.add_argument("--waive", action="append", default=[], metavar="ITEM=REASON", help="not needed here, and why")
    parser.add_argument(
        "--attempt",
        action="append",
        default=[],
        metavar="WORDS",
        help='one start attempt: "crank_s=5; coolant_c=18; result=fired and died; changed=more fuel"',
    )
    parser.add_argument("--who", default="", metavar="NAME", help="by whom")
    parser.add_argument("--all", action="store_true", help="every stage in full, the closed ones too")
    parser.add_argument("--out", default="", metavar="JOB", help="write the job there instead")


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code: 1 while something is not through."""
    opened = open_given(arguments.job)
    job = opened.job
    made = Car(job).first_start()
    writes = bool(arguments.passed or arguments.waive or arguments.attempt)
    if writes:
        _may_write(arguments.job, arguments.out)
    said = {"time": clock(), **({"who": arguments.who} if arguments.who else {})}
    for option, pairs in (("--pass", arguments.passed), ("--waive", arguments.waive)):
        for word in pairs:
            name, _, value = word.partition("=")
            waive = option == "--waive"
            cells = gate_cells(made, name.strip(), "" if waive else value.strip(), value if waive else "", waive=waive)
            job = add_row(job, "gates", {**cells, **said})
            made = Car(job).first_start()
    for words in arguments.attempt:
        job = add_row(job, "attempts", {**_attempt(words), **said})
    if writes:
        write_records(opened, job, arguments.job, arguments.out)
        made = Car(job).first_start()
    if arguments.json:
        as_json(start_plain(made))
    else:
        _show(made, everything=arguments.all)
    return 0 if made.go else 1


def write_records(opened: Opened, job: Job, name: str, out: str) -> None:
    """Write a job with more rows on record over itself, or elsewhere.

    Args:
        opened: as it was opened.
        job: with the new rows.
        name: where it came from.
        out: where to instead; blank: over itself.
    Raises:
        OutOfReach: it is an example.
    """
    _may_write(name, out)
    path = Path(out or name)
    known_ending(path)
    write_out(replace(opened, job=job), path, is_over=not out)


def _may_write(name: str, out: str) -> None:
    if not out and lies_there(Path(name)) == "nothing":
        raise OutOfReach("--out", "", "--out JOB: an example is not written over")


def _attempt(words: str) -> Mapping[str, str]:
    cells: dict[str, str] = {}
    for piece in words.split(";"):
        name, equals, value = (each.strip() for each in piece.partition("="))
        if not equals or name not in _ATTEMPT:
            like = nearest(name, _ATTEMPT)
            raise OutOfReach("--attempt", piece.strip(), " ".join(_ATTEMPT) + (f"; nearest: {like}" if like else ""))
        cells[name] = value
    return cells


def _show(made: FirstStart, *, everything: bool) -> None:
    for says in made.facts:
        show(f"This job: {says}.")
    for stage in made.stages:
        standing = "open" if stage.is_open else "closed"
        show()
        show(f"{stage.number}  {stage.title} - {'all through' if not stage.left else f'{stage.left} left, {standing}'}")
        if not (everything or (stage.is_open and stage.left)):
            continue
        show_hanging(made.emergency, "   ")
        for caution in stage.cautions:
            show_hanging(f"! {caution}", "     ")
        for item in stage.items:
            _show_item(item)
    show()
    show(f"{made.attempts} attempts on record. " + ("GO." if made.go else "NO GO yet."))


def _show_item(item: StartItem) -> None:
    mark = {"passed": "passed", "failed": "FAILED", "waived": "waived"}.get(item.verdict, "open")
    read = f", read {item.value}" if item.value else ""
    show(f"   {item.name}: {mark}{read}{f' ({item.reason})' if item.reason else ''}")
    if item.is_through:
        return
    if item.caution:
        show_hanging(f"! {item.caution}", "       ")
    show_hanging(item.does, "       ")
    show_hanging(f"Must be seen: {item.sees}", "       ")
    if item.limit is not None:
        show_hanging(f"Limit: {limit_words(item.limit)}", "       ")
    show_hanging(f"If not: {item.fails}", "       ")
