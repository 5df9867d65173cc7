"""A job in a folder of CSV sheets, one file a sheet: `parts.csv`, `wires.csv` ...

Reading takes every `.csv` file of the folder, tells everything that is wrong with the files and with what stands in
them at once, and gives a job only if there is nothing. Other files, folders and names that begin with a point are
left alone.

Writing is all or nothing. The new sheets are first written in full into a folder of their own inside the job's
folder; giving that its final name is the moment from which they count. Then they are moved into place one by one.
Stopped before that moment, the old sheets stand; stopped after it, reading takes the new ones from where they lie,
and the next writing finishes the moving. No file is ever deleted: a sheet that has lost its last row keeps its
headings, a file the job knows nothing of stays.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Mapping
from pathlib import Path

from loomwright.job.job import Job
from loomwright.job.points import Kinds
from loomwright.job.reading import job_from_text
from loomwright.job.schema import SHEETS, headings, rows_of
from loomwright.job.taking import plain_heading
from loomwright.job.writing import text_from_job
from loomwright.refusals import BadDocument, Problem
from loomwright.sheets.separated import SheetText, rows_from_text, text_from_rows

__all__ = ["MOST_BYTES", "open_folder", "read_folder", "write_folder"]

MOST_BYTES = 64 * 1024 * 1024
"""Most a sheet's file may hold. [bytes]"""

_ENDING = ".csv"
_BEING_WRITTEN = ".sheets-being-written"
_WRITTEN = ".sheets-written"
_NOT_IN_A_NAME = set('/\\:*?"<>|')
_LONGEST_NAME = 120


def open_folder(path: str | Path, kinds: Kinds | None = None) -> Job:
    """The job that a folder of CSV sheets describes.

    Args:
        path: the folder.
        kinds: the library of part kinds; the one that ships where left out.
    Raises:
        BadDocument: anything wrong with the folder, its files or what stands in them; all of it is listed.
    """
    sheets, faults = _gather(Path(path))
    if not sheets:
        raise BadDocument(tuple(faults))
    return job_from_text(sheets, kinds, faults=faults)


def read_folder(path: str | Path) -> Mapping[str, SheetText]:
    """The sheets of a folder as rows of text: sheet -> rows below its heading. Blank rows keep their place.

    Raises:
        BadDocument: the folder or one of its files cannot be read as sheets; all of it is listed.
    """
    sheets, faults = _gather(Path(path))
    if faults:
        raise BadDocument(tuple(faults))
    return sheets


def write_folder(job: Job, path: str | Path) -> None:
    """Writes a job into a folder, which is made where it is not there: all sheets or none.

    Limits:
        What the tool decided (`job.decisions`) has no place in a folder of sheets. Two that write at once are not
        kept apart.
    Raises:
        BadDocument: the folder cannot be written to, or a sheet has a name no file can have; nothing is changed.
    """
    folder = Path(path)
    sheets = text_from_job(job)
    faults = [broken for name in sheets if (broken := _unusable_name(name))]
    if folder.exists() and not folder.is_dir():
        faults.append(
            _fault("", f"{folder} is a file", "a folder of CSV sheets", "Name the folder the sheets shall stand in")
        )
    if faults:
        raise BadDocument(tuple(faults))
    try:
        is_new = not folder.exists()
        folder.mkdir(parents=True, exist_ok=True)
        _finish_moving(folder)
        _write_all(folder, _files(folder, job, sheets), is_new=is_new)
        _finish_moving(folder)
    except OSError as fault:
        reason = fault.strerror or type(fault).__name__
        raise BadDocument(
            (
                _fault(
                    "",
                    f"{folder}: {reason}",
                    "a folder that can be written to",
                    "Make room or rights, then write again",
                ),
            )
        ) from fault


def _files(folder: Path, job: Job, sheets: Mapping[str, list[dict[str, str]]]) -> dict[str, str]:
    """What is to stand in the folder, file name -> text; a sheet without rows only where its file is there."""
    there = {_sheet_of(file): file.name for file in _sheet_files(folder).values()}
    texts = {}
    for name, rows in sheets.items():
        known = headings(name) if name in SHEETS else ()
        names = dict.fromkeys((*known, *(heading for row in rows for heading in row)))
        texts[there.get(name, name + _ENDING)] = text_from_rows(tuple(names), rows)
    for name in SHEETS:
        if name in there and not rows_of(job, name):
            texts[there[name]] = text_from_rows(headings(name), ())
    return texts


def _write_all(folder: Path, texts: Mapping[str, str], *, is_new: bool) -> None:
    """Writes the files aside, down to the disk, and then gives them the name from which they count."""
    aside = folder / _BEING_WRITTEN
    try:
        shutil.rmtree(aside, ignore_errors=True)
        aside.mkdir()
        for name, text in texts.items():
            with (aside / name).open("w", encoding="utf-8", newline="") as file:
                file.write(text)
                file.flush()
                os.fsync(file.fileno())
        _to_disk(aside)
        aside.rename(folder / _WRITTEN)
        _to_disk(folder)
    except BaseException:
        shutil.rmtree(aside, ignore_errors=True)
        if is_new and not any(folder.iterdir()):
            folder.rmdir()
        raise


def _finish_moving(folder: Path) -> None:
    """Moves sheets that were written in full into place; nothing to do in most cases."""
    ready = folder / _WRITTEN
    if not ready.is_dir():
        return
    for file in sorted(ready.iterdir()):
        file.replace(folder / file.name)
    ready.rmdir()
    _to_disk(folder)


def _to_disk(folder: Path) -> None:
    """Makes sure that the names in a folder have reached the disk, where the system lets us ask for that."""
    try:
        handle = os.open(folder, os.O_RDONLY)
    except OSError:
        return
    try:
        os.fsync(handle)
    except OSError:
        pass
    finally:
        os.close(handle)


def _gather(folder: Path) -> tuple[dict[str, SheetText], list[Problem]]:
    """Every sheet that can be had as rows of text, and everything that is wrong with the others."""
    allowed = "a folder with one CSV file a sheet: parts.csv wires.csv ..."
    if not folder.exists():
        return {}, [_fault("", f"{folder} is not there", allowed, "Name the folder the sheets stand in")]
    if not folder.is_dir():
        return {}, [_fault("", f"{folder} is a file", allowed, "Name the folder the sheets stand in")]
    try:
        files = _sheet_files(folder)
    except OSError as fault:
        return {}, [_fault("", f"{folder}: {fault.strerror}", "a folder that may be read", "Allow it to be read")]
    if not files:
        return {}, [_fault("", f"{folder} holds no sheet", allowed, "Put parts.csv and the others into it")]
    sheets: dict[str, SheetText] = {}
    faults: list[Problem] = []
    for file in files.values():
        sheet = _sheet_of(file)
        if sheet in sheets:
            faults.append(_fault(sheet, file.name, "each sheet once", f"Keep one file {sheet}{_ENDING}"))
            continue
        text, broken = _text_of(sheet, file)
        if broken is not None:
            faults.append(broken)
            continue
        rows, found = rows_from_text(sheet, text)
        faults.extend(found)
        if rows or not found:
            sheets[sheet] = rows
    return sheets, faults


def _sheet_files(folder: Path) -> dict[str, Path]:
    """The sheets' files by name, in order; those written in full and not yet moved stand for those they replace."""
    found = {file.name: file for file in folder.iterdir() if _is_sheet(file)}
    ready = folder / _WRITTEN
    if ready.is_dir():
        found |= {file.name: file for file in ready.iterdir() if _is_sheet(file)}
    return dict(sorted(found.items()))


def _is_sheet(file: Path) -> bool:
    return file.suffix.lower() == _ENDING and not file.name.startswith(".")


def _sheet_of(file: Path) -> str:
    """The sheet a file holds: the contract's name in any mixture of capitals, else the file's own."""
    plain = plain_heading(file.stem)
    return plain if plain in SHEETS else file.stem


def _text_of(sheet: str, file: Path) -> tuple[str, Problem | None]:
    """The text of a file, or what keeps it from being read."""
    if file.is_dir():
        return "", _fault(
            sheet, f"{file.name} is a folder", "a CSV file", f"Give the folder another name than {file.name}"
        )
    if not file.is_file():
        return "", _fault(
            sheet, f"{file.name} leads nowhere", "a CSV file", "Put the file there, or take the link away"
        )
    try:
        if file.stat().st_size > MOST_BYTES:
            found = f"{file.stat().st_size // (1024 * 1024)} MB"
            return "", _fault(
                sheet, found, f"at most {MOST_BYTES // (1024 * 1024)} MB", "Keep what is not of this job outside"
            )
        raw = file.read_bytes()
    except OSError as fault:
        return "", _fault(sheet, f"{file.name}: {fault.strerror}", "a file that may be read", "Allow it to be read")
    try:
        return raw.decode("utf-8-sig"), None
    except UnicodeDecodeError as fault:
        line = raw.count(b"\n", 0, fault.start) + 1
        byte = raw[fault.start]
        mend = "Save the sheet anew as CSV in UTF-8"
        found = f"a byte {byte:#04x} in line {line}"
        return "", Problem(sheet=sheet, row=line, column="", found=found, allowed="text in UTF-8", mend=mend)


def _unusable_name(name: str) -> Problem | None:
    """What keeps the name of a sheet from being the name of a file, if anything."""
    fits = name.strip() == name and 0 < len(name) <= _LONGEST_NAME and not name.startswith(".") and name.isprintable()
    if fits and not _NOT_IN_A_NAME & set(name):
        return None
    return _fault(name[:_LONGEST_NAME], name[:_LONGEST_NAME], "a name a file can have", "Give the sheet another name")


def _fault(sheet: str, found: str, allowed: str, mend: str) -> Problem:
    return Problem(sheet=sheet, row=None, column="", found=found, allowed=allowed, mend=mend)
