"""`loomwright place`: parts tried at several places, each routed, sized and solved, side by side."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace

from loomwright.cli.asking import add_job, known, open_car
from loomwright.cli.compare import show_weighed, weighed_plain
from loomwright.cli.printing import as_json, counted, show
from loomwright.cli.telling import telling
from loomwright.loom.weighing import ending_at, movable

__all__ = ["HELP", "add_arguments", "run"]

HELP = "a relay, fuse box, battery or controller tried at several places: copper, volts, holes, heat and cost of each"


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_job(parser)
    parser.add_argument(
        "parts", nargs="+", metavar="PART", help="what is moved, all together; a place means every part that sits there"
    )
    parser.add_argument("--at", nargs="+", required=True, metavar="PLACE", help="where it might sit")


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code."""
    car = open_car(arguments.job)
    places = {place.id for place in car.job.places}
    known("--at", arguments.at, places)
    known("part or place", arguments.parts, {part.id for part in car.job.parts} | places)
    parts = movable(car.job, arguments.parts)
    known("part at", arguments.parts if not parts else (), {part.place for part in car.job.parts if part.place})
    found = car.placed(parts, arguments.at, tell=telling())
    if arguments.json:
        as_json({"parts": list(parts), "wires": list(ending_at(car.job, parts)), "compared": weighed_plain(found)})
    else:
        show(f"{' '.join(parts)} with {counted(len(ending_at(car.job, parts)), 'new wire')}, routed and sized anew.")
        show()
        show_weighed(found, "place")
    return 1 if any(one.objections for one in found) else 0
