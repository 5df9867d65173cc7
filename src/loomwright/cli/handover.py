"""`loomwright handover`: all the next person needs as one archive."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Mapping, Sequence
from pathlib import Path
from tempfile import TemporaryDirectory

from loomwright.cli.asking import add_job, dated, open_given
from loomwright.cli.printing import as_json, counted, show, told, write_file
from loomwright.cli.telling import telling
from loomwright.handover.handed_over import Changed
from loomwright.logs.mapping import Mapped
from loomwright.pages.drive_papers import PackDrive
from loomwright.pages.handover_files import HandoverAsked, handover_archive, handover_files
from loomwright.refusals import OutOfReach
from loomwright.store.past import past_of

__all__ = ["HELP", "add_arguments", "run"]

HELP = "the handover: papers, baseline, limits, changes and an offline copy as one archive"
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


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code."""
    opened = open_given(arguments.job)
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
                date=dated(arguments.date),
                drive=_drive(arguments.log, Path(beside)),
            ),
            telling(),
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
