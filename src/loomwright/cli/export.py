"""`loomwright export`: the job in another form, by the ending of the file.

A folder of sheets, or a SPICE netlist (.cir) of one state.
"""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from pathlib import Path

from loomwright.car import Car
from loomwright.cli.asking import add_changes, add_job, add_state, open_car, question_of
from loomwright.cli.printing import as_json, show, told, write_file
from loomwright.refusals import OutOfReach
from loomwright.sheets.csv_folder import write_folder
from loomwright.writers.netlist import netlist

__all__ = ["HELP", "add_arguments", "new_folder", "run"]

HELP = "write the job in another form, by the file's ending: a folder of sheets, or .cir (SPICE netlist)"


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_job(parser)
    parser.add_argument("file", metavar="FILE", help="NAME.cir, or a folder to make")
    add_state(parser)
    add_changes(parser)
    parser.add_argument(
        "--settled", action="store_true", help="in a netlist: relays as they lie, instead of switches with hysteresis"
    )


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code."""
    car = open_car(arguments.job)
    path = Path(arguments.file)
    if path.suffix == ".cir":
        write_file(path, _netlist(car, arguments).encode())
    elif path.suffix == "":
        write_folder(car.job, new_folder(path))
    else:
        raise OutOfReach("file", path.name, "NAME.cir for a netlist, or a folder name without an ending")
    if arguments.json:
        as_json({"written": str(path)})
    else:
        show(f"wrote {path}")
    return 0


def new_folder(path: Path) -> Path:
    """The path, where no sheets stand that writing would replace.

    Raises:
        BadDocument: there are sheets already.
    """
    if path.is_dir() and any(file.suffix.lower() == ".csv" for file in path.iterdir()):
        raise told(
            f"{path} holds sheets already", "a folder to make, or an empty one", "Name another, or move those away"
        )
    return path


def _netlist(car: Car, arguments: Namespace) -> str:
    asked = question_of(arguments, car)
    solved = car.solve(asked.state, before=asked.before, changes=asked.changes)
    compiled = car.compiled_with(asked.changes, asked.state)
    devices = car.devices(asked.state, asked.before, asked.changes) if arguments.settled else None
    return netlist(compiled.network, {k: str(v) for k, v in solved.state.items()}, devices=devices).text
