"""Which files are the papers of a job, and what stands in them?

In: the pack of a car. Out: bytes under names: the PDF, the workbook, the labels, the drawings alone. The same for the
command and for the page. Also the job itself in each of its containers, as a file to send.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable, Iterable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

from loomwright.car import Car
from loomwright.drawings.board.board_sheets import MARGIN_MM, BoardPrint, board_print
from loomwright.drawings.circuit_drawing import circuit_drawings
from loomwright.drawings.symbols.items import Drawing
from loomwright.findings import Finding
from loomwright.handover.kept_sheet import LIGHT_CHART, kept_sheet, sensor_chart
from loomwright.handover.lists import lists_of
from loomwright.handover.pack import Pack
from loomwright.handover.proof_sheet import proof_sheet
from loomwright.handover.revision_sheet import NO_PAST, History
from loomwright.handover.sections import SECTIONS, sections_asked
from loomwright.handover.start_sheet import start_sheet
from loomwright.job.job import Job
from loomwright.job.writing import text_from_job
from loomwright.pages.drive_papers import PackDrive, drive_papers
from loomwright.pages.finding_ways import way_drawings, way_of
from loomwright.proving.plan import stood_of
from loomwright.refusals import BadDocument
from loomwright.sheets.archive import archive_bytes
from loomwright.sheets.csv_folder import csv_of
from loomwright.sheets.json_document import json_bytes
from loomwright.sheets.list_workbook import pack_workbook
from loomwright.sheets.separated import text_from_rows
from loomwright.sheets.workbook_writing import workbook_bytes
from loomwright.startup.kept_readings import kept_sensors, kept_timing
from loomwright.writers.board_paper import board_pdf
from loomwright.writers.dxf import circuit_dxf, dxf_text
from loomwright.writers.paper import CircuitPage, pack_pdf
from loomwright.writers.proof_paper import proof_pdf
from loomwright.writers.start_paper import start_pdf
from loomwright.writers.start_tables import table_chart
from loomwright.writers.svg import svg_text
from loomwright.writers.timing_chart import timing_chart

__all__ = [
    "EVERYTHING",
    "JOB_FILES",
    "PAPER_FILES",
    "PapersAsked",
    "asked_words",
    "board_files",
    "drawing_dxf",
    "drawing_pages",
    "first_start_pdf",
    "job_file",
    "label_text",
    "pack_paper",
    "paper_files",
    "paper_set",
    "plan_pdf",
    "way_pages",
]

PAPER_FILES: Mapping[str, str] = {
    "pack.pdf": "The build pack: drawings, wires, cuts, fuses, connectors, tests, labels",
    "tests.pdf": "The test plan: every test with its band, blank or as it was read",
    "start.pdf": "The first start: a page for the wall, the list, the starting numbers and their tables",
    "dyno.pdf": "Ready for the dyno: each criterion with its record, and the newest recorded drive, drawn",
    "pack.xlsx": "Its lists as a workbook",
    "labels.csv": "Labels, two a wire, for a label printer",
    "board.pdf": "The layout board: the loom flat, its sheets at true size to be joined",
    "board.dxf": "The same for a plotter, in layers",
    "drawings.zip": "The circuit drawings alone, as SVG and as DXF",
}
"""File -> what it is."""

JOB_FILES: Mapping[str, str] = {
    "xlsx": "a workbook, to be worked in and taken in again",
    "loomjob": "an archive: the sheets, the photos, every revision",
    "json": "a JSON document, for a program",
    "zip": "the sheets as CSV files",
}
"""Ending -> what the job is in it."""

_DRAWINGS = "drawings/"
_NO_CIRCUIT = "no-circuit"
_LABELS = ("id", "end", "here", "there", "from", "to", "colour", "size", "circuit")
_BEGINNING = (1980, 1, 1, 0, 0, 0)
_NOTHING: Mapping[str, bytes] = {}


@dataclass(frozen=True, slots=True, kw_only=True)
class PapersAsked:
    """Which papers are wanted, and how. sections: of the pack, all where empty.   page_size: a4, a3 or letter.

    address: what the codes on the labels begin with; empty: ids alone.   margin_mm: what the printer leaves white. [mm]
    history: what is known of the job's past.   drive: a recorded drive that goes with them.
    """

    sections: tuple[str, ...] = ()
    page_size: str = "a4"
    address: str = ""
    margin_mm: float = MARGIN_MM
    history: History = NO_PAST
    drive: PackDrive | None = None


EVERYTHING = PapersAsked()
"""All of them on A4."""


def asked_words(asked: PapersAsked) -> str:
    """Which papers were wanted and how, in words; empty: all of them on A4.

    Example:
        >>> asked_words(PapersAsked(sections=("wires", "labels"), page_size="a3"))
        'on A3: Wire list, Labels'
    """
    words = [] if asked.page_size == "a4" else [f"on {asked.page_size.upper()}"]
    if asked.history.since is not None:
        words.append(f"changes since revision {asked.history.since}")
    if asked.drive is not None:
        words.append(f"with the drive {asked.drive.name}")
    told = ", ".join(words)
    if asked.sections:
        told = f"{told}: " * bool(told) + ", ".join(SECTIONS[name] for name in sections_asked(asked.sections))
    return told


def paper_files(
    car: Car, pack: Pack, making: Callable[[str], None], asked: PapersAsked = EVERYTHING
) -> Mapping[str, bytes]:
    """The papers of a pack, file -> bytes, the drawings in one archive.

    Args:
        car: whose drawings they are.
        pack: what stands in them.
        making: told which file is made next; may raise Stopped.
        asked: which of them are wanted, and how.
    """
    made = paper_set(car, pack, making, asked)
    drawn = {name.removeprefix(_DRAWINGS): data for name, data in made.items() if name.startswith(_DRAWINGS)}
    files = {name: data for name, data in made.items() if not name.startswith(_DRAWINGS)}
    return {**files, **({"drawings.zip": _zipped(drawn)} if drawn else {})}


def paper_set(
    car: Car, pack: Pack, making: Callable[[str], None], asked: PapersAsked = EVERYTHING
) -> Mapping[str, bytes]:
    """The papers of a pack, file -> bytes, a file of its own for each drawing.

    Args:
        car: whose drawings they are.
        pack: what stands in them.
        making: told which file is made next; may raise Stopped.
        asked: which of them are wanted, and how.
    """
    drawings, made = _drawn(car, pack, making, asked)
    with ThreadPoolExecutor(1, thread_name_prefix="setting") as beside:
        setting = beside.submit(_set, pack, drawings, made, asked)  # the typesetter leaves Python free meanwhile
        files = {"pack.pdf": b"", **_other_papers(car, pack, making, asked)}
        if made is not None:
            files |= board_files(made, pack.paper.title.date)
        files |= {f"{_DRAWINGS}{one.circuit}.svg": one.svg.encode() for one in drawings}
        if drawings:
            files |= {f"{_DRAWINGS}{name}.dxf": data for name, data in drawing_dxf(car).items()}
        making("pack.pdf")
        files["pack.pdf"] = setting.result()
    return files


def _other_papers(car: Car, pack: Pack, making: Callable[[str], None], asked: PapersAsked) -> dict[str, bytes]:
    """Tests, first start, recorded drive, workbook and labels."""
    wanted = sections_asked(asked.sections)
    date, files = pack.paper.title.date, dict[str, bytes]()
    if "tests" in wanted:
        making("tests.pdf")
        files["tests.pdf"] = plan_pdf(car, date, asked.page_size)
        making("start.pdf")
        files["start.pdf"] = first_start_pdf(car, date, asked.page_size)
        if asked.drive is not None:
            making("dyno.pdf")
            files |= drive_papers(car, asked.drive)
    making("pack.xlsx")
    title = pack.paper.title
    files["pack.xlsx"] = pack_workbook(lists_of(pack), title=title.title, revision=title.revision)
    if "labels" in wanted:
        making("labels.csv")
        files["labels.csv"] = label_text(pack).encode()
    return files


def pack_paper(
    car: Car, pack: Pack, making: Callable[[str], None], asked: PapersAsked = EVERYTHING
) -> tuple[bytes, tuple[CircuitPage, ...], BoardPrint | None]:
    """The pack as a PDF, with the drawings and the board that stand in it; neither where it is not asked for.

    Args:
        car: whose drawings they are.
        pack: what stands in it.
        making: told what is made next; may raise Stopped.
        asked: which sections are wanted, and how.
    """
    drawings, made = _drawn(car, pack, making, asked)
    making("pack.pdf")
    return _set(pack, drawings, made, asked), drawings, made


def _drawn(
    car: Car, pack: Pack, making: Callable[[str], None], asked: PapersAsked
) -> tuple[tuple[CircuitPage, ...], BoardPrint | None]:
    """The drawings and the board that stand in the PDF, where they are asked for."""
    wanted = sections_asked(asked.sections)
    drawings: tuple[CircuitPage, ...] = ()
    if "drawings" in wanted:
        making("drawings")
        drawings = (*drawing_pages(car), *way_pages(car, pack.ways))
    made = None
    if "board" in wanted:
        making("board.pdf")
        made = board_print(car.board(), paper=asked.page_size, margin_mm=asked.margin_mm)
    return drawings, made


def _set(pack: Pack, drawings: tuple[CircuitPage, ...], made: BoardPrint | None, asked: PapersAsked) -> bytes:
    wanted = sections_asked(asked.sections)
    return pack_pdf(pack, drawings, board=made, address=asked.address, asked=wanted, page_size=asked.page_size)


def board_files(made: BoardPrint, date: str = "") -> Mapping[str, bytes]:
    """The layout board as files: its sheets, and the same for a plotter.

    Args:
        date: printed as it stands; none where empty.
    """
    return {
        "board.pdf": board_pdf(made, date=date),
        "board.dxf": dxf_text(made.board.items, height_mm=made.board.height_mm).encode(),
    }


def drawing_dxf(car: Car) -> Mapping[str, bytes]:
    """The circuit drawings as DXF, by the names of their pages."""
    return {_sheet_name(one): circuit_dxf(one).encode() for one in circuit_drawings(car.laid)}


def plan_pdf(car: Car, date: str = "", page_size: str = "a4") -> bytes:
    """The test plan of a car as a paper, with what was read so far.

    Args:
        date: printed as it stands; none where empty.
        page_size: a4, a3 or letter.
    """
    stood = stood_of(car.proof_plan().plan.tests, car.job.proofs)
    return proof_pdf(proof_sheet(car.job, stood), date=date, page_size=page_size)


def first_start_pdf(car: Car, date: str = "", page_size: str = "a4") -> bytes:
    """The papers of a car's first start; without numbers where too little is known of its engine.

    Args:
        date: printed as it stands; none where empty.
        page_size: a4, a3 or letter.
    """
    numbers, lacking = None, ""
    try:
        numbers = car.numbers()
    except BadDocument as refusal:
        lacking = " ".join(one.says for one in refusal.problems)
    title = next((row.value for row in car.job.vehicle if row.name == "title" and row.value), "The car")
    charts = {} if numbers is None else {one.name: table_chart(one) for one in numbers.tables}
    timing, sensors = kept_timing(car.job), kept_sensors(car.job)
    if timing is not None and timing.found is not None:
        charts[LIGHT_CHART] = timing_chart(timing.readings, timing.found)
    for one in () if sensors is None else sensors.curves:
        if one.curve is not None:
            charts[sensor_chart(one.sensor)] = table_chart(one.curve.table)
    sheet = start_sheet(title, car.first_start(), numbers, lacking, kept_sheet(timing, sensors))
    return start_pdf(sheet, charts, date=date)


def job_file(job: Job, ending: str, kept: Mapping[str, bytes] = _NOTHING) -> bytes:
    """A job as a file, by its ending: one of `JOB_FILES`.

    Args:
        job: as the sheets have it.
        ending: xlsx, loomjob, json or zip.
        kept: member -> bytes of what lies beside the sheets in an archive.
    Raises:
        BadDocument: it cannot be written so.
    """
    if ending == "loomjob":
        return archive_bytes(job, kept)
    if ending == "json":
        return json_bytes(job)
    if ending == "xlsx":
        return workbook_bytes(job)
    return _zipped({f"{name}.csv": csv_of(name, rows).encode() for name, rows in text_from_job(job).items()})


def drawing_pages(car: Car) -> tuple[CircuitPage, ...]:
    """The circuit drawings as pages; further sheets of a circuit have their number behind its name."""
    pages = []
    for one in circuit_drawings(car.laid):
        name = one.id or _NO_CIRCUIT
        count = f", sheet {one.sheet} of {one.sheets}" if one.sheets > 1 else ""
        pages.append(
            CircuitPage(
                circuit=_sheet_name(one),
                title=f"{name}: {one.title}{count}" if one.title != name else f"{name}{count}",
                svg=svg_text(one),
                width_mm=one.width_mm,
                height_mm=one.height_mm,
            )
        )
    return tuple(pages)


def _sheet_name(one: Drawing) -> str:
    """A sheet's name: its circuit, and its number from the second on."""
    return f"{one.id or _NO_CIRCUIT}-{one.sheet}" if one.sheet > 1 else one.id or _NO_CIRCUIT


def way_pages(car: Car, findings: Iterable[Finding]) -> tuple[CircuitPage, ...]:
    """The ways that currents of findings take, as pages; one that takes no wire has none."""
    pages = []
    for number, finding in enumerate(findings, start=1):
        for one in way_drawings(car, way_of(car, finding)):
            more = f"-{one.sheet}" if one.sheet > 1 else ""
            pages.append(
                CircuitPage(
                    circuit=f"way-{number}-{finding.rule}{more}",
                    title=f"the way of {finding.rule} {finding.label or ' '.join(finding.at[:1])}".rstrip(),
                    svg=svg_text(one),
                    width_mm=one.width_mm,
                    height_mm=one.height_mm,
                )
            )
    return tuple(pages)


def label_text(pack: Pack) -> str:
    """The labels as CSV, a row an end."""
    rows: list[Mapping[str, str]] = []
    for one in pack.labels:
        start, end = (one.here, one.there) if one.end == "from" else (one.there, one.here)
        cells: Sequence[str] = (one.wire, one.end, one.here, one.there, start, end, one.colour, one.size, one.circuit)
        rows.append(dict(zip(_LABELS, cells, strict=True)))
    return text_from_rows(_LABELS, rows)


def _zipped(members: Mapping[str, bytes]) -> bytes:
    """Members as a zip, the same bytes for the same members."""
    with io.BytesIO() as file:
        with zipfile.ZipFile(file, "w", zipfile.ZIP_STORED) as made:
            for name, data in members.items():
                made.writestr(zipfile.ZipInfo(name, date_time=_BEGINNING), data)
        return file.getvalue()
