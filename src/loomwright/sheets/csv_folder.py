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
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import partial
from pathlib import Path

from loomwright.job.job import Job
from loomwright.job.points import Kinds
from loomwright.job.reading import job_from_text
from loomwright.job.schema import SHEETS, headings, rows_of
from loomwright.job.taking import plain_heading
from loomwright.job.writing import text_from_job
from loomwright.refusals import BadDocument, Problem
from loomwright.sheets.one_file import to_disk
from loomwright.sheets.separated import SheetText, rows_from_text, text_from_rows
from loomwright.sheets.sheet_text import MOST_BYTES, text_of_bytes, unfit

__all__ = ["csv_of", "open_folder", "rows_of_each", "sheet_of", "sheets_in", "write_folder"]

_ENDING = ".csv"
_BEING_WRITTEN = ".sheets-being-written"
_WRITTEN = ".sheets-written"


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


def write_folder(job: Job, path: str | Path) -> None:
    """Writes a job into a folder, which is made where it is not there: all sheets or none.

    Limits:
        Two that write at once are not kept apart.
    Raises:
        BadDocument: the folder cannot be written to, or a sheet has a name or a text no file can have; nothing is
            changed.
    """
    folder = Path(path)
    sheets = text_from_job(job)
    faults = unfit(sheets)
    try:
        is_new = not folder.exists()
        if not is_new and not folder.is_dir():
            mend = "Name the folder the sheets shall stand in"
            faults.append(_fault("", f"{folder} is a file", "a folder of CSV sheets", mend))
        if faults:
            raise BadDocument(tuple(faults))
        folder.mkdir(parents=True, exist_ok=True)
        _finish_moving(folder)
        _write_all(folder, _files(folder, job, sheets), is_new=is_new)
        _finish_moving(folder)
    except (OSError, ValueError) as fault:  # a name no folder can have, too
        found = f"{folder}: {getattr(fault, 'strerror', None) or fault}"
        mend = "Make room or rights, then write again"
        raise BadDocument((_fault("", found, "a folder that can be written to", mend),)) from fault


def sheets_in(folder: Path) -> tuple[str, ...]:
    """The names of the sheets that are in a folder, whatever stands in them.

    Raises:
        BadDocument: it cannot be looked into.
    """
    try:
        return tuple(sheet_of(file.stem) for file in _sheet_files(folder).values())
    except OSError as fault:
        found = f"{folder}: {fault.strerror}"
        raise BadDocument((_fault("", found, "a folder that may be read", "Allow it to be read"),)) from fault


def csv_of(sheet: str, rows: Sequence[Mapping[str, str]]) -> str:
    """A sheet as CSV text: the contract's columns first, then its own."""
    known = headings(sheet) if sheet in SHEETS else ()
    return text_from_rows(tuple(dict.fromkeys((*known, *(heading for row in rows for heading in row)))), rows)


def sheet_of(stem: str) -> str:
    """The sheet that a file of that name, its ending left off, holds: the contract's in any mixture of capitals.

    Example:
        >>> sheet_of("Old wires"), sheet_of("My list")
        ('old_wires', 'My list')
    """
    plain = plain_heading(stem)
    return plain if plain in SHEETS else stem


def _files(folder: Path, job: Job, sheets: Mapping[str, list[dict[str, str]]]) -> dict[str, str]:
    """What is to stand in the folder, file name -> text; a sheet without rows only where its file is there."""
    there = {sheet_of(file.stem): file.name for file in _sheet_files(folder).values()}
    texts = {there.get(name, name + _ENDING): csv_of(name, rows) for name, rows in sheets.items()}
    return texts | {there[name]: csv_of(name, ()) for name in SHEETS if name in there and not rows_of(job, name)}


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
        to_disk(aside)
        aside.rename(folder / _WRITTEN)
        to_disk(folder)
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
    to_disk(folder)


def rows_of_each(
    found: Iterable[tuple[str, str, Callable[[], tuple[str, Problem | None]]]], faults: list[Problem], *, keep: str
) -> dict[str, SheetText]:
    """The rows of sheets that lie each by itself as CSV, every sheet once.

    Args:
        found: a sheet's name, what it is called where it lies, and what gives its text or what keeps it from being had.
        faults: what is wrong is added to them.
        keep: what is said before the one to keep, of a sheet that is there twice.
    """
    sheets: dict[str, SheetText] = {}
    seen: set[str] = set()
    for sheet, name, read in found:
        if sheet.casefold() in seen:
            faults.append(_fault(sheet, name, "each sheet once", f"Keep one {keep}{sheet}{_ENDING}"))
            continue
        seen.add(sheet.casefold())
        text, broken = read()
        if broken is not None:
            faults.append(broken)
            continue
        rows, wrong = rows_from_text(sheet, text)
        faults.extend(wrong)
        if rows or not wrong:
            sheets[sheet] = rows
    return sheets


def _gather(folder: Path) -> tuple[dict[str, SheetText], list[Problem]]:
    """Every sheet that can be had as rows of text, and everything that is wrong with the others."""
    allowed = "a folder with one CSV file a sheet: parts.csv wires.csv ..."
    try:
        if not folder.is_dir():
            there = f"{folder} is a file" if folder.exists() else f"{folder} is not there"
            return {}, [_fault("", there, allowed, "Name the folder the sheets stand in")]
        files = _sheet_files(folder)
    except (OSError, ValueError) as fault:
        reason = f"{folder}: {getattr(fault, 'strerror', None) or fault}"
        return {}, [_fault("", reason, "a folder that may be read", "Allow it to be read")]
    if not files:
        return {}, [_fault("", f"{folder} holds no sheet", allowed, "Put parts.csv and the others into it")]
    faults: list[Problem] = []
    named = ((sheet_of(file.stem), file) for file in files.values())
    found = ((sheet, file.name, partial(_text_of, sheet, file)) for sheet, file in named)
    return rows_of_each(found, faults, keep="file "), faults


def _sheet_files(folder: Path) -> dict[str, Path]:
    """The sheets' files by name, in order; those written in full and not yet moved stand for those they replace."""
    found = {file.name: file for file in folder.iterdir() if _is_sheet(file)}
    ready = folder / _WRITTEN
    if ready.is_dir():
        found |= {file.name: file for file in ready.iterdir() if _is_sheet(file)}
    return dict(sorted(found.items()))


def _is_sheet(file: Path) -> bool:
    return file.suffix.lower() == _ENDING and not file.name.startswith(".")


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
    return text_of_bytes(sheet, raw)


def _fault(sheet: str, found: str, allowed: str, mend: str) -> Problem:
    return Problem(sheet=sheet, row=None, column="", found=found, allowed=allowed, mend=mend)
