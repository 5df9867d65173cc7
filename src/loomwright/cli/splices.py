"""`loomwright splices`: where each splice takes the least copper, of the places where it may lie."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Sequence

from loomwright.cli.asking import add_job, known, open_car
from loomwright.cli.keeping import container_of, write_back
from loomwright.cli.printing import as_json, counted, show, show_hanging
from loomwright.quantities.printing import for_print
from loomwright.routes.splice_places import SplicePlace, splice_says, with_splices_placed

__all__ = ["HELP", "add_arguments", "run"]

HELP = "where each splice takes the least copper, of the places where it may lie"


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_job(parser)
    parser.add_argument("splices", nargs="*", metavar="SPLICE", help="named right after the job: only these")
    parser.add_argument(
        "--adopt",
        action="store_true",
        help="write the places into the sheet parts, a run cut in two where a splice lies within it",
    )


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code: 1 where a splice finds no place, or lies where none may."""
    path = container_of(arguments.job) if arguments.adopt else None
    car = open_car(arguments.job)
    found = car.splice_places()
    known("splice", arguments.splices, {one.splice for one in found})
    mine = [one for one in found if not arguments.splices or one.splice in arguments.splices]
    moved = [one for one in mine if one.moves and one.best is not None]
    within = [one for one in moved if one.best is not None and not one.best.place]
    if path is not None and moved:
        write_back(with_splices_placed(car.job, moved), path)
    if arguments.json:
        as_json({"splices": {one.splice: _plain(one) for one in mine}} | ({"written": str(path)} if path else {}))
    else:
        _show(mine)
        if path is not None:
            show(f"{counted(len(moved), 'place')} written into the sheet parts in {path}.")
            if within:
                runs = " ".join(dict.fromkeys(one.best.run for one in within if one.best is not None))
                show(f"{runs}: cut in two at a new place, which stands in the sheets places and runs.")
    return 1 if any((one.best is None and not one.frozen) or one.now_barred for one in mine) else 0


def _plain(one: SplicePlace) -> dict[str, object]:
    return {
        "now": one.now or None,
        "now_g": _grams(one.now_g),
        "now_barred": one.now_barred or None,
        "best": None
        if one.best is None
        else {
            "place": one.best.place or None,
            "run": one.best.run or None,
            "from": one.best.beyond or None,
            "apart_mm": one.best.apart_mm or None,
        },
        "best_g": _grams(one.best_g),
        "moves": one.moves,
        "wires": list(one.wires),
        "passed_over": [{"at": each.spot, "g": _grams(each.copper_g), "why": each.why} for each in one.passed_over],
        "frozen": one.frozen or None,
        "proved": one.is_proved,
        "says": splice_says(one),
    }


def _grams(copper_g: float | None) -> float | None:
    return None if copper_g is None else round(copper_g, 2)


def _show(found: Sequence[SplicePlace]) -> None:
    for one in found:
        show_hanging(f"{one.splice}: {splice_says(one)}", "    ")
    saved_g = sum(
        one.now_g - one.best_g for one in found if one.moves and one.now_g is not None and one.best_g is not None
    )
    less = f"; {for_print(saved_g, side='down')} g of copper less with those that move" if saved_g > 0.0 else ""
    show(f"{counted(len(found), 'splice')}{less}. Sizes as they stand; which places will not do: practice, typical.")
