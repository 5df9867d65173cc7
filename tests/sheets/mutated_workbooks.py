"""Sound workbooks with something done to them: to a cell, to the XML of a part, to the zip, to its bytes.

The same seed gives the same workbook on any machine.
"""

from __future__ import annotations

import io
import re
import zipfile
import zlib
from collections.abc import Callable
from datetime import date, datetime, time, timedelta
from functools import cache
from random import Random

import openpyxl

from loomwright.sheets.workbook_writing import workbook_bytes
from tests.job.small import SOUND, read, sheets
from tests.sheets.raw_workbook import cell, letters, members_of, packed, parts, row, sheet

NO_ZIP = (zipfile.BadZipFile, zlib.error, OSError, ValueError, NotImplementedError, EOFError, RuntimeError)

BITS = [
    *(b"<!-- x -->", b"<![CDATA[x]]>", b"<?x y?>", b"&lol;", b"&#0;", b"&#xFFFF;", b"\x00", b"\xff\xfe", b"\xc3"),
    *(b"<c/>", b"</c>", b"<v>", b"</v>", b"<f>1+1</f>", b"<row>", b"</row>", b"<is><t>x</t></is>", b"]]>", b"'"),
    *(b'<c r="XFD1048576"><v>1</v></c>', b'<c r="A0"><v>1</v></c>', b'<c r="AAAA1"><v>1</v></c>', b"<sheetData/>"),
    *(b'<mergeCells><mergeCell ref="A2:C4"/></mergeCells>', b'<mergeCells><mergeCell ref="?"/></mergeCells>'),
    *(b'<hyperlinks><hyperlink ref="A2" r:id="rId1"/></hyperlinks>', b'<!DOCTYPE w [<!ENTITY a "aaaa">]>', b"9" * 400),
]
SORTS = ["s", "n", "b", "e", "d", "str", "inlineStr", "zz", ""]
VALUES = [
    "0",
    "1",
    "-1",
    "1e300",
    "-1e300",
    "1e999",
    "nan",
    "99999",
    "45000",
    "#REF!",
    "#SPILL!",
    "TRUE",
    "1,5",
    "",
    "x",
]
CELLS: list[object] = [
    *("=1+1", "=A1", "=[1]other!A1", "#REF!", "#DIV/0!", "1,5", "1,234", "16 AWG", "_x0041_", "a\nb", "😀", " ", "'x"),
    *(True, False, 0, -1, 1.5, 1e300, 0.1 + 0.2, 10**20, date(2024, 5, 31), datetime(2024, 5, 31, 10, 30), time(8, 5)),
    *(timedelta(hours=30), None, "id", "parts", "key=run", "x" * 32_767),
]
FORMATS = ["General", "@", "0.00", "yyyy-mm-dd", "[h]:mm", "hh:mm", "0%", '"day" 0', "[Red]0", ";;;", "d", "[$-409]m"]


@cache
def sound_workbooks() -> tuple[bytes, ...]:
    """The small job as we write it, as another program does, and as one might that writes little."""
    ours = workbook_bytes(read(sheets()))
    plain = {}
    for name, rows in SOUND.items():
        headings = list(dict.fromkeys(heading for each in rows for heading in each))
        body = [row(n, *(each.get(heading, "") for heading in headings)) for n, each in enumerate(rows, start=2)]
        plain[name] = sheet(row(1, *headings), *body)
    little = packed(parts(plain), stored=True)
    return ours, _saved(openpyxl.load_workbook(io.BytesIO(little))), little


def _saved(book: openpyxl.Workbook) -> bytes:
    """A workbook as the other program writes it, without the time at which it does."""
    file = io.BytesIO()
    book.save(file)
    members = members_of(file.getvalue())
    members["docProps/core.xml"] = b"<coreProperties/>"
    return packed(members)


def mutated(seed: int) -> bytes:
    """One workbook with one to three things done to it."""
    rng = Random(seed)
    data = rng.choice(sound_workbooks())
    for _ in range(rng.choice((1, 1, 1, 2, 3))):
        data = rng.choice(_ALL)(rng, data)
    return data


def _in_cells(rng: Random, data: bytes) -> bytes:
    """Cells typed over, formats changed, areas merged, sheets hidden, rows and columns put in."""
    if data == sound_workbooks()[0] and rng.random() < 0.9:
        data = sound_workbooks()[1]  # the other program takes half a second for ours with its notes and lists
    try:
        book = openpyxl.load_workbook(io.BytesIO(data))
    except Exception:  # noqa: BLE001  # an earlier mutation has left nothing that this program opens
        return _in_bytes(rng, data)
    if not book.worksheets:
        return _in_bytes(rng, data)
    for _ in range(rng.randint(1, 4)):
        tab = rng.choice(book.worksheets)
        where = tab.cell(rng.randint(1, 8), rng.randint(1, 8))
        what = rng.randrange(9)
        if what < 4 and type(where).__name__ == "Cell":
            value = rng.choice(CELLS)
            where.value = value  # type: ignore[assignment]
        elif what == 4 and type(where).__name__ == "Cell":
            where.number_format = rng.choice(FORMATS)
        elif what == 5:
            left, top = rng.randint(1, 6), rng.randint(1, 6)
            tab.merge_cells(None, top, left, top + rng.randint(0, 3), left + rng.randint(0, 3))
        elif what == 6:
            tab.sheet_state = rng.choice(("hidden", "veryHidden", "visible"))
        elif what == 7:
            rng.choice((tab.insert_rows, tab.insert_cols, tab.delete_rows, tab.delete_cols))(rng.randint(1, 5))
        else:
            tab.title = rng.choice(("parts", "wire", "Sheet1", "PLACES", "a b", "x" * 31))
    try:
        return _saved(book)
    except Exception:  # noqa: BLE001  # this program cannot write what was asked of it
        return data


def _in_part(rng: Random, data: bytes) -> bytes:
    """The XML of one part cut, doubled, mixed up, or with something put in."""
    return _changed(rng, data, _worse_xml)


def _in_values(rng: Random, data: bytes) -> bytes:
    """Types, values, styles and names of cells, and names of sheets, changed in the XML."""
    return _changed(rng, data, _other_values)


def _changed(rng: Random, data: bytes, change: Callable[[Random, bytes], bytes]) -> bytes:
    try:
        members = members_of(data)
    except NO_ZIP:
        return _in_bytes(rng, data)
    names = [name for name in members if name.endswith((".xml", ".rels"))]
    if not names:
        return data
    sheets_of_cells = [name for name in names if "/worksheets/" in name] or names
    name = rng.choice(sheets_of_cells if rng.random() < 0.6 else names)
    members[name] = change(rng, members[name])
    return packed(members)


def _worse_xml(rng: Random, xml: bytes) -> bytes:
    at, to = sorted((rng.randint(0, len(xml)), rng.randint(0, len(xml))))
    tags = [match.span() for match in re.finditer(rb"<[^<>]*>", xml)]
    what = rng.randrange(7)
    if what == 0:
        return xml[:at]
    if what == 1:
        return xml[:at] + rng.choice(BITS) + xml[at:]
    if what == 2 and tags:
        start, end = rng.choice(tags)
        return xml[:start] + xml[end:]
    if what == 3 and tags:
        start, end = rng.choice(tags)
        return xml[:end] + rng.choice(BITS) + xml[end:]
    if what == 4 and tags:
        start, end = rng.choice(tags)
        return xml[:end] + xml[start:end] + xml[end:]
    if what == 5:
        return xml[:at] + xml[to : to + 50] + xml[at + 50 : to] + xml[at : at + 50] + xml[to + 50 :]
    return rng.choice((xml.replace(b"<", b"<x:", 50), xml.replace(b'"', b"'"), xml.decode("latin-1").encode("utf-16")))


def _other_values(rng: Random, xml: bytes) -> bytes:
    text = xml.decode("utf-8", "replace")
    for _ in range(rng.randint(1, 4)):
        pattern, words = rng.choice(
            (
                (r' t="\w*"', [f' t="{sort}"' for sort in SORTS]),
                (
                    r"<v>[^<]*</v>",
                    [*(f"<v>{value}</v>" for value in VALUES), "<f>1+1</f>", "<f>1+1</f><v></v>", "<v/>"],
                ),
                (r' s="\d+"', [' s="1"', ' s="99999"', ' s="x"']),
                (r' r="[A-Z]*\d+"', ["", ' r="A1"', ' r="B7"', ' r="XFD1"', ' r="A1048576"', ' r="1"', ' r="$A$1"']),
                (r"<row ", ['<row r="1048576" ', '<row r="-1" ', "<row hidden='1' "]),
                (r'name="[^"]*"', ['name=""', 'name="parts"', 'name="PARTS"', 'name="a&lt;b"']),
                (r'(r:id|Id)="[^"]*"', ['Id="rId1"', 'r:id="rId1"', 'r:id=""']),
                (r'Target="[^"]*"', ['Target="../../x"', 'Target="http://a.b/c" TargetMode="External"', 'Target=""']),
                (r'Type="[^"]*"', ['Type="x/chartsheet"', 'Type=""', 'Type="x/sharedStrings"', 'Type="x/styles"']),
                (r'formatCode="[^"]*"', ['formatCode="yyyy"', 'formatCode="["', 'formatCode=""']),
                (r'numFmtId="\d+"', ['numFmtId="14"', 'numFmtId="46"', 'numFmtId="-1"']),
            )
        )
        found = list(re.finditer(pattern, text))
        if found:
            spot = rng.choice(found)
            text = text[: spot.start()] + rng.choice(words) + text[spot.end() :]
    return text.encode("utf-8", "replace")


def _in_zip(rng: Random, data: bytes) -> bytes:
    """Parts taken out, doubled, swapped, renamed; parts put in that no workbook has."""
    try:
        members = members_of(data)
    except NO_ZIP:
        return _in_bytes(rng, data)
    if len(members) < 2:
        return data
    one, other = rng.sample(sorted(members), 2)
    what = rng.randrange(7)
    if what == 0:
        members.pop(one)
    elif what == 1:
        members[one], members[other] = members[other], members[one]
    elif what == 2:
        members[one.upper()] = members.pop(one)
    elif what == 3:
        members[rng.choice(("../x", "/x", "a\\b", "xl/externalLinks/externalLink1.xml", "x/"))] = b"x"
    elif what == 4:
        members[one] = b""
    elif what == 5:
        members["xl/vbaProject.bin"] = rng.randbytes(500)
    else:
        names = sorted(members)
        rng.shuffle(names)
        members = {name: members[name] for name in names}
    return packed(members, stored=rng.random() < 0.3)


def _in_bytes(rng: Random, data: bytes) -> bytes:
    """The file cut off, bytes of it changed, swapped, taken out or put in."""
    at = rng.randint(0, len(data))
    what = rng.randrange(6)
    if what == 0:
        return data[:at]
    if what == 1:
        return data[:at] + rng.randbytes(rng.randint(1, 8)) + data[at:]
    if what == 2:
        return data[:at] + data[at + rng.randint(1, 8) :]
    if what == 3 and len(data) > 2:
        changed = bytearray(data)
        for _ in range(rng.randint(1, 5)):
            one, other = rng.randrange(len(data)), rng.randrange(len(data))
            changed[one], changed[other] = changed[other], changed[one]
        return bytes(changed)
    if what == 4:
        return data + rng.randbytes(rng.randint(1, 100))
    return data[at:]


def _far_cells(rng: Random, data: bytes) -> bytes:
    """A cell far out, or a million blank ones with a format, in one sheet."""

    def change(rng: Random, xml: bytes) -> bytes:
        if rng.random() < 0.5:
            number = rng.choice((5_000, 60_000, 1_048_576))
            far = f'<row r="{number}">{cell(f"{letters(rng.choice((0, 3, 300, 16_383)))}{number}", "x")}</row>'
        else:
            first = rng.choice((300, 5_000))
            blank = (
                f'<row r="{n}" s="1" customFormat="1"><c r="A{n}" s="1"/></row>' for n in range(first, first + 9_000)
            )
            far = "".join(blank)
        return xml.replace(b"</sheetData>", far.encode() + b"</sheetData>")

    return _changed(rng, data, change)


_ALL = (_in_cells, _in_cells, _in_part, _in_values, _in_values, _in_zip, _in_bytes, _far_cells)
