"""`loomwright tour`: the made-up van, drawn with mistakes and then mended: findings, figures, a meter, the paper.

What it prints is worked out while it runs, from the sheets that ship with the package; the order is that of a job: look
at what was drawn, mend it, see one circuit do what it should, know what the meter shows, take the paper along.
"""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Mapping
from pathlib import Path

from loomwright.car import Car
from loomwright.cli.asking import open_car
from loomwright.cli.check import checked_plain, show_checked
from loomwright.cli.meter import reading_text
from loomwright.cli.pack import write_paper
from loomwright.cli.printing import as_json, show
from loomwright.job.vehicle import vehicle_of
from loomwright.network.solve import Solved

__all__ = ["HELP", "add_arguments", "run", "show_circuit", "show_meter"]

HELP = "a made-up van, drawn with mistakes and then mended: its findings, figures, readings and paper"

_DRAWN, _MENDED = "van-as-drawn", "van"
_STATE: Mapping[str, str] = {"key": "off", "engine": "idle"}
_BEFORE: Mapping[str, str] = {"key": "run", "engine": "idle"}
_POINTS = ("ALT.B+", "ALT.D+", "DCHG.k", "DCHG.a", "LCHG.2", "LCHG.1", "FTT.2", "ECU.A5", "ECU.A1")
_LAMP = ("FC23.2", "body", 5.0)
_CRANKING: Mapping[str, str] = {"key": "start", "engine": "cranking"}


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    parser.add_argument("--out", default="out", metavar="FOLDER", help="where the packs go (out)")
    parser.add_argument("--json", action="store_true", help="the answer as JSON instead of sentences")


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code, which says that the demonstration ran, not that the van was drawn well."""
    drawn, mended = open_car(_DRAWN), open_car(_MENDED)
    papers = {name: Path(arguments.out) / f"{name}.pdf" for name in (_DRAWN, _MENDED)}
    if arguments.json:
        for car, path in zip((drawn, mended), papers.values(), strict=True):
            write_paper(car, path)
        as_json(
            {
                "as_drawn": checked_plain(drawn.check()),
                "mended": checked_plain(mended.check()),
                "written": [str(path) for path in papers.values()],
            }
        )
        return 0
    show(vehicle_of(mended.job).title)
    _heading("1. What is wrong with the van as drawn (loomwright check van-as-drawn)")
    show_checked(drawn.check())
    _heading("2. The same van mended (loomwright check van)")
    show_checked(mended.check())
    show_circuit(drawn, mended)
    show_meter(drawn, mended)
    _heading("5. The build pack for the bench (loomwright pack van --out van.pdf)")
    for car, path in zip((drawn, mended), papers.values(), strict=True):
        write_paper(car, path)
        show(f"wrote {path}")
    return 0


def _heading(text: str) -> None:
    show(f"\n{text}\n{'-' * len(text)}")


def show_circuit(drawn: Car, mended: Car) -> None:
    """The charge lamp's circuit a moment after key-off, with the engine still turning."""
    _heading(
        '3. The charge lamp, key just turned off, engine still turning (loomwright solve van --state "key=off, …")'
    )
    answers = [car.solve(_STATE, before=_BEFORE) for car in (drawn, mended)]
    show(f"{'':12}{'as drawn':>12}{'mended':>12}")
    for point in _POINTS:
        show(f"{point:12}" + "".join(f"{_volts(answer, point):>12}" for answer in answers))
    lies = ["alive" if answer.alive.get("ECU") else "dead" for answer in answers]
    show(f"{'controller':12}" + "".join(f"{word:>12}" for word in lies))
    show("As drawn the turning alternator feeds the controller's key line through the lamp, so the engine runs on.")


def show_meter(drawn: Car, mended: Car) -> None:
    """A test lamp at the feed of two coils, while the starter turns the engine."""
    a, b, watt = _LAMP
    _heading(
        f'4. A {watt:g} W test lamp, {a} to {b}, cranking (loomwright meter van --lamp {a} {b} --state "key=start, …")'
    )
    for word, car in (("as drawn", drawn), ("mended", mended)):
        show(f"{word:12}{reading_text(car.lamp(a, b, watt, _CRANKING))}")
    show("As drawn two coils hang on terminal 75, which is dead in start: no spark in two cylinders while cranking.")


def _volts(solved: Solved, point: str) -> str:
    if point not in solved.volts:
        return "not fitted"
    volts = solved.volts[point]
    return "floating" if volts is None else f"{round(volts, 2) + 0.0:.2f} V"
