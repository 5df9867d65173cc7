"""`loomwright timing`: readings of a timing light against what was commanded: offset, delay, and the usual mistakes."""

from __future__ import annotations

import csv
from argparse import ArgumentParser, Namespace
from pathlib import Path

from loomwright.cli.printing import as_json, show, show_hanging, told
from loomwright.refusals import BadDocument, Problem
from loomwright.startup.plain import timing_plain
from loomwright.startup.timing import TimingReading, teeth_of, timing_of

__all__ = ["HELP", "add_arguments", "run"]

HELP = "readings of a timing light against what the controller commands: which to correct, how much, which way"
_NEEDED = ("rpm", "commanded_deg", "seen_deg")


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    parser.add_argument(
        "--readings",
        required=True,
        metavar="FILE",
        help="a CSV file: rpm, commanded_deg, seen_deg, and where known cylinder, stroke",
    )
    parser.add_argument("--cylinders", type=int, default=4, metavar="COUNT", help="of the engine; 4 where left out")
    parser.add_argument("--teeth", default="", metavar="WHEEL", help="the crank wheel: 60-2, 36-1")
    parser.add_argument("--wasted-spark", action="store_true", help="coils fire two cylinders at once")
    parser.add_argument("--json", action="store_true", help="the answer as JSON instead of sentences")


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code: 1 where something is to be corrected."""
    found = timing_of(
        readings_from(Path(arguments.readings)),
        cylinders=arguments.cylinders,
        teeth=teeth_of(arguments.teeth),
        wasted_spark=arguments.wasted_spark,
    )
    if arguments.json:
        as_json(timing_plain(found))
        return 0 if found.is_true else 1
    show("Fan and belt look still under the light. They turn: hands, leads and sleeves away.")
    for name, one in (("offset", found.offset), ("delay", found.delay)):
        if one is not None:
            show(
                f"{name}: {one.value:+.2f} {one.unit} (95 %: {one.low:+.2f} to {one.high:+.2f}), {found.used} readings"
            )
    for apart in found.apart:
        show_hanging(f"Reading {apart.number}, {apart.reading.rpm:g}/min, set apart: {apart.why}.", "    ")
    for says in found.says:
        show_hanging(says, "    ")
    return 0 if found.is_true else 1


def readings_from(path: Path) -> tuple[TimingReading, ...]:
    """The readings of a file.

    Raises:
        BadDocument: it cannot be read, a heading is missing, or a cell is no figure.
    """
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            rows = list(csv.DictReader(file))
    except (OSError, UnicodeDecodeError, csv.Error) as fault:
        raise told(str(path), "a CSV file of readings", f"Its headings: {' '.join(_NEEDED)}") from fault
    missing = [name for name in _NEEDED if rows and name not in rows[0]]
    if not rows or missing:
        raise told(
            f"{path}: no {', '.join(missing) or 'row'}", " ".join(_NEEDED), "Write the headings in the first row"
        )
    problems: list[Problem] = []
    made: list[TimingReading] = []
    for number, row in enumerate(rows, start=2):
        figures: dict[str, float] = {}
        for name in _NEEDED:
            try:
                figures[name] = float((row[name] or "").replace(",", "."))
            except ValueError:
                problems.append(
                    Problem(
                        sheet=path.name,
                        row=number,
                        column=name,
                        found=row[name] or "",
                        allowed="a figure",
                        mend="Read it again",
                    )
                )
        if len(figures) == len(_NEEDED):
            words = {name: (row.get(name) or "").strip() for name in ("cylinder", "stroke")}
            made.append(TimingReading(**figures, **words))  # type: ignore[arg-type]  # figures and words by their names
    if problems:
        raise BadDocument(tuple(problems))
    return tuple(made)
