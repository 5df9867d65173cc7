"""`loomwright pack`: the paper of a job, as a PDF for the bench and for the next person."""

from __future__ import annotations

import sys
from argparse import ArgumentParser, Namespace
from datetime import date
from pathlib import Path

from loomwright.car import Car
from loomwright.cli.asking import add_job, open_car
from loomwright.cli.check import tell
from loomwright.cli.printing import as_json, counted, show, write_file
from loomwright.refusals import OutOfReach
from loomwright.writers.paper import paper_pdf

__all__ = ["HELP", "add_arguments", "run", "write_paper"]

HELP = "the paper of a job as a PDF: cautions, findings, wires, readings to expect, fuses"


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_job(parser)
    parser.add_argument("--out", metavar="FILE.pdf", help="where to; out/ and the job's name where left out")
    parser.add_argument(
        "--date", default="", metavar="YYYY-MM-DD", help="printed in the title block; none where left out"
    )


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code, which says that the paper was made: what is wrong stands in it."""
    path = Path(arguments.out or Path("out") / f"{Path(arguments.job).name or 'paper'}.pdf")
    if path.suffix.lower() != ".pdf":
        raise OutOfReach("--out", str(path), "a file name that ends with .pdf")
    when = _date(arguments.date)
    car = open_car(arguments.job)
    found = write_paper(car, path, when)
    if arguments.json:
        as_json({"written": str(path), **found})
    else:
        show(f"wrote {path}: {', '.join(counted(number, word[:-1]) for word, number in found.items())}")
    return 0


def write_paper(car: Car, path: Path, when: str = "") -> dict[str, int]:
    """Write the paper of a car; gives how many faults, warnings and notes stand in it.

    Raises:
        BadDocument: it cannot be written there.
    """
    paper = car.paper(date=when, tell=tell if sys.stderr.isatty() else None)
    write_file(path, paper_pdf(paper))
    words = [entry.severity for entry in paper.findings]
    return {f"{word}s": words.count(word) for word in ("fault", "warning", "note")}


def _date(text: str) -> str:
    if not text:
        return ""
    try:
        return date.fromisoformat(text).isoformat()
    except ValueError:
        raise OutOfReach("--date", text, "year, month and day: 2024-05-17") from None
