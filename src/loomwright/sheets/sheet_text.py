"""Which names and texts can a sheet have in every container, and what text do the bytes of one hold?

A job that was opened from one container must go into any other. So a sheet's name is one that a file can have, no two
names differ in capitals only, and no cell holds what UTF-8 or a CSV sheet cannot hold. That is asked before anything
is written.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence

from loomwright.refusals import Problem

__all__ = ["MOST_BYTES", "is_heading", "is_text", "name_fault", "text_of_bytes", "unfit"]

MOST_BYTES = 64 * 1024 * 1024
"""Most that one sheet may hold. [bytes]"""

_MOST_CELLS = 4_000_000
_NOT_IN_A_NAME = set('/\\:*?"<>|')
_LONGEST_NAME = 120
_NO_TEXT = re.compile("[\0\ud800-\udfff]")
_NO_HEADING = re.compile("[\0\ud800-\udfff\ufeff]")


def unfit(sheets: Mapping[str, Sequence[Mapping[str, str]]]) -> list[Problem]:
    """What keeps sheets of text from being written; nothing in most cases.

    Args:
        sheets: sheet -> its rows below the heading, heading -> text.
    """
    faults = [fault for name in sheets if (fault := name_fault(name))]
    faults += _alike(sheets)
    for name, rows in sheets.items():
        for number, row in enumerate(rows, start=2):
            faults += (_no_text(name, number, heading) for heading, text in row.items() if not is_text(text))
        faults += (_no_text(name, 1, heading) for heading in _headings(rows) if not is_heading(heading))
    return faults


def is_text(text: str) -> bool:
    """Whether a cell can hold a text: no zero byte and no half of a sign in it.

    Example:
        >>> is_text("fan"), is_text("fan\\0")
        (True, False)
    """
    return _NO_TEXT.search(text) is None


def is_heading(text: str) -> bool:
    """Whether a text can be a heading: a text, and no byte order mark in it, which a CSV sheet would lose."""
    return _NO_HEADING.search(text) is None


def name_fault(name: str) -> Problem | None:
    """What keeps the name of a sheet from being the name of a file, if anything."""
    fits = name.strip() == name and 0 < len(name) <= _LONGEST_NAME and not name.startswith(".") and name.isprintable()
    if fits and not _NOT_IN_A_NAME & set(name):
        return None
    told = name[:_LONGEST_NAME]
    return _fault(told, told, "a name a file can have", "Give the sheet another name")


def text_of_bytes(sheet: str, raw: bytes) -> tuple[str, Problem | None]:
    """The text that the bytes of one CSV sheet hold, or what keeps it from being had.

    Args:
        sheet: its name, for the problem.
        raw: the whole sheet; a byte order mark is passed over.
    """
    if len(raw) > MOST_BYTES:
        allowed = f"at most {MOST_BYTES // (1024 * 1024)} MB"
        found = f"{len(raw) // (1024 * 1024)} MB"
        return "", _fault(sheet, found, allowed, "Keep what is not of this job outside")
    cells = sum(raw.count(sign) for sign in (b",", b";", b"\n", b"\r"))
    if cells > _MOST_CELLS:
        allowed = f"at most {_MOST_CELLS} cells and lines"
        return "", _fault(sheet, f"{cells} cells and lines", allowed, "Keep what is not of this job outside")
    try:
        return raw.decode("utf-8-sig"), None
    except UnicodeDecodeError as fault:
        # the position is counted behind a byte order mark
        start = fault.start + (len(raw) - len(fault.object))
        line = raw.count(b"\n", 0, start) + 1
        found = f"a byte {raw[start]:#04x} in line {line}"
        mend = "Save the sheet anew as CSV in UTF-8"
        return "", Problem(sheet=sheet, row=line, column="", found=found, allowed="text in UTF-8", mend=mend)


def _alike(names: Iterable[str]) -> list[Problem]:
    """Names that differ in capitals only."""
    seen: dict[str, str] = {}
    faults = []
    for name in names:
        other = seen.setdefault(name.casefold(), name)
        if other != name:
            mend = f"Give the sheet another name than {other}, not in capitals only"
            faults.append(_fault(name, name, "each sheet once", mend))
    return faults


def _headings(rows: Sequence[Mapping[str, str]]) -> Iterable[str]:
    return dict.fromkeys(heading for row in rows for heading in row)


def _no_text(sheet: str, row: int, column: str) -> Problem:
    mend = "Write the cell anew"
    found = "a zero byte or half a sign"
    return Problem(sheet=sheet, row=row, column=_told(column), found=found, allowed="text", mend=mend)


def _told(text: str) -> str:
    """A text that can be printed, whatever it holds."""
    return text.encode("utf-8", "backslashreplace").decode()


def _fault(sheet: str, found: str, allowed: str, mend: str) -> Problem:
    return Problem(sheet=_told(sheet), row=None, column="", found=_told(found), allowed=allowed, mend=mend)
