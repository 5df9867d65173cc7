"""A job as one file that a shop can keep, send and check: an archive, `.loomjob`.

It is a zip that any program opens:

    about.json            format number, what made it, SHA-256 of every other member
    sheets/parts.csv ...  the sheets, the same text as in a folder of sheets
    photos/  history/     what belongs to the job and is no sheet: checked, passed over, and given back as it is

Reading believes nothing: the zip is looked at before anything is unpacked (`zip_guard`), every member must be listed
in `about.json` and come out at its SHA-256. Writing is always the same bytes for the same job: members in the order
above, stored as they are (packing differs from one machine's library to another's), all with the date zips begin at.
"""

from __future__ import annotations

import hashlib
import io
import json
import zipfile
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from loomwright.job.fixed_map import FixedMap
from loomwright.job.job import Job
from loomwright.job.points import Kinds
from loomwright.job.reading import job_from_text
from loomwright.job.schema import FORMAT, SHEETS
from loomwright.job.writing import text_from_job
from loomwright.refusals import BadDocument, Problem
from loomwright.sheets.csv_folder import csv_of, rows_of_each, sheet_of
from loomwright.sheets.json_document import format_fault
from loomwright.sheets.one_file import read_whole, write_whole
from loomwright.sheets.separated import SheetText
from loomwright.sheets.sheet_text import MOST_BYTES, text_of_bytes, unfit
from loomwright.sheets.strict_json import Pairs, parsed
from loomwright.sheets.zip_guard import MOST_MEMBERS, names_faults, zip_members

__all__ = [
    "ABOUT",
    "KEPT_FOLDERS",
    "MOST_ARCHIVE_BYTES",
    "Archive",
    "archive_bytes",
    "read_archive",
    "read_kept",
    "write_archive",
]

ABOUT = "about.json"
"""The member that says what the archive is."""

KEPT_FOLDERS = ("photos/", "history/")
"""Where members lie that are no sheets and are given back as they are."""

MOST_ARCHIVE_BYTES = 512 * 1024 * 1024
"""Most that an archive may hold, packed or not. [bytes]"""

_FORMAT, _MADE_BY, _DIGESTS = "format", "made_by", "sha256"
_SHEETS = "sheets/"
_ENDING = ".csv"
_BESIDE_BYTES = 128
"""More than a zip spends on a member, its name left out, which stands there twice in up to four bytes a letter."""
_BEGINNING = (1980, 1, 1, 0, 0, 0)
_UNIX, _MAY_BE_READ = 3, 0o100644 << 16
_NOTHING_KEPT: Mapping[str, bytes] = FixedMap()


@dataclass(frozen=True, slots=True, kw_only=True)
class Archive:
    """What an archive holds.

    job: the job.   kept: member -> bytes of the photos and the history, as they stand in it.
    """

    job: Job
    kept: Mapping[str, bytes]


def read_archive(path: str | Path, kinds: Kinds | None = None) -> Archive:
    """The job that an archive holds, and the photos and the history that lie beside it.

    Args:
        path: the file.
        kinds: the library of part kinds; the one that ships where left out.
    Raises:
        BadDocument: anything wrong with the file, its members or what stands in the sheets; all of it is listed.
    """
    what = Path(path).name
    members, faults = _members(Path(path))
    sheets = _sheets(members, faults)
    if not sheets:
        nothing = _fault("", f"{what} holds no sheet", f"{_SHEETS}parts.csv and others", "Write the archive anew")
        raise BadDocument(tuple(faults) or (nothing,))
    job = job_from_text(sheets, kinds, faults=faults)
    return Archive(job=job, kept=_kept(members))


def read_kept(path: str | Path) -> Mapping[str, bytes]:
    """The photos and the history in an archive, whatever its sheets say: member -> bytes.

    Raises:
        BadDocument: it is no archive, or its members are not as they were written; all of it is listed.
    """
    members, faults = _members(Path(path))
    if faults:
        raise BadDocument(tuple(faults))
    return _kept(members)


def write_archive(job: Job, path: str | Path, kept: Mapping[str, bytes] = _NOTHING_KEPT) -> None:
    """Writes a job as an archive; a file that is there is replaced.

    Args:
        job: the job.
        path: the file.
        kept: member -> bytes of what is to lie beside the sheets, under `photos/` or `history/`.
    Raises:
        BadDocument: as for `archive_bytes`, or the disk does not take it; nothing is changed.
    """
    write_whole(Path(path), archive_bytes(job, kept))


def archive_bytes(job: Job, kept: Mapping[str, bytes] = _NOTHING_KEPT) -> bytes:
    """A job as an archive: the same bytes for the same job, whatever machine writes it.

    Args:
        job: the job.
        kept: member -> bytes of what is to lie beside the sheets, under `photos/` or `history/`.
    Raises:
        BadDocument: a sheet has a name or a text that no sheet can have, a member lies elsewhere or has a name that
            no archive can have, or there is more than can be read back.
    """
    sheets = text_from_job(job)
    faults = unfit(sheets)
    faults += (_elsewhere(name) for name in kept if not name.startswith(KEPT_FOLDERS) or name.endswith("/"))
    if faults:
        raise BadDocument(tuple(faults))
    own = sorted(name for name in sheets if name not in SHEETS)
    members = {
        f"{_SHEETS}{name}{_ENDING}": csv_of(name, sheets[name]).encode() for name in (*SHEETS, *own) if name in sheets
    }
    faults += (
        _fault(name, f"{len(raw) // (1024 * 1024)} MB", f"at most {MOST_BYTES // (1024 * 1024)} MB", "Split the sheet")
        for name, raw in members.items()
        if len(raw) > MOST_BYTES
    )
    members |= {name: kept[name] for folder in KEPT_FOLDERS for name in sorted(kept) if name.startswith(folder)}
    members = {ABOUT: _about(members)} | members
    size_bytes = sum(len(raw) + _BESIDE_BYTES + 8 * len(name) for name, raw in members.items())
    if len(members) > MOST_MEMBERS or size_bytes > MOST_ARCHIVE_BYTES:
        found = f"{len(members)} members, {size_bytes // (1024 * 1024)} MB"
        allowed = f"at most {MOST_MEMBERS} members and {MOST_ARCHIVE_BYTES // (1024 * 1024)} MB"
        faults.append(_fault("", found, allowed, "Keep some of the photos outside"))
    faults += names_faults(tuple(members), what="the archive")
    if faults:
        raise BadDocument(tuple(faults))
    return _zipped(members)


def _members(path: Path) -> tuple[dict[str, bytes], list[Problem]]:
    """The members of an archive, and what is wrong with them, one by one."""
    what = path.name
    data = read_whole(path, most_bytes=MOST_ARCHIVE_BYTES)
    members, broken = zip_members(data, what=what, most_bytes=MOST_ARCHIVE_BYTES)
    if broken:
        # a zip that was tampered with or cut off: nothing is read out of what is left of it
        raise BadDocument(tuple(broken))
    faults: list[Problem] = []
    digests = _digests(members, what, faults)
    if digests is None:
        raise BadDocument(tuple(faults))
    faults += _about_members(members, digests, what)
    return members, faults


def _kept(members: Mapping[str, bytes]) -> Mapping[str, bytes]:
    return FixedMap({name: raw for name, raw in sorted(members.items()) if name.startswith(KEPT_FOLDERS)})


def _about(members: Mapping[str, bytes]) -> bytes:
    digests = {name: hashlib.sha256(raw).hexdigest() for name, raw in members.items()}
    told = {_FORMAT: FORMAT, _MADE_BY: "loomwright", _DIGESTS: digests}
    return (json.dumps(told, indent=1, ensure_ascii=False) + "\n").encode()


def _zipped(members: Mapping[str, bytes]) -> bytes:
    """Members as a zip: in the order given, stored, all with one date and the same rights."""
    with io.BytesIO() as file:
        with zipfile.ZipFile(file, "w", zipfile.ZIP_STORED) as made:
            for name, raw in members.items():
                info = zipfile.ZipInfo(name, date_time=_BEGINNING)
                info.create_system = _UNIX
                info.external_attr = _MAY_BE_READ
                made.writestr(info, raw)
        return file.getvalue()


def _digests(members: Mapping[str, bytes], what: str, faults: list[Problem]) -> dict[str, str] | None:
    """The SHA-256 of each member as `about.json` lists it; None where it cannot be had, or is of a newer format."""
    raw = members.get(ABOUT)
    mend = "Write the archive anew with export"
    if raw is None:
        faults.append(_fault("", f"{what} holds no {ABOUT}", f"an archive with {ABOUT} in it", mend))
        return None
    place = f"{ABOUT} in {what}"
    said, broken = parsed(raw, what=place)
    if broken is not None:
        faults.append(broken)
        return None
    said = said if isinstance(said, Pairs) else Pairs()
    about = dict(said)
    wrong = format_fault(about.get(_FORMAT), place)
    if wrong is not None:
        faults.append(wrong)
        return None
    listed = about.get(_DIGESTS)
    pairs = [pair for pair in listed if type(pair[1]) is str] if isinstance(listed, Pairs) else []
    if not isinstance(listed, Pairs) or len(dict(pairs)) != len(listed) or len(about) != len(said):
        allowed = f"{_FORMAT}, {_MADE_BY} and {_DIGESTS}, each once, with each member once"
        faults.append(_fault("", f"{place} has no sound list of the members", allowed, mend))
        return None
    return {name: str(digest) for name, digest in pairs}


def _about_members(members: Mapping[str, bytes], digests: Mapping[str, str], what: str) -> Iterable[Problem]:
    """Members that are changed, missing, not listed, or lie where none does."""
    allowed = f"members as {ABOUT} lists them"
    mend = "Write the archive anew with export; change sheets in a folder or a workbook"
    for name, raw in members.items():
        if name == ABOUT:
            continue
        sheet = _sheet_name(name)
        if not name.startswith((_SHEETS, *KEPT_FOLDERS)) or (name.startswith(_SHEETS) and not sheet):
            allowed_there = f"{ABOUT}, {_SHEETS}NAME{_ENDING}, {' '.join(KEPT_FOLDERS)}"
            yield _fault("", f"{name} in {what}", allowed_there, "Take the member out, with its line in about.json")
        elif name not in digests:
            yield _fault(sheet, f"{name} in {what} is not listed", allowed, mend)
        elif hashlib.sha256(raw).hexdigest() != digests[name].lower():
            yield _fault(sheet, f"{name} in {what} is not as it was written", allowed, mend)
    for name in digests:
        if name not in members:
            yield _fault(_sheet_name(name), f"{name} in {what} is listed and not there", allowed, mend)


def _sheets(members: Mapping[str, bytes], faults: list[Problem]) -> dict[str, SheetText]:
    """The sheets of an archive as rows of text; what is wrong with them goes to `faults`."""
    there = ((sheet, name, raw) for name, raw in members.items() if (sheet := _sheet_name(name)))
    found = ((sheet, name, partial(text_of_bytes, sheet, raw)) for sheet, name, raw in there)
    return rows_of_each(found, faults, keep=f"member {_SHEETS}")


def _sheet_name(member: str) -> str:
    """The sheet that a member holds; empty where it is none."""
    stem = member.removeprefix(_SHEETS)
    if stem == member or "/" in stem or not stem.lower().endswith(_ENDING):
        return ""
    return sheet_of(stem[: -len(_ENDING)])


def _elsewhere(name: str) -> Problem:
    return _fault("", name, f"a member under {' or '.join(KEPT_FOLDERS)}", "Give it a name there")


def _fault(sheet: str, found: str, allowed: str, mend: str) -> Problem:
    return Problem(sheet=sheet, row=None, column="", found=found, allowed=allowed, mend=mend)
