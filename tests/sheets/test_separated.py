"""One CSV sheet: separators, blank lines, quotes, headings, and text that a spreadsheet would take for a formula."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.sheets.separated import guarded, rows_from_text, text_from_rows, unguarded


def rows(text):
    found, problems = rows_from_text("wires", text)
    assert problems == []
    return found


def problem(text):
    _, problems = rows_from_text("wires", text)
    assert len(problems) == 1, problems
    assert problems[0].sheet == "wires"
    assert problems[0].mend
    return problems[0]


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("separator", [",", ";"])
def test_both_separators_and_all_line_ends(separator, end):
    text = end.join(
        [separator.join(["id", "notes"]), separator.join(["W1", '"a, b; c"']), separator.join(["W2", ""]), ""]
    )
    assert rows(text) == [{"id": "W1", "notes": "a, b; c"}, {"id": "W2", "notes": ""}]


def test_a_decimal_comma_where_semicolons_part():
    assert rows("id;size_mm2\nW1;1,5\n") == [{"id": "W1", "size_mm2": "1,5"}]


def test_one_column_needs_no_separator():
    assert rows("id\nW1\nW2\n") == [{"id": "W1"}, {"id": "W2"}]


def test_headings_parted_by_both_are_not_guessed_at():
    found = problem("id;from,to\nW1;a,b\n")
    assert (found.row, found.found) == (1, "id;from,to")
    assert rows('id,"a;b"\nW1,x\n') == [{"id": "W1", "a;b": "x"}]


def test_blank_lines_keep_their_place():
    text = "\n,,\nid,notes\n\nW1,x\n,\n  ,\nW2,y\n\n"
    found = rows(text)
    assert [(place + 2, row) for place, row in enumerate(found) if any(cell.strip() for cell in row.values())] == [
        (5, {"id": "W1", "notes": "x"}),
        (8, {"id": "W2", "notes": "y"}),
    ]


def test_a_cell_over_two_lines_is_one_row():
    text = 'id,notes\nW1,"two\nlines"\nW2,x\n'
    assert rows(text) == [{"id": "W1", "notes": "two\nlines"}, {"id": "W2", "notes": "x"}]


def test_short_rows_are_filled_and_empty_columns_left_out():
    assert rows("id,,notes,,\nW1\nW2,,x,,\n") == [{"id": "W1", "notes": ""}, {"id": "W2", "notes": "x"}]


def test_nothing_in_it():
    assert rows("") == []
    assert rows("\n\n") == []
    assert rows("id,notes\n") == []


def test_a_row_wider_than_its_headings_is_told_with_its_row_and_the_others_are_read():
    found, problems = rows_from_text("wires", "id,notes\nW1,red, thick\nW2,x\n\nW3,a,,b\n")
    assert [(each.row, each.found) for each in problems] == [(2, "thick".rjust(6)), (5, "b")]
    assert problems[0].mend == 'Put a text that has , in it between quotes, "like, this"'
    assert found[1] == {"id": "W2", "notes": "x"}


def test_a_heading_twice():
    found = problem("id,notes,id\nW1,x,W2\n")
    assert (found.row, found.column, found.found) == (1, "id", "id")


def test_cells_without_a_heading():
    found = problem("id,,notes\nW1,x,y\n")
    assert (found.row, found.found) == (1, "cells without a heading in column 2")


def test_a_quote_that_is_never_closed():
    found = problem('id,notes\nW1,x\nW2,"y\nW3,z\n')
    assert (found.row, found.mend) == (3, "Close the quote in row 3, or take it out")


def test_a_quote_that_closes_too_soon():
    assert problem('id,notes\nW1,"5" pipe\n').row == 2


def test_a_quote_inside_a_word_is_a_letter():
    assert rows('id,notes\nW1,5" pipe\n') == [{"id": "W1", "notes": '5" pipe'}]


def test_a_zero_byte():
    found = problem("id,notes\nW1,x\nW2,\0\n")
    assert (found.row, found.found) == (3, "a zero byte")


@pytest.mark.parametrize(
    ("text", "written"),
    [
        ("=1+1", "'=1+1"),
        ("@name", "'@name"),
        ("+cmd", "'+cmd"),
        ("-x", "'-x"),
        ("\t=1", "'\t=1"),
        ("'=1", "''=1"),
        ("-10", "-10"),
        ("+1.5e3", "+1.5e3"),
        ("-1,5", "-1,5"),
        ("+", "+"),
        ("-", "-"),
        ("'quoted'", "'quoted'"),
        ("a=b", "a=b"),
    ],
)
def test_text_that_looks_like_a_formula_stays_text(text, written):
    assert guarded(text) == written
    assert unguarded(written) == text
    assert rows(text_from_rows(["id", "notes"], [{"id": "W1", "notes": text}]))[0]["notes"] == text


def test_a_formula_that_is_typed_without_an_apostrophe_is_text_too():
    assert rows("id,notes\nW1,=1+1\n") == [{"id": "W1", "notes": "=1+1"}]


cells = st.text(alphabet=st.characters(blacklist_categories=("Cs",), blacklist_characters="\0"), max_size=12)
headings = st.lists(
    st.text(alphabet="abc=+-@' ;,\"", min_size=1, max_size=6).filter(lambda name: name == name.strip()),
    min_size=1,
    max_size=4,
    unique=True,
)


@given(headings, st.data())
def test_what_is_written_is_read_again(names, data):
    row = st.fixed_dictionaries(dict.fromkeys(names, cells)).filter(lambda row: any(map(str.strip, row.values())))
    written = data.draw(st.lists(row, max_size=4))
    assert rows(text_from_rows(names, written)) == written


@given(headings, st.data())
def test_a_spreadsheet_sees_the_same_cells_and_no_formula(names, data):
    written = data.draw(st.lists(st.fixed_dictionaries(dict.fromkeys(names, cells)), max_size=4))
    seen = list(csv.reader(io.StringIO(text_from_rows(names, written), newline="")))
    for record, row in zip(
        [record for record in seen[1:] if record],
        [row for row in written if len(names) > 1 or any(row.values())],
        strict=True,
    ):
        for cell, name in zip(record, names, strict=True):
            assert cell.removeprefix("'") == row[name].removeprefix("'")
            assert cell[:1] not in ("=", "@", "\t", "\r")
