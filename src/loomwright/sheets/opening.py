"""Which container is a job in, and which shall it go into? By the ending of the name, and by what is there.

| ending     | what it is                                             |
|------------|--------------------------------------------------------|
| (a folder) | one CSV file a sheet (`csv_folder`)                    |
| `.xlsx`    | a workbook (`workbook`)                                |
| `.loomjob` | an archive with photos and history (`archive`)         |
| `.json`    | one JSON document (`json_document`)                    |

A file whose content is of another sort than its ending says is not opened: it is told what it is and how to call it.
All four hold the same job without loss; photos and history have a place in an archive only, and whoever writes
anything else is told what was left out.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from loomwright.job.fixed_map import FixedMap
from loomwright.job.job import Job
from loomwright.job.points import Kinds
from loomwright.refusals import BadDocument, Problem
from loomwright.sheets.archive import ABOUT, MOST_ARCHIVE_BYTES, read_archive, write_archive
from loomwright.sheets.csv_folder import open_folder, write_folder
from loomwright.sheets.json_document import open_json, write_json
from loomwright.sheets.one_file import lies_there, read_whole
from loomwright.sheets.zip_guard import zip_names
from loomwright.sheets.zip_layout import starts_like_zip

__all__ = ["CONTAINERS", "Opened", "open_job", "open_with_kept", "write_job"]

_FOLDER, _WORKBOOK, _ARCHIVE, _JSON = "", ".xlsx", ".loomjob", ".json"

CONTAINERS: Mapping[str, str] = FixedMap(
    {_FOLDER: "a folder of sheets", _WORKBOOK: "a workbook", _ARCHIVE: "an archive", _JSON: "a JSON document"}
)
"""Ending -> what it is; a folder has none."""

_ALLOWED = "a folder of CSV sheets, .xlsx, .loomjob or .json"
_OLD_START = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_OLD_OFFICE = "a workbook of the old sort, or one under a password"
_OTHER_OFFICE = "a document of another office program"
_EMPTY = "empty"
_INSTEAD: Mapping[str, str] = FixedMap(
    {
        _OLD_OFFICE: "Save it as .xlsx, without a password",
        _OTHER_OFFICE: "Save it as .xlsx",
        _EMPTY: "Save or copy it anew",
    }
)
"""What a file is that none of our readers knows -> the mend."""
_NOTHING_KEPT: Mapping[str, bytes] = FixedMap()
_LOOKED_AT_BYTES = 4096


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened:
    """What a container holds.

    job: the job.   kept: member -> bytes of photos and history; empty for all but an archive.
    """

    job: Job
    kept: Mapping[str, bytes] = _NOTHING_KEPT


def open_job(path: str | Path, kinds: Kinds | None = None) -> Job:
    """The job in a folder, a workbook, an archive or a JSON document.

    Args:
        path: the folder or file.
        kinds: the library of part kinds; the one that ships where left out.
    Raises:
        BadDocument: there is none, it is not what its ending says, or anything in it is wrong; all of it is listed.
    """
    return open_with_kept(path, kinds).job


def open_with_kept(path: str | Path, kinds: Kinds | None = None) -> Opened:
    """The job in a container, and the photos and the history that lie beside it.

    Args:
        path: the folder or file.
        kinds: the library of part kinds; the one that ships where left out.
    Raises:
        BadDocument: as for `open_job`.
    """
    place = Path(path)
    ending = _checked_ending(place)
    if ending == _ARCHIVE:
        archive = read_archive(place, kinds)
        return Opened(job=archive.job, kept=archive.kept)
    read: Mapping[str, Callable[[Path, Kinds | None], Job]] = {
        _FOLDER: open_folder,
        _WORKBOOK: _open_workbook,
        _JSON: open_json,
    }
    return Opened(job=read[ending](place, kinds))


def write_job(job: Job, path: str | Path, kept: Mapping[str, bytes] = _NOTHING_KEPT) -> tuple[str, ...]:
    """Writes a job into the container that the ending names; a file that is there is replaced.

    Args:
        job: the job.
        path: the file; a folder where it has no ending, or where a folder of that name is there.
        kept: member -> bytes of photos and history.
    Returns:
        The members of `kept` that were left out, since only an archive has a place for them.
    Raises:
        BadDocument: the ending is none of the four, the disk does not take it, or the job holds what the container
            cannot; nothing is changed.
    """
    place = Path(path)
    ending = place.suffix.lower()
    if ending not in CONTAINERS and lies_there(place) != "folder":
        raise BadDocument((_fault(f"{place.name}: {ending}", _ALLOWED, "Give it one of these endings"),))
    if ending == _ARCHIVE:
        write_archive(job, place, kept)
        return ()
    write: Mapping[str, Callable[[Job, Path], None]] = {_WORKBOOK: _write_workbook, _JSON: write_json}
    write.get(ending, write_folder)(job, place)
    return tuple(kept)


# the libraries for workbooks are loaded only where there is a workbook


def _open_workbook(path: Path, kinds: Kinds | None) -> Job:
    from loomwright.sheets.workbook import open_workbook

    return open_workbook(path, kinds)


def _write_workbook(job: Job, path: Path) -> None:
    from loomwright.sheets.workbook_writing import write_workbook

    write_workbook(job, path)


def _checked_ending(path: Path) -> str:
    """The ending that says how to read what is there, which must be what it says."""
    ending = path.suffix.lower()
    if lies_there(path) == "folder":
        if ending in CONTAINERS and ending != _FOLDER:
            mend = f"Give the folder a name without {ending}, or name the file that is meant"
            raise BadDocument((_fault(f"{path.name} is a folder", CONTAINERS[ending], mend),))
        return _FOLDER
    if ending == ".csv" and lies_there(path) == "file":
        mend = "Name the folder that it stands in"
        raise BadDocument((_fault(f"{path.name} is one sheet", _ALLOWED, mend),))
    found, should = _content(read_whole(path, most_bytes=MOST_ARCHIVE_BYTES))
    if should and should != ending:
        called = path.with_suffix(should) if ending else Path(path.name + should)
        allowed = CONTAINERS[ending] if ending in CONTAINERS and ending else _ALLOWED
        raise BadDocument((_fault(f"{path.name} is {found}", allowed, f"Call it {called.name}"),))
    if ending == _FOLDER or ending not in CONTAINERS or found in _INSTEAD:
        mend = _INSTEAD.get(found, f"Name {_ALLOWED}")
        raise BadDocument((_fault(f"{path.name} is {found}", _ALLOWED, mend),))
    # what is no sound zip, or no JSON at all, is told by the reader of what it says it is
    return ending


def _content(data: bytes) -> tuple[str, str]:
    """What the bytes of a file are, and the ending such a file has; no ending where it cannot be told."""
    if starts_like_zip(data):
        names = zip_names(data)
        if ABOUT in names:
            return CONTAINERS[_ARCHIVE], _ARCHIVE
        if any(name.startswith("xl/") for name in names):
            return CONTAINERS[_WORKBOOK], _WORKBOOK
        return _OTHER_OFFICE if "content.xml" in names else "a zip of something else", ""
    if data.startswith(_OLD_START):
        return _OLD_OFFICE, ""
    start = data[:_LOOKED_AT_BYTES].removeprefix(b"\xef\xbb\xbf").lstrip()
    if start[:1] in (b"{", b"["):
        return CONTAINERS[_JSON], _JSON
    return ("a file of another kind" if start else _EMPTY), ""


def _fault(found: str, allowed: str, mend: str) -> Problem:
    return Problem(sheet="", row=None, column="", found=found, allowed=allowed, mend=mend)
