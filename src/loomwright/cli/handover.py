"""`loomwright handover`: all the next person needs as one archive; once the car is back, what has moved and why."""

from __future__ import annotations

import csv
import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory

from loomwright.car import Car
from loomwright.cli.asking import add_job, open_given
from loomwright.cli.check import tell
from loomwright.cli.locate import located_plain, show_causes
from loomwright.cli.printing import as_json, counted, show, show_hanging, told, write_file
from loomwright.handover.handed_over import Changed
from loomwright.handover.later_visit import ReadAgain, read_again, readings_of, symptom_of
from loomwright.job.conditions import parse_condition
from loomwright.logs.mapping import Mapped
from loomwright.pages.drive_papers import PackDrive
from loomwright.pages.handover_files import HandoverAsked, handover_archive, handover_files
from loomwright.proving.locate import Located
from loomwright.refusals import OutOfReach
from loomwright.sheets.opening import Opened
from loomwright.store.past import past_of

__all__ = ["HELP", "add_arguments", "run"]

HELP = "the handover: papers, baseline, limits, changes and an offline copy as one archive; later, what has moved"
_MOST_FILE_BYTES = 200_000_000


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_job(parser)
    parser.add_argument("--out", default="", metavar="FILE.zip", help="where to; JOB-handover.zip where left out")
    parser.add_argument(
        "--attach", nargs="+", default=[], metavar="FILE", help="files off a controller; their digests are listed"
    )
    parser.add_argument(
        "--address",
        default="",
        metavar="URL",
        help="what the code in the fuse-box lid opens; the code holds its lines itself where left out",
    )
    parser.add_argument("--log", default="", metavar="FILE", help="a recorded drive: what it proves, drawn, goes along")
    parser.add_argument("--date", default="", metavar="YYYY-MM-DD", help="printed on the papers; none where left out")
    parser.add_argument(
        "--visit", default="", metavar="FILE.csv", help="readings of a later visit, columns test and value: compare"
    )
    parser.add_argument(
        "--dead", action="append", default=[], metavar="PART", help="what does nothing on a later visit: its causes"
    )
    parser.add_argument("--state", default="", metavar="STATE", help="the car as it stands while that should work")


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code: 1 where a later visit found something that is not as it was."""
    opened = open_given(arguments.job)
    if arguments.visit or arguments.dead:
        return _visited(arguments, opened)
    if arguments.state:
        raise OutOfReach("--state", arguments.state, "--state together with --dead PART")
    path = Path(arguments.out or f"{Path(arguments.job).stem or 'job'}-handover.zip")
    if path.suffix.lower() != ".zip":
        raise OutOfReach("--out", str(path), "a file name that ends with .zip")
    past, why = past_of(opened.kept, opened.job)
    revisions = reversed(past.revisions) if past is not None else ()
    with TemporaryDirectory() as beside:
        files = handover_files(
            HandoverAsked(
                job=opened.job,
                kept=opened.kept,
                changes=tuple(Changed(number=one.number, time=one.time, who=one.who, why=one.why) for one in revisions),
                files=_attached(arguments.attach),
                address=arguments.address,
                date=_date(arguments.date),
                drive=_drive(arguments.log, Path(beside)),
            ),
            tell if sys.stderr.isatty() else None,
        )
    data = handover_archive(files)
    write_file(path, data)
    if arguments.json:
        as_json({"written": str(path), "bytes": len(data), "files": {name: len(one) for name, one in files.items()}})
    else:
        show(f"wrote {path}: {counted(len(files), 'file')}, {len(data) / 1e6:.1f} MB; open index.html in it first")
        if why:
            show(f"The changes are not in it: {why}.")
    return 0


def _drive(log: str, beside: Path) -> PackDrive | None:
    path = Path(log)
    return PackDrive(name=path.name, path=path, drawn=beside / "drive.parquet", mapped=Mapped()) if log else None


def _attached(names: Sequence[str]) -> Mapping[str, bytes]:
    found: dict[str, bytes] = {}
    for name in names:
        path = Path(name)
        try:
            if path.stat().st_size > _MOST_FILE_BYTES:
                raise OutOfReach("--attach", name, f"a file of at most {_MOST_FILE_BYTES // 1_000_000} MB")
            data = path.read_bytes()
        except OSError as fault:
            raise told(name, "a file that can be read", "Name a file that is there") from fault
        if path.name in found:
            raise OutOfReach("--attach", name, f"each name once; there are two called {path.name}: rename one")
        found[path.name] = data
    return found


def _date(text: str) -> str:
    try:
        return date.fromisoformat(text).isoformat() if text else ""
    except ValueError:
        raise OutOfReach("--date", text, "year, month and day: 2024-05-17") from None


def _visited(arguments: Namespace, opened: Opened) -> int:
    again = read_again(opened.job.proofs, _visit(Path(arguments.visit))) if arguments.visit else ()
    off = [one for one in again if one.verdict in ("moved", "outside")]
    when = parse_condition(arguments.state or "always")
    symptoms = [symptom_of(opened.job, dead, when) for dead in arguments.dead]
    readings = [*(readings_of(again) if off else ()), *symptoms]
    found = Car(opened.job).located(readings, tell if sys.stderr.isatty() else None) if readings else None
    if arguments.json:
        rows = [
            {"test": one.test, "then": one.then, "now": one.now, "unit": one.unit, "verdict": one.verdict}
            for one in again
        ]
        as_json({"readings": rows, "causes": None if found is None else located_plain(found)})
    else:
        _show(again, found)
    return 1 if off or symptoms else 0


def _visit(path: Path) -> list[tuple[str, str]]:
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            rows = [(row.get("test") or "", row.get("value") or "") for row in csv.DictReader(file)]
    except (OSError, UnicodeDecodeError) as fault:
        raise told(str(path), "a CSV file of readings", "Its headings: test and value") from fault
    if not rows or not all(test for test, _ in rows):
        raise told(f"{path}: a row without a test", "the headings test and value, and both in every row", "Fill it in")
    return rows


def _show(again: Sequence[ReadAgain], found: Located | None) -> None:
    for one in again:
        show_hanging(
            f"{one.verdict.upper():12}{one.test}: then {one.then or '-'}, now {one.now} {one.unit}".rstrip(), " " * 12
        )
    if again:
        same = sum(one.verdict == "as then" for one in again)
        show(f"{counted(len(again), 'reading')}, {same} as then.")
    if found is None:
        return
    show("Causes, the likeliest first, on the car as it was built:")
    show_causes(found)
    for point in found.next[:1]:
        show(f"Read next: {point.point}, {point.when}.")
    show("A fault is proved by mending it and reading again, not by odds.")
