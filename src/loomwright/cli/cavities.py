"""`loomwright cavities`: which circuit sits in which way of a connector between looms, and why."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace

from loomwright.allocation.cavities import Cavities, CavitySeat, with_ways_typed
from loomwright.allocation.cavity_puzzle import CAVITY_GOALS
from loomwright.cli.asking import add_job, open_car
from loomwright.cli.keeping import container_of, write_back
from loomwright.cli.printing import as_json, counted, show, show_hanging
from loomwright.cli.telling import telling

__all__ = ["HELP", "add_arguments", "cavities_plain", "run"]

HELP = "a way for every circuit through the connectors between looms, and why; too few ways: what moves to which plug"
_GAP = " " * 4


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_job(parser)
    parser.add_argument(
        "connector", metavar="CONNECTOR", nargs="?", default="", help="one of them, and those beside it"
    )
    parser.add_argument("--keep", action="store_true", help="write the ways into the sheet wires")


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code."""
    path = container_of(arguments.job) if arguments.keep else None
    car = open_car(arguments.job)
    shown = telling("steps")
    answer = car.cavities(arguments.connector, shown)
    if path is not None and answer.status == "fits":
        job = with_ways_typed(answer)
        if job != car.job:
            write_back(job, path)
    if arguments.json:
        as_json(cavities_plain(answer) | ({} if path is None else {"written": str(path)}))
    else:
        _show(answer)
        if path is not None and answer.status == "fits":
            show(f"{counted(len(answer.moved) + len(answer.moved_plug), 'way')} changed in the sheet wires of {path}.")
    return 0 if answer.status == "fits" else 1


def cavities_plain(answer: Cavities) -> dict[str, object]:
    """The answer as plain lists and words, in the shape that `--json` prints."""
    return {
        "status": answer.status,
        "proved": answer.proved,
        "ways": {
            each.way: {
                "was": each.was,
                "wires": list(each.wires),
                "circuits": list(each.circuits),
                "amps": None if each.amps is None else round(each.amps, 2),
                "size_mm2": each.size_mm2,
                "crimp": each.crimp or None,
                "says": each.says,
            }
            for each in answer.seats
        },
        "spares": {name: list(ways) for name, ways in answer.spares.items()},
        "moved": [[each.was, each.way] for each in answer.moved],
        "moved_plug": [[each.was, each.way] for each in answer.moved_plug],
        "beside": [list(pair) for pair in answer.beside],
        "left_out": list(answer.left_out),
        "conflict": [
            {"ways": list(one.crossings), "says": one.says, "could_sit_in": list(one.ways)} for one in answer.conflicts
        ],
        "fixed": [{"id": one.id, "part": one.part, "ways": one.ways, "used": one.used} for one in answer.fixed],
        "goals": [{"goal": name, "cost": cost, "proved": done} for name, (cost, done) in answer.goals.items()],
        "notes": list(answer.notes),
    }


def _show(answer: Cavities) -> None:
    width = max((len(each.way) for each in answer.seats), default=0)
    for each in answer.seats:
        show_hanging(f"{each.way.ljust(width)}  {_what(each)}: {each.says}.", " " * (width + 2))
    for name, ways in answer.spares.items():
        show(
            f"{name}: {counted(len(ways), 'spare way')}{' ' if ways else ''}{' '.join(ways)}, to be plugged.".replace(
                " ,", ","
            )
        )
    for plug in answer.fixed:
        held = f"{plug.used} of {plug.ways} ways" if plug.ways else counted(plug.used, "way")
        show(f"{plug.id} on {plug.part}: {held}; the part's terminals say which.")
    for one, other in answer.beside:
        show(f"{one} may stand at battery volts and lies beside {other}, a sensor's: seal it well.")
    if answer.moved_plug:
        told = ", ".join(f"{each.was} to {each.way}" for each in answer.moved_plug)
        show_hanging(f"To another plug: {told}. No smaller set would do.", _GAP)
    for note in answer.notes:
        show_hanging(f"{note[:1].upper()}{note[1:]}.", _GAP)
    for number, conflict in enumerate(answer.conflicts, 1):
        show_hanging(f"{number}. {conflict.says}.", _GAP)
    if not answer.seats:
        return
    lead = f"{counted(len(answer.seats), 'circuit has', 'circuits have')} a way each."
    if answer.left_out:
        lead = f"Does not fit: left out are {', '.join(answer.left_out)}."
    asked = ", ".join(CAVITY_GOALS.values())
    show_hanging(
        f"{lead} {'No answer is better' if answer.proved else 'Not proved'}, asked in this order: {asked}.", _GAP
    )


def _what(each: CavitySeat) -> str:
    pieces = [" ".join(each.wires)]
    if each.size_mm2 is not None:
        pieces.append(f"{each.size_mm2:g} mm2")
    if each.amps is not None:
        pieces.append(f"{each.amps:.3g} A")
    if each.crimp:
        pieces.append(each.crimp)
    return ", ".join(pieces)
