"""What does a job look like before anything is filled in, as a workbook and as a folder of sheets?

Every sheet with its headings; the vehicle with the names of its properties, since nobody guesses those. Neither ever
takes the place of something that is there.
"""

from __future__ import annotations

import os
import secrets
import shutil
from pathlib import Path

from loomwright.job.job import Job
from loomwright.job.rows import VehicleProperty
from loomwright.job.schema import SHEETS
from loomwright.job.vehicle import PROPERTIES
from loomwright.job.writing import text_from_job
from loomwright.refusals import BadDocument, Problem
from loomwright.sheets.csv_folder import csv_of
from loomwright.sheets.one_file import to_disk, write_whole

__all__ = ["empty_job", "write_empty_folder", "write_empty_workbook"]

_GIVEN = {"system_voltage": "12", "earth": "negative"}
_BEING_WRITTEN = ".being-written-"


def empty_job() -> Job:
    """A job with the properties of the vehicle, blank where blank has a usual value, and nothing else.

    Example:
        >>> empty_job().vehicle[1].name, empty_job().vehicle[1].value
        ('system_voltage', '12')
    """
    return Job(vehicle=tuple(VehicleProperty(name=name, value=_GIVEN.get(name, "")) for name in PROPERTIES))


def write_empty_workbook(path: str | Path) -> None:
    """Writes a workbook to fill in: the guide first, then every sheet with its headings, notes and lists.

    Raises:
        BadDocument: something of that name is there, or the disk does not take it; nothing is changed.
    """
    from loomwright.sheets.workbook_writing import workbook_bytes  # the library is loaded only where it is needed

    place = Path(path)
    if _is_there(place):
        raise _taken(place)
    write_whole(place, workbook_bytes(empty_job(), open_guide=True))


def write_empty_folder(path: str | Path) -> None:
    """Writes a folder to fill in: every sheet with its headings, whole or not at all.

    Args:
        path: the folder, which is made; an empty one may be there.
    Raises:
        BadDocument: something of that name is there, or the disk does not take it; nothing is changed.
    """
    place = Path(path)
    text = text_from_job(empty_job())
    files = {f"{sheet}.csv": csv_of(sheet, text.get(sheet, ())) for sheet in SHEETS}
    aside = place.with_name(_BEING_WRITTEN + secrets.token_hex(8))
    try:
        if _is_there(place) and not (place.is_dir() and not any(place.iterdir())):
            raise _taken(place)
        place.parent.mkdir(parents=True, exist_ok=True)
        aside.mkdir()
        for name, sheet in files.items():
            with (aside / name).open("x", encoding="utf-8", newline="") as file:
                file.write(sheet)
                file.flush()
                os.fsync(file.fileno())
        to_disk(aside)
        aside.rename(place)
        to_disk(place.parent)
    except (OSError, ValueError) as fault:  # a name no folder can have, too
        reason = getattr(fault, "strerror", None) or str(fault)
        mend = "Make room or rights, or name another folder"
        raise BadDocument((_fault(f"{place}: {reason}", "a folder that can be written", mend),)) from fault
    finally:
        shutil.rmtree(aside, ignore_errors=True)


def _is_there(path: Path) -> bool:
    try:
        return path.exists() or path.is_symlink()
    except (OSError, ValueError):  # a name no file can have, which writing tells
        return False


def _taken(path: Path) -> BadDocument:
    mend = "Name another, or move that one away"
    return BadDocument((_fault(f"{path} is there already", "a name that is not taken", mend),))


def _fault(found: str, allowed: str, mend: str) -> Problem:
    return Problem(sheet="", row=None, column="", found=found, allowed=allowed, mend=mend)
