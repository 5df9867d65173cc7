"""`loomwright export`: the job in another form, by the ending of the file.

Another container (a folder of sheets, a workbook, an archive, a JSON document), or a SPICE netlist (.cir) of one state.
Nothing that is there is written over unasked, and what is there and has no place in the new file is never lost.
"""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Mapping
from pathlib import Path

from loomwright.car import Car
from loomwright.cli.asking import add_changes, add_job, add_state, open_given, question_of
from loomwright.cli.printing import as_json, counted, show, told
from loomwright.job.schema import SHEETS
from loomwright.refusals import OutOfReach
from loomwright.sheets.archive import read_kept
from loomwright.sheets.csv_folder import sheets_in
from loomwright.sheets.one_file import lies_there, write_whole
from loomwright.sheets.opening import CONTAINERS, Opened, write_job
from loomwright.writers.netlist import netlist

__all__ = ["HELP", "add_arguments", "add_over", "run", "show_left_out", "write_out"]

HELP = "write the job in another form, by the file's ending: a folder of sheets, .xlsx, .loomjob, .json, .cir (netlist)"

_NETLIST, _ARCHIVE = ".cir", ".loomjob"
_MOST_NAMES = 5


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_job(parser)
    parser.add_argument(
        "file", metavar="FILE", help="NAME.xlsx, NAME.loomjob, NAME.json, NAME.cir, or a folder to make"
    )
    add_over(parser)
    add_state(parser)
    add_changes(parser)
    parser.add_argument(
        "--settled", action="store_true", help="in a netlist: relays as they lie, instead of switches with hysteresis"
    )


def add_over(parser: ArgumentParser) -> None:
    """Whether a job that is there may be replaced."""
    parser.add_argument("--over", action="store_true", help="replace the job that is there")


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code."""
    path = Path(arguments.file)
    if path.suffix.lower() == _NETLIST:
        write_whole(path, _netlist(Car(open_given(arguments.job).job), arguments).encode())
        left_out: tuple[str, ...] = ()
    else:
        known_ending(path)
        left_out = write_out(open_given(arguments.job), path, is_over=arguments.over)
    if arguments.json:
        as_json({"written": str(path), "left_out": left_out})
    else:
        show(f"wrote {path}")
        show_left_out(left_out)
    return 0


def known_ending(path: Path) -> None:
    """Refuse a file whose ending says nothing that can be written.

    Raises:
        OutOfReach: it is none of those there are.
    """
    if path.suffix.lower() not in CONTAINERS and lies_there(path) != "folder":
        allowed = "NAME.xlsx, NAME.loomjob, NAME.json, NAME.cir for a netlist, or a folder name without an ending"
        raise OutOfReach("file", path.name, allowed)


def write_out(opened: Opened, path: Path, *, is_over: bool) -> tuple[str, ...]:
    """Write a job where its ending says; gives the members of an archive that were left out.

    Args:
        opened: the job, with its photos and its history.
        path: the file, or the folder.
        is_over: a job that is there may be replaced.
    Raises:
        BadDocument: there is something that would be lost, or it cannot be written there.
    """
    kept = opened.kept
    if lies_there(path) == "folder":
        _free_folder(opened, path, is_over)
    elif lies_there(path) == "file":
        if not is_over:
            raise told(f"{path} is there already", "a file to make", "Name another, or add --over to replace it")
        if path.suffix.lower() == _ARCHIVE:
            kept = _with_what_lies_there(opened.kept, path)
    return write_job(opened.job, path, kept)


def show_left_out(left_out: tuple[str, ...]) -> None:
    """Tell what had no place in the new container."""
    if left_out:
        show(f"left out, since only a .loomjob has a place for it: {_some(left_out)}")


def _free_folder(opened: Opened, path: Path, is_over: bool) -> None:
    """Refuse a folder whose sheets would be written over unasked, or mixed with those of the job."""
    there = sheets_in(path)
    if there and not is_over:
        mend = "Name another, move those away, or add --over to replace them"
        raise told(f"{path} holds sheets already", "a folder to make, or an empty one", mend)
    own = [sheet for sheet in there if sheet not in SHEETS and sheet not in opened.job.extra_sheets]
    if own:
        # they would stay and be read as sheets of this job from then on
        mend = "Move those away, or name another folder"
        raise told(f"{path} holds {_some(own)}, which this job has not", "sheets that this job has", mend)


def _with_what_lies_there(kept: Mapping[str, bytes], path: Path) -> Mapping[str, bytes]:
    """The photos and the history to write into an archive that is replaced: its own, where the job brings none."""
    there = read_kept(path)
    lost = [name for name in there if kept and kept.get(name) != there[name]]
    if lost:
        mend = "Name another file, or move that one away"
        raise told(f"{path} holds {_some(lost)}, which this job has not", "photos and history of this job", mend)
    return kept or there


def _some(names: list[str] | tuple[str, ...]) -> str:
    """A few of many names."""
    more = len(names) - _MOST_NAMES
    return " ".join(names[:_MOST_NAMES]) + (f" and {counted(more, 'other')}" if more > 0 else "")


def _netlist(car: Car, arguments: Namespace) -> str:
    asked = question_of(arguments, car)
    solved = car.solve(asked.state, before=asked.before, changes=asked.changes)
    compiled = car.compiled_with(asked.changes, asked.state)
    devices = car.devices(asked.state, asked.before, asked.changes) if arguments.settled else None
    return netlist(compiled.network, {k: str(v) for k, v in solved.state.items()}, devices=devices).text
