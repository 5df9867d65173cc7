"""Workbooks put together part by part, as other programs might write them, sound or not."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping
from xml.sax.saxutils import escape, quoteattr

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
PACKAGE = "http://schemas.openxmlformats.org/package/2006/relationships"
TYPES = "http://schemas.openxmlformats.org/package/2006/content-types"
DATES = (
    '<numFmts count="2"><numFmt numFmtId="164" formatCode="yyyy\\-mm\\-dd"/>'
    '<numFmt numFmtId="165" formatCode="0.0&quot; days&quot;"/></numFmts>'
    '<cellXfs count="5"><xf numFmtId="0"/><xf numFmtId="14"/><xf numFmtId="164"/><xf numFmtId="46"/>'
    '<xf numFmtId="165"/></cellXfs>'
)
"""Cell styles: 0 plain, 1 and 2 a date, 3 a length of time, 4 a figure with a word that has date letters in it."""


def letters(place: int) -> str:
    """The letters of a column, from 0."""
    return chr(65 + place) if place < 26 else letters(place // 26 - 1) + chr(65 + place % 26)


def cell(name: str, text: str) -> str:
    """A cell with a text in it."""
    return f'<c r="{name}" t="inlineStr"><is><t xml:space="preserve">{escape(text)}</t></is></c>'


def row(number: int, *cells: str) -> str:
    """A row: each of `cells` a text, or the XML of a cell, which may have {} for its name."""
    told = []
    for place, each in enumerate(cells):
        name = f"{letters(place)}{number}"
        if each:
            told.append(each.replace("{}", name) if each.startswith("<c ") else cell(name, each))
    return f'<row r="{number}">{"".join(told)}</row>'


def sheet(*rows: str, after: str = "") -> str:
    """The part of a sheet. after: what follows its cells, merged areas or links."""
    return f'<worksheet xmlns="{MAIN}"><sheetData>{"".join(rows)}</sheetData>{after}</worksheet>'


def parts(sheets: Mapping[str, str], *, strings: str = "", styles: str = DATES, book: str = "") -> dict[str, str]:
    """The parts of a workbook, name -> text. book: what stands before the list of sheets."""
    numbered = list(enumerate(sheets.items(), start=1))
    named = "".join(f'<sheet name={quoteattr(name)} sheetId="{n}" r:id="rId{n}"/>' for n, (name, _) in numbered)
    related = "".join(
        f'<Relationship Id="rId{n}" Type="{OFFICE}/worksheet" Target="worksheets/sheet{n}.xml"/>' for n, _ in numbered
    )
    related += f'<Relationship Id="st" Type="{OFFICE}/styles" Target="styles.xml"/>'
    made = {
        "[Content_Types].xml": _types(len(numbered), shared=bool(strings)),
        "_rels/.rels": f'<Relationships xmlns="{PACKAGE}"><Relationship Id="a" Type="{OFFICE}/officeDocument" '
        'Target="xl/workbook.xml"/></Relationships>',
        "xl/workbook.xml": f'<workbook xmlns="{MAIN}" xmlns:r="{OFFICE}">{book}<sheets>{named}</sheets></workbook>',
        "xl/styles.xml": f'<styleSheet xmlns="{MAIN}">{styles}</styleSheet>',
    }
    if strings:
        related += f'<Relationship Id="ss" Type="{OFFICE}/sharedStrings" Target="sharedStrings.xml"/>'
        made["xl/sharedStrings.xml"] = f'<sst xmlns="{MAIN}">{strings}</sst>'
    made["xl/_rels/workbook.xml.rels"] = f'<Relationships xmlns="{PACKAGE}">{related}</Relationships>'
    return made | {f"xl/worksheets/sheet{n}.xml": text for n, (_, text) in numbered}


def _types(sheets: int, *, shared: bool) -> str:
    """The part that says of which sort each part is."""
    sort = "application/vnd.openxmlformats-officedocument.spreadsheetml."
    named = [
        ("workbook", "sheet.main"),
        ("styles", "styles"),
        *([("sharedStrings", "sharedStrings")] if shared else []),
    ]
    named += [(f"worksheets/sheet{number}", "worksheet") for number in range(1, sheets + 1)]
    told = "".join(f'<Override PartName="/xl/{name}.xml" ContentType="{sort}{each}+xml"/>' for name, each in named)
    rels = '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    return f'<Types xmlns="{TYPES}">{rels}<Default Extension="xml" ContentType="application/xml"/>{told}</Types>'


def packed(members: Mapping[str, str | bytes], *, stored: bool = False) -> bytes:
    """The parts as the file of a workbook."""
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_STORED if stored else zipfile.ZIP_DEFLATED) as made:
        for name, member in members.items():
            made.writestr(
                zipfile.ZipInfo(name, (2000, 1, 1, 0, 0, 0)), member, None if stored else zipfile.ZIP_DEFLATED
            )
    return file.getvalue()


def workbook(sheets: Mapping[str, str], *, strings: str = "", styles: str = DATES, book: str = "") -> bytes:
    """The file of a workbook with those sheets."""
    return packed(parts(sheets, strings=strings, styles=styles, book=book))


def members_of(data: bytes) -> dict[str, bytes]:
    """The parts of a workbook, name -> bytes."""
    with zipfile.ZipFile(io.BytesIO(data)) as file:
        return {name: file.read(name) for name in file.namelist()}
