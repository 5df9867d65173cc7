"""Which files does the next person get, and what is in the archive that holds them?

In: a car, what its papers and its handover say. Out: name -> bytes: the offline copy, the square code for the fuse-box
lid, the papers, the drawings, the job itself, the engine's tables, the gear-change lines, the controller's files, and
the digest of every one of them. The same job gives the same bytes.
"""

from __future__ import annotations

import hashlib
import io
import zipfile
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from loomwright.calibration.starting import StartNumbers
from loomwright.car import Car, Checked
from loomwright.gearbox.box_reading import box_from_rows
from loomwright.gearbox.line_sheet import lines_to_csv
from loomwright.gearbox.lines import lines_of
from loomwright.gearbox.pressure import pressure_csv, pressure_table
from loomwright.handover.handed_over import Changed, ControllerFile, handed_over
from loomwright.handover.pack import pack_of
from loomwright.handover.revision_sheet import History
from loomwright.job.job import Job
from loomwright.job.writing import text_from_job
from loomwright.pages.drive_papers import PackDrive
from loomwright.pages.paper_files import PAPER_FILES, PapersAsked, paper_files
from loomwright.refusals import Refusal
from loomwright.sheets.archive import archive_bytes
from loomwright.sheets.csv_folder import csv_of
from loomwright.writers.gear_chart import lines_chart
from loomwright.writers.label_codes import code_svg
from loomwright.writers.offline_copy import COPY_CSS, copy_html, copy_json
from loomwright.writers.start_tables import table_csv

__all__ = ["COPY_PAGE", "HandoverAsked", "handover_archive", "handover_files"]

COPY_PAGE = "index.html"
"""The offline copy's first page."""
_SUMS = "SHA256SUMS"
_BEGINNING = (1980, 1, 1, 0, 0, 0)
_STEPS = 12
_SAYS: Mapping[str, str] = {
    "handover.json": "All lists of this page, for a program",
    "lid.svg": "The square code for the inside of the fuse-box lid",
    "job.loomjob": "The job itself, to be opened and worked on",
    _SUMS: "The digest of every file, SHA-256",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class HandoverAsked:
    """What is handed over of a job. kept: what lies beside its sheets, as an archive has it.

    changes: its revisions, the newest first.   files: of its controllers, name -> bytes.

    address: of the offline copy.   date: printed on the papers; none where empty.   drive: that goes with them.
    """

    job: Job
    kept: Mapping[str, bytes]
    changes: Sequence[Changed] = ()
    files: Mapping[str, bytes]
    address: str = ""
    date: str = ""
    drive: PackDrive | None = None


def handover_files(
    asked: HandoverAsked, tell: Callable[[int, int], None] | None = None, checked: Checked | None = None
) -> Mapping[str, bytes]:
    """The files of a handover, name -> bytes, in the order of the archive.

    Args:
        asked: what is handed over.
        tell: called with what is done and to do: first states, then files; may raise Stopped.
        checked: what the check found, where it is known.
    """
    car = Car(asked.job)
    found = checked or car.check(tell)
    done = 0

    def making(_: str) -> None:
        nonlocal done
        done = min(done + 1, _STEPS - 1)
        if tell is not None:
            tell(done, _STEPS)

    history = History(changes=tuple(asked.changes), newest=max((one.number for one in asked.changes), default=None))
    pack = pack_of(
        car.job,
        car.scene,
        found.findings,
        states_searched=found.states_searched,
        date=asked.date,
        built=car.as_built() if car.job.progress else None,
        making=making,
        numbers=car.known_numbers,
        history=history,
    )
    papers = dict(paper_files(car, pack, making, PapersAsked(drive=asked.drive)))
    numbers = _numbers(car)
    controllers = [
        ControllerFile(name=name, size=len(data), digest=hashlib.sha256(data).hexdigest())
        for name, data in sorted(asked.files.items())
    ]
    handed = handed_over(
        pack, car.filled, numbers=numbers, changes=asked.changes, files=controllers, address=asked.address
    )
    drawings = _unzipped(papers.pop("drawings.zip", b""))
    beside: dict[str, bytes] = {
        "handover.json": copy_json(handed).encode(),
        "lid.svg": code_svg(handed.code).encode(),
        **{f"papers/{name}": data for name, data in papers.items()},
        **{f"drawings/{name}": data for name, data in drawings.items()},
        **{f"gears/{name}": data for name, data in _gears(car.job).items()},
        **{f"engine/{one.name}.csv": table_csv(one).encode() for one in (numbers.tables if numbers else ())},
        **{f"controller/{name}": data for name, data in sorted(asked.files.items())},
        "job.loomjob": archive_bytes(asked.job, asked.kept),
        **{f"sheets/{name}.csv": csv_of(name, rows).encode() for name, rows in text_from_job(asked.job).items()},
    }
    told = {name: _says(name) for name in beside if not name.startswith("sheets/")} | {_SUMS: _SAYS[_SUMS]}
    files = {COPY_PAGE: copy_html(handed, told).encode(), "copy.css": COPY_CSS.encode(), **beside}
    sums = "".join(f"{hashlib.sha256(data).hexdigest()}  {name}\n" for name, data in files.items())
    return {**files, _SUMS: sums.encode()}


def handover_archive(files: Mapping[str, bytes]) -> bytes:
    """The files of a handover as one archive that any system opens; the same files give the same bytes."""
    with io.BytesIO() as file:
        with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as made:
            for name, data in files.items():
                entry = zipfile.ZipInfo(name, date_time=_BEGINNING)
                entry.compress_type = zipfile.ZIP_DEFLATED
                entry.external_attr = 0o644 << 16
                made.writestr(entry, data)
        return file.getvalue()


def _says(name: str) -> str:
    """What a file of the archive is, in words."""
    folder, _, last = name.rpartition("/")
    if folder == "papers":
        return PAPER_FILES.get(last, "")
    words = {
        "gears": "Gear-change lines, line pressure",
        "engine": "A table the engine starts with",
        "controller": "Off a controller",
    }
    return _SAYS.get(name, words.get(folder, ""))


def _numbers(car: Car) -> StartNumbers | None:
    try:
        return car.numbers()
    except Refusal:  # too little is known of the engine; the list says so
        return None


def _gears(job: Job) -> Mapping[str, bytes]:
    box = box_from_rows((row.name, row.value) for row in job.vehicle)
    made: dict[str, bytes] = {}
    if box is None:
        return made
    for programme in box.programmes:
        lines = lines_of(box, programme)
        made[f"lines_{programme.name}.csv"] = lines_to_csv(box, lines).encode()
        made[f"lines_{programme.name}.svg"] = lines_chart(lines).encode()
        made[f"pressure_{programme.name}.csv"] = pressure_csv(pressure_table(box, lines)).encode()
    return made


def _unzipped(data: bytes) -> Mapping[str, bytes]:
    if not data:
        return {}
    with zipfile.ZipFile(io.BytesIO(data)) as file:
        return {name: file.read(name) for name in file.namelist()}
