"""The look at a sheet's XML: what lies too far out or would become too much never gets any further."""

from __future__ import annotations

import pytest

from loomwright.sheets import workbook_look
from loomwright.sheets.workbook_look import (
    FURTHEST_ROW,
    MOST_COLUMNS,
    TooMuch,
    cell_name,
    look_at,
    shared_text_bytes,
    trimmed,
)
from loomwright.sheets.workbook_xml import DamagedPart
from tests.sheets.raw_workbook import cell, letters, row, sheet


def look(*rows, after=""):
    return look_at(sheet(*rows, after=after).encode(), date_styles={"1": "date"})


def test_cells_are_named_as_a_spreadsheet_names_them():
    assert [cell_name((1, column)) for column in (1, 26, 27, 52, 53, 702, 703, 16_384)] == [
        *("A1", "Z1", "AA1", "AZ1", "BA1", "ZZ1", "AAA1", "XFD1")
    ]


def test_what_is_special_about_a_cell_is_noted():
    seen = look(
        row(1, "id", "value"),
        row(2, '<c r="{}" s="1"><v>45000</v></c>', '<c r="{}" t="e"><v>#REF!</v></c>', '<c r="{}"><f>A1</f></c>'),
        row(3, '<c r="{}" t="str"><f>A1</f><v></v></c>', '<c r="{}" t="s" s="1"><v>0</v></c>', '<c r="{}" s="1"/>'),
        after='<mergeCells><mergeCell ref="A2:B4"/></mergeCells>',
    )
    assert (seen.rows, seen.columns, seen.strings) == (3, 2, 1)
    assert seen.dates == {(2, 1): "date"}
    assert seen.faults == {(2, 2): "#REF!"}
    assert seen.formulas == ((2, 3), (3, 1))
    assert seen.texts == {(3, 1)}
    assert seen.merged == (((2, 1), (4, 2)),)


def test_rows_and_cells_without_numbers_are_counted():
    seen = look("<row><c><v>1</v></c><c><v>2</v></c></row>", '<row><c r="B5"><v>3</v></c><c s="1"><v>4</v></c></row>')
    assert (seen.rows, seen.columns) == (5, 3)
    assert seen.dates == {(5, 3): "date"}


def test_elements_with_a_prefix_are_seen():
    xml = b'<x:w xmlns:x="m"><x:sheetData><x:row r="2"><x:c r="B2"><x:v>1</x:v></x:c></x:row></x:sheetData></x:w>'
    seen = look_at(xml, date_styles={})
    assert (seen.rows, seen.columns, seen.cells) == (2, 2, 1)


@pytest.mark.parametrize(
    "far",
    [
        f'<row r="1"><c r="{letters(MOST_COLUMNS)}1"><v>1</v></c></row>',
        f'<row r="{FURTHEST_ROW + 1}"><c r="A{FURTHEST_ROW + 1}"><v>1</v></c></row>',
        '<row r="1048576"><c r="XFD1048576" t="inlineStr"><is><t>x</t></is></c></row>',
    ],
)
def test_a_cell_too_far_out_stops_the_look(far):
    with pytest.raises(TooMuch, match="reaches as far as"):
        look(far)
    assert look(
        far.replace("<v>1</v>", "").replace("<is><t>x</t></is>", "").replace("1048576", "9").replace("100001", "9")
    )


def test_the_furthest_cell_that_may_be_is_seen():
    seen = look(f'<row r="{FURTHEST_ROW}"><c r="{letters(MOST_COLUMNS - 1)}{FURTHEST_ROW}"><v>1</v></c></row>')
    assert (seen.rows, seen.columns) == (FURTHEST_ROW, MOST_COLUMNS)


def test_more_cells_than_are_read_stop_the_look(monkeypatch):
    monkeypatch.setattr(workbook_look, "MOST_CELLS", 100)
    many = '<c r="A1"><v>1</v></c>'
    assert look(f'<row r="1">{many * 100}</row>').cells == 100
    for each in (many, '<c r="A1"><f>1</f></c>'):
        with pytest.raises(TooMuch, match="more than 100 cells"):
            look(f'<row r="1">{many * 100}{each}</row>')


@pytest.mark.parametrize(
    "xml",
    [
        '<row r="0"/>',
        '<row r="x"/>',
        '<row r="٣"/>',
        '<row r="1"><c r="A2"><v>1</v></c></row>',
        '<row r="1"><c r="$A$1"><v>1</v></c></row>',
        '<row r="1"><c r="AAAA1"><v>1</v></c></row>',
        '<row r="1"><c r="1"><v>1</v></c></row>',
        '<row r="1"><c r="A1"><v>1<!-- x -->2</v></c></row>',
        '<row r="1"><c r="A1" t="str"><v><![CDATA[x]]></v></c></row>',
        '<row r="1"><c r="A1"><v>&#49;</v></c></row>',
        '<row r="1"><c r="A1"><v>&lol;</v></c></row>',
        "<row>",
    ],
)
def test_what_no_spreadsheet_writes_is_damage(xml):
    with pytest.raises(DamagedPart):
        look(xml)


def test_a_document_type_is_refused_before_anything_of_it_is_used():
    bomb = b'<!DOCTYPE w [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;">]><worksheet>&b;</worksheet>'
    with pytest.raises(DamagedPart, match="document type"):
        look_at(bomb, date_styles={})


def test_blank_cells_behind_the_last_are_cut_off():
    body = row(1, "id") + row(2, "B1")
    blank = "".join(f'<row r="{n}" s="1" customFormat="1"><c r="A{n}" s="1"/></row>' for n in range(3, 9))
    links = '<mergeCells><mergeCell ref="A1:A1"/></mergeCells>'
    assert trimmed(sheet(body, blank, after=links).encode()) == sheet(body, after=links).encode()
    assert trimmed(sheet(blank).encode()) == sheet().encode()
    with_end = row(1, "id") + row(2, "B1", '<c r="{}" s="1"/>')
    assert trimmed(sheet(with_end, blank).encode()) == sheet(body).encode()


def test_a_formula_that_was_never_worked_out_is_not_cut_off():
    left_open = '<row r="3"><c r="A3"><f t="shared" si="0"/></c></row>'
    for each in (left_open, left_open.replace("<f ", "<x:f "), '<row r="3"><c r="A3"><f>1</f></c></row>'):
        text = sheet(row(1, "id"), each, '<row r="4"><c r="A4" s="1"/></row>').encode()
        assert b"f>" in trimmed(text) or b"f " in trimmed(text)


def test_text_that_cells_share_is_counted_however_it_is_written():
    rows = '<row r="1"><c r="A1" t="s"><v>0</v></c><c r="B1" t="s"><v>1</v></c><c r="C1" t="s"><v>1</v></c></row>'
    for text in (rows, rows.replace('r="A1" t="s"', "t='s' r='A1'"), rows.replace("<v>1", "<v >1")):
        data = sheet(text).encode()
        assert shared_text_bytes(data, look_at(data, date_styles={}), [10, 100]) == 210
    assert cell("A1", "x") in sheet(row(1, "x"))
