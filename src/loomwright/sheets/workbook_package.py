"""Which sheets does the file of a workbook hold, and where in it does each of them stand?

A workbook is a zip of parts (Office Open XML). The relationships lead from the file to the workbook's own part, and
from there to its sheets, its shared texts and its cell styles; nothing else is looked at: no drawing, no macro, no
link to another workbook. What is no such file (an old `.xls`, one under a password, a text, a zip of something else)
is told as what it is.

Source:
    ISO/IEC 29500 (parts, relationships, numbers of date formats), from memory.
"""

from __future__ import annotations

import posixpath
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from loomwright.refusals import Problem
from loomwright.sheets.workbook_look import trimmed
from loomwright.sheets.workbook_xml import Attributes, DamagedPart, walk
from loomwright.sheets.zip_guard import zip_members

__all__ = ["MOST_BYTES", "MOST_SHEETS", "Package", "SheetPart", "package_of"]

MOST_BYTES = 64 * 1024 * 1024
"""Most that the file of a workbook may hold. [bytes]"""

_MOST_UNPACKED_BYTES = 256 * 1024 * 1024
_MOST_STRING_BYTES = 64 * 1024 * 1024
MOST_SHEETS = 250
"""Most sheets that a workbook may have. [-]"""

_OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_LOCKED = "EncryptedPackage".encode("utf-16-le")
_ALLOWED = "a workbook (.xlsx)"
_SAVE_ANEW = "Open it in the spreadsheet and save it anew as .xlsx"
_ANOTHER = "Name the workbook that is meant, or save this one as .xlsx"
_DATES = frozenset((*range(14, 23), *range(27, 37), 45, 47, *range(50, 59)))
_SPANS = frozenset((46,))
_QUOTED = re.compile(r'"[^"]*"|\\.|_.|\*.')
_SPAN = re.compile(r"\[(h+|m+|s+)\]", re.IGNORECASE)
_BRACKETS = re.compile(r"\[[^\]]*\]")
_DATE = re.compile(r"[ymdhs]", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetPart:
    """One sheet. name: as on its tab.   data: its part, blank cells behind the last that holds something cut off."""

    name: str
    data: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class Package:
    """What of a workbook is read.

    sheets: in the order of the tabs, hidden ones too.   strings: the part of the shared texts, empty where there is
    none.   string_bytes: the size of each. [bytes]   date_styles: number of a cell style -> `date` or `span`.
    from_1904: days are counted from 1904.
    """

    sheets: tuple[SheetPart, ...]
    strings: bytes
    string_bytes: tuple[int, ...]
    date_styles: Mapping[str, str]
    from_1904: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class _Related:
    """Where a relationship leads. sort: the last word of its type.   target: the part.   outside: it leads out."""

    sort: str
    target: str
    outside: bool


def package_of(data: bytes, *, what: str) -> tuple[Package | None, list[Problem]]:
    """The sheets in the file of a workbook, and everything that keeps others from being had.

    Args:
        data: the whole file.
        what: what the file is called, for the problems.
    Returns:
        No package where the file is no workbook, or cannot be opened.
    """
    other = _other_file(data, what)
    if other is not None:
        return None, [other]
    members, faults = zip_members(data, what=what, most_bytes=_MOST_UNPACKED_BYTES)
    if faults:
        return None, faults
    by_name = {name.casefold(): member for name, member in members.items()}
    members.clear()
    try:
        return _package(by_name, what)
    except DamagedPart as fault:
        return None, [_fault(f"{what} {fault.what}", _ALLOWED, _SAVE_ANEW)]


def _other_file(data: bytes, what: str) -> Problem | None:
    """What the file is, where it is no zip at all."""
    if not data:
        return _fault(f"{what} is empty", _ALLOWED, "Save or copy it anew")
    if len(data) > MOST_BYTES:
        found = f"{what} holds {len(data) // 2**20} MB"
        return _fault(found, f"at most {MOST_BYTES // 2**20} MB", "Take pictures and what is not of this job out")
    if data.startswith(_OLE):
        if _LOCKED in data:
            return _fault(f"{what} is under a password", "a workbook without one", "Save it without a password")
        return _fault(f"{what} is a workbook of the old sort (.xls)", _ALLOWED, "Save it as .xlsx")
    if not data.startswith(b"PK"):
        start = data[:1000]
        is_text = not any(sign < 9 for sign in start)
        found = f"{what} is {'a text' if is_text else 'something else'}, whatever its ending says"
        mend = "Open it in a spreadsheet and save it as .xlsx, or put it into a folder of CSV sheets"
        return _fault(found, _ALLOWED, mend if is_text else _ANOTHER)
    return None


def _package(members: Mapping[str, bytes], what: str) -> tuple[Package | None, list[Problem]]:
    book = _book_part(members)
    if book is None:
        return None, [_fault(f"{what} is {_sort_of_zip(members)}", _ALLOWED, _ANOTHER)]
    if book not in members:
        return None, [_fault(f"{what} lacks its part {book}", "a whole workbook", _SAVE_ANEW)]
    related = _related(members, book)
    by_sort = {each.sort: each.target for each in related.values() if not each.outside}
    named, from_1904 = _named_sheets(members[book])
    if named is None:
        return None, [_fault(f"{what} is {_sort_of_zip(members)}", _ALLOWED, _ANOTHER)]
    if len(named) > MOST_SHEETS:
        mend = "Keep what is not of this job outside"
        return None, [_fault(f"{what} has {len(named)} sheets", f"at most {MOST_SHEETS}", mend)]
    strings = members.get(by_sort.get("sharedstrings", ""), b"")
    if len(strings) > _MOST_STRING_BYTES:
        found = f"{what} holds {len(strings) // 2**20} MB of text"
        return None, [
            _fault(found, f"at most {_MOST_STRING_BYTES // 2**20} MB", "Keep what is not of this job outside")
        ]
    sheets, faults = _sheet_parts(members, named, related, what)
    package = Package(
        sheets=tuple(sheets),
        strings=strings,
        string_bytes=tuple(_string_sizes(strings)),
        date_styles=_date_styles(members.get(by_sort.get("styles", ""), b"")),
        from_1904=from_1904,
    )
    return package, faults


def _book_part(members: Mapping[str, bytes]) -> str | None:
    """The name of the workbook's own part; None where the file has none."""
    for each in _related(members, "").values():
        if each.sort == "officedocument" and not each.outside:
            return each.target if each.target.endswith(".xml") else None
    return "xl/workbook.xml" if "xl/workbook.xml" in members else None


def _sort_of_zip(members: Mapping[str, bytes]) -> str:
    if members.get("mimetype", b"").startswith(b"application/vnd.oasis.opendocument"):
        return "a document of another office program (.ods)"
    if any(name.startswith("xl/") and name.endswith(".bin") for name in members):
        return "a workbook in the binary form (.xlsb)"
    return "a zip of something else"


def _related(members: Mapping[str, bytes], part: str) -> dict[str, _Related]:
    """Where the relationships of a part lead, by their ids; those of the file itself where `part` is empty."""
    folder, _, name = part.rpartition("/")
    data = members.get(posixpath.join(folder, "_rels", f"{name}.rels"))
    found: dict[str, _Related] = {}

    def relationship(attributes: Attributes) -> None:
        target = attributes.get("Target", "")
        inside = posixpath.normpath(posixpath.join("/", folder, target)).lstrip("/")
        found[attributes.get("Id", "")] = _Related(
            sort=attributes.get("Type", "").rpartition("/")[2].casefold(),
            target=inside.casefold(),
            outside=attributes.get("TargetMode", "").casefold() == "external",
        )

    if data is not None:
        walk(data, {"Relationship": relationship})
    return found


def _named_sheets(data: bytes) -> tuple[list[tuple[str, str]] | None, bool]:
    """Each tab's name and the id of its relationship, and whether days are counted from 1904; None for no workbook."""
    named: list[tuple[str, str]] = []
    from_1904 = is_book = False

    def book(_: Attributes) -> None:
        nonlocal is_book
        is_book = True

    def properties(attributes: Attributes) -> None:
        nonlocal from_1904
        from_1904 = attributes.get("date1904", "") in ("1", "true")

    def sheet(attributes: Attributes) -> None:
        key = next((text for name, text in attributes.items() if name.endswith(":id")), "")
        named.append((attributes.get("name", ""), key))

    walk(data, {"workbook": book, "workbookPr": properties, "sheet": sheet})
    return named if is_book else None, from_1904


def _sheet_parts(
    members: Mapping[str, bytes], named: Sequence[tuple[str, str]], related: Mapping[str, _Related], what: str
) -> tuple[list[SheetPart], list[Problem]]:
    """The sheets of cells; sheets of charts and macros are passed over."""
    sheets: list[SheetPart] = []
    faults: list[Problem] = []
    seen: set[str] = set()
    for name, key in named:
        leads = related.get(key)
        if leads is not None and not leads.outside and leads.sort not in ("worksheet", ""):
            continue
        if not name:
            faults.append(_fault(f"{what} has a sheet without a name", "a name on every tab", "Give the sheet a name"))
            continue
        if name in seen:
            faults.append(_fault(name, "each sheet once", f"Keep one sheet {name}", sheet=name))
            continue
        seen.add(name)
        if leads is None or leads.outside or leads.target not in members:
            faults.append(_fault("its part of the file is missing", "a whole workbook", _SAVE_ANEW, sheet=name))
            continue
        sheets.append(SheetPart(name=name, data=trimmed(members[leads.target])))
    return sheets, faults


def _string_sizes(data: bytes) -> list[int]:
    """The size of each shared text, the markup between its pieces not counted. [bytes]"""
    sizes: list[int] = []

    def text(piece: str) -> None:
        if sizes:
            sizes[-1] += len(piece) if piece.isascii() else len(piece.encode())

    if data:
        walk(data, {"si": lambda _: sizes.append(0)}, text=text)
    return sizes


def _date_styles(data: bytes) -> dict[str, str]:
    """The cell styles that make a date, or a length of time, of a figure: number -> `date` or `span`."""
    formats: dict[str, str] = {}
    used: list[str] = []
    is_used = False

    def number_format(attributes: Attributes) -> None:
        formats[attributes.get("numFmtId", "")] = attributes.get("formatCode", "")

    def cell_styles(_: Attributes) -> None:
        nonlocal is_used
        is_used = True

    def no_cell_styles() -> None:
        nonlocal is_used
        is_used = False

    def style(attributes: Attributes) -> None:
        if is_used:
            used.append(attributes.get("numFmtId", ""))

    if data:
        begins = {"numFmt": number_format, "cellXfs": cell_styles, "xf": style}
        walk(data, begins, ends={"cellXfs": no_cell_styles})
    sorts = {key: _sort_of_format(key, formats.get(key)) for key in dict.fromkeys(used)}
    return {str(number): sorts[key] for number, key in enumerate(used) if sorts[key]}


def _sort_of_format(key: str, code: str | None) -> str:
    """Whether a number format makes a `date`, a `span` of time, or neither of a figure."""
    if code is None:
        number = int(key) if key.isascii() and key.isdigit() and len(key) < 6 else 0
        return "date" if number in _DATES else "span" if number in _SPANS else ""
    bare = _QUOTED.sub("", code)
    if _SPAN.search(bare):
        return "span"
    return "date" if _DATE.search(_BRACKETS.sub("", bare)) else ""


def _fault(found: str, allowed: str, mend: str, *, sheet: str = "") -> Problem:
    return Problem(sheet=sheet, row=None, column="", found=found, allowed=allowed, mend=mend)
