"""`loomwright pack`: what is taped to the bench and taken under the car, as a PDF, a workbook, labels and drawings."""

from __future__ import annotations

import sys
from argparse import ArgumentParser, Namespace
from pathlib import Path
from tempfile import TemporaryDirectory

from loomwright.car import Car
from loomwright.cli.asking import add_job, dated, open_given
from loomwright.cli.printing import as_json, counted, show, told, write_file
from loomwright.cli.shelf_folder import add_shelf, open_shelf
from loomwright.cli.telling import telling
from loomwright.drawings.board.board_sheets import MARGIN_MM, PAPERS
from loomwright.handover.pack import Pack
from loomwright.handover.revision_sheet import NO_PAST, History
from loomwright.handover.sections import SECTIONS, sections_asked
from loomwright.logs.mapping import Mapped
from loomwright.pages.drive_papers import PackDrive, drive_papers
from loomwright.pages.paper_files import EVERYTHING, PapersAsked, pack_paper, paper_set
from loomwright.refusals import NoAnswer, OutOfReach
from loomwright.store.past import past_of
from loomwright.store.told_past import history_of_archive, history_of_shelf
from loomwright.writers.paper import page_count

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
    parser.add_argument(
        "--papers", nargs="+", default=[], metavar="PAPER", help=f"these sections alone: {' '.join(SECTIONS)}"
    )
    parser.add_argument("--page-size", choices=sorted(PAPERS), default="a4", help="of all papers; a4 where left out")
    parser.add_argument(
        "--margin", metavar="MM", type=float, default=MARGIN_MM, help="what the printer leaves white, for the board"
    )
    parser.add_argument(
        "--since", default="", metavar="REVISION", help="tell what changed since that revision of an archive or a shelf"
    )
    parser.add_argument(
        "--log",
        default="",
        metavar="FILE",
        help="a recorded drive: what it proves for the dyno, drawn, goes with the pack",
    )
    add_shelf(parser)
    parser.add_argument("--date", default="", metavar="YYYY-MM-DD", help="printed on every page; none where left out")


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code, which says that the pack was made: what is wrong stands in it."""
    path = Path(arguments.out) if arguments.out else Path("out") / _name_of(Path(arguments.job))
    _known_place(path)
    when = dated(arguments.date)
    sections = sections_asked(arguments.papers)
    car, history = _opened(arguments)
    asked = PapersAsked(
        sections=sections,
        page_size=arguments.page_size,
        address=arguments.address,
        margin_mm=arguments.margin,
        history=history,
    )
    if path.suffix.lower() == _PDF:
        found = write_paper(car, path, when, asked)
        written = [path]
    else:
        written, found = write_pack(car, path, when, asked)
        if arguments.log:
            written += _with_drive(car, Path(arguments.log), path)
    if arguments.json:
        as_json({"written": [str(one) for one in written], **found})
    else:
        words = [counted(found[word], word[:-1]) for word in ("faults", "warnings", "notes")]
        show(f"wrote {path}: {', '.join(words)}; {counted(found['pages'], 'page')}, {counted(len(written), 'file')}")
    return 0


def write_pack(
    car: Car, folder: Path, when: str = "", asked: PapersAsked = EVERYTHING
) -> tuple[list[Path], dict[str, int]]:
    """Write the pack of a car into a folder; gives the files and how much stands in them.

    Raises:
        BadDocument: it cannot be written there.
    """
    pack = _pack(car, when, asked)
    files = paper_set(car, pack, _making, asked)
    written = []
    for name, data in files.items():
        _making(name)
        write_file(folder / name, data)
        written.append(folder / name)
    _making("")
    return written, _counts(pack, files["pack.pdf"], sum(name.endswith(".svg") for name in files))


def _with_drive(car: Car, log: Path, folder: Path) -> list[Path]:
    """What a recorded drive proves for the dyno, with its drawings, beside the pack."""
    with TemporaryDirectory() as beside:
        drive = PackDrive(name=log.name, path=log, drawn=Path(beside) / "drive.parquet", mapped=Mapped())
        files = drive_papers(car, drive)
    for name, data in files.items():
        write_file(folder / name, data)
    return [folder / name for name in files]


def write_paper(car: Car, path: Path, when: str = "", asked: PapersAsked = EVERYTHING) -> dict[str, int]:
    """Write the PDF of a car's pack alone; gives how much stands in it.

    Raises:
        BadDocument: it cannot be written there.
    """
    pack = _pack(car, when, asked)
    pdf, drawings, _ = pack_paper(car, pack, _making, asked)
    _making("")
    write_file(path, pdf)
    return _counts(pack, pdf, len(drawings))


def _pack(car: Car, when: str, asked: PapersAsked) -> Pack:
    shown = telling()
    return car.pack(date=when, tell=shown, making=_making, history=asked.history)


def _opened(arguments: Namespace) -> tuple[Car, History]:
    """The car, and its job's past where that is known: on the shelf where one is named, else in an archive."""
    since = _revision(arguments.since)
    if arguments.shelf:
        shelf = open_shelf(arguments)
        try:
            snapshot = shelf.now(arguments.job)
            if snapshot.job is None:
                raise NoAnswer("the papers", ("Its rows do not fit each other yet: see the findings.",))
            return Car(snapshot.job), history_of_shelf(shelf, arguments.job, since)
        finally:
            shelf.close()
    opened = open_given(arguments.job)
    past, why = past_of(opened.kept, opened.job)
    if past is None and since is not None:
        kept = why or "a folder, a workbook and a JSON document keep no revisions"
        raise NoAnswer(
            "what changed since", (f"{kept[:1].upper()}{kept[1:]}.", "Name an archive, or a job with --shelf.")
        )
    return Car(opened.job), NO_PAST if past is None else history_of_archive(past, since)


def _revision(text: str) -> int | None:
    if not text:
        return None
    if not (text.isascii() and text.isdecimal() and int(text) > 0):
        raise OutOfReach("--since", text, "the number of a revision, from 1")
    return int(text)


def _counts(pack: Pack, pdf: bytes, drawings: int) -> dict[str, int]:
    words = [entry.severity for entry in pack.paper.findings]
    return {
        **{f"{word}s": words.count(word) for word in ("fault", "warning", "note")},
        "pages": page_count(pdf),
        "drawings": drawings,
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
