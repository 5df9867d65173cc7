"""`loomwright pack`: what is taped to the bench and taken under the car, as a PDF, a workbook, labels and drawings."""

from __future__ import annotations

import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Sequence
from datetime import date
from pathlib import Path

from loomwright.car import Car
from loomwright.cli.asking import add_job, open_car
from loomwright.cli.check import tell
from loomwright.cli.printing import as_json, counted, show, told, write_file
from loomwright.drawings.board.board_sheets import BoardPrint, board_print
from loomwright.handover.lists import lists_of
from loomwright.handover.pack import Pack
from loomwright.pages.paper_files import (
    board_files,
    drawing_dxf,
    drawing_pages,
    first_start_pdf,
    label_text,
    plan_pdf,
    way_pages,
)
from loomwright.refusals import OutOfReach
from loomwright.writers.pack_workbook import pack_workbook
from loomwright.writers.paper import CircuitPage, pack_pdf, page_count

__all__ = ["HELP", "add_arguments", "run", "write_pack", "write_paper"]

HELP = "the build pack: drawings, wires, cuts, fuses, connectors, tests and labels as PDF and workbook"

_PDF = ".pdf"
_OTHER_FILES = (".xlsx", ".xls", ".ods", ".csv", ".txt", ".svg", ".png", ".zip", ".json", ".doc", ".docx", ".html")


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_job(parser)
    parser.add_argument(
        "--out",
        metavar="FOLDER",
        help="where to: a folder, or a FILE.pdf for the PDF alone; out/ and the job's name where left out",
    )
    parser.add_argument(
        "--address",
        default="",
        metavar="URL",
        help="what the codes on the labels begin with: http://bench:8140/j/van/wire/; ids alone where left out",
    )
    parser.add_argument("--date", default="", metavar="YYYY-MM-DD", help="printed on every page; none where left out")


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code, which says that the pack was made: what is wrong stands in it."""
    path = Path(arguments.out) if arguments.out else Path("out") / _name_of(Path(arguments.job))
    _known_place(path)
    when = _date(arguments.date)
    car = open_car(arguments.job)
    if path.suffix.lower() == _PDF:
        found = write_paper(car, path, when, arguments.address)
        written = [path]
    else:
        written, found = write_pack(car, path, when, arguments.address)
    if arguments.json:
        as_json({"written": [str(one) for one in written], **found})
    else:
        words = [counted(found[word], word[:-1]) for word in ("faults", "warnings", "notes")]
        show(f"wrote {path}: {', '.join(words)}; {counted(found['pages'], 'page')}, {counted(len(written), 'file')}")
    return 0


def write_pack(car: Car, folder: Path, when: str = "", address: str = "") -> tuple[list[Path], dict[str, int]]:
    """Write the pack of a car into a folder; gives the files and how much stands in them.

    Raises:
        BadDocument: it cannot be written there.
    """
    pack, drawings, made, pdf = _made(car, when, address)
    _making("pack.xlsx")
    title = pack.paper.title
    _making("tests.pdf")
    tests = plan_pdf(car, when)
    _making("start.pdf")
    files: dict[str, bytes] = {
        "pack.pdf": pdf,
        "tests.pdf": tests,
        "start.pdf": first_start_pdf(car, when),
        "pack.xlsx": pack_workbook(lists_of(pack), title=title.title, revision=title.revision),
        "labels.csv": label_text(pack).encode(),
    }
    _making("board.pdf")
    files |= board_files(made, when)
    files |= {f"drawings/{one.circuit}.svg": one.svg.encode() for one in drawings}
    files |= {f"drawings/{name}.dxf": data for name, data in drawing_dxf(car).items()}
    written = []
    for name, data in files.items():
        _making(name)
        write_file(folder / name, data)
        written.append(folder / name)
    _making("")
    return written, _counts(pack, pdf, drawings)


def write_paper(car: Car, path: Path, when: str = "", address: str = "") -> dict[str, int]:
    """Write the PDF of a car's pack alone; gives how much stands in it.

    Raises:
        BadDocument: it cannot be written there.
    """
    pack, drawings, _, pdf = _made(car, when, address)
    _making("")
    write_file(path, pdf)
    return _counts(pack, pdf, drawings)


def _made(car: Car, when: str, address: str) -> tuple[Pack, tuple[CircuitPage, ...], BoardPrint, bytes]:
    pack = car.pack(date=when, tell=tell if sys.stderr.isatty() else None, making=_making)
    _making("drawings")
    drawings = (*drawing_pages(car), *way_pages(car, pack.ways))
    made = board_print(car.board())
    _making("pack.pdf")
    return pack, drawings, made, pack_pdf(pack, drawings, board=made, address=address)


def _counts(pack: Pack, pdf: bytes, drawings: Sequence[CircuitPage]) -> dict[str, int]:
    words = [entry.severity for entry in pack.paper.findings]
    return {
        **{f"{word}s": words.count(word) for word in ("fault", "warning", "note")},
        "pages": page_count(pdf),
        "drawings": len(drawings),
        "wires": len(pack.paper.wires),
        "cuts": sum(len(reel.cuts) for reel in pack.cuts.reels),
        "fuses": len(pack.paper.fuses),
        "relays": len(pack.relays),
        "connectors": len(pack.connectors),
        "dead_tests": sum(len(here.tests) for here in pack.dead),
        "live_tests": sum(len(part.lines) for part in pack.paper.readings),
        "output_tests": len(pack.outputs.tests),
        "labels": len(pack.labels),
        "open": len(pack.parts.open),
        "decided": sum(len(note.cells) for note in pack.notes),
    }


def _name_of(job: Path) -> str:
    return (job.name if job.is_dir() else job.stem) or "pack"


def _known_place(path: Path) -> None:
    """Refuse a place that can be neither a folder nor a PDF, before anything is worked out.

    Raises:
        BadDocument: a file stands where the folder should be made, or a folder where the file should.
        OutOfReach: the name of another kind of file.
    """
    allowed = "a folder, or a file name that ends with .pdf"
    if path.suffix.lower() in _OTHER_FILES:
        raise OutOfReach("--out", str(path), allowed)
    try:
        is_file, is_folder = path.is_file(), path.is_dir()
    except (OSError, ValueError):  # a name no file can have: told when it is written
        return
    if path.suffix.lower() == _PDF and is_folder:
        raise told(f"{path}: a folder of that name is there", "a file that can be written", "Name another file")
    if path.suffix.lower() != _PDF and is_file:
        raise told(f"{path}: a file of that name is there", allowed, "Name another folder")


def _making(what: str) -> None:
    """Keep one line on the terminal about what is being made; an empty word ends it."""
    if sys.stderr.isatty():
        sys.stderr.write(f"\r\x1b[Kmaking {what} …" if what else "\r\x1b[K")
        sys.stderr.flush()


def _date(text: str) -> str:
    if not text:
        return ""
    try:
        return date.fromisoformat(text).isoformat()
    except ValueError:
        raise OutOfReach("--date", text, "year, month and day: 2024-05-17") from None
