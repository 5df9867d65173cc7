"""The brief in a workbook: what is written is read back, lists hold what is allowed, a hand-made sheet is read."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest

from loomwright.brief.brief import brief_answered, load_brief
from loomwright.refusals import BadDocument
from loomwright.sheets.brief_workbook import answers_in_workbook, brief_workbook


def by_hand(path: Path, rows: list[tuple[object, ...]], sheet: str = "brief") -> Path:
    """A workbook typed by somebody."""
    book = openpyxl.Workbook()
    book.active.title = sheet
    for row in rows:
        book.active.append(row)
    book.save(path)
    return path


def test_the_workbook_of_questions_gives_the_usual_answers_back(tmp_path: Path) -> None:
    path = tmp_path / "brief.xlsx"
    path.write_bytes(brief_workbook(load_brief()))
    assert brief_answered(answers_in_workbook(path)) == brief_answered({})


def test_each_choice_has_its_allowed_answers_as_a_list(tmp_path: Path) -> None:
    path = tmp_path / "brief.xlsx"
    path.write_bytes(brief_workbook(load_brief()))
    book = openpyxl.load_workbook(path)
    sheet = book["brief"]
    offered = {}
    for rule in sheet.data_validations.dataValidation:
        row = int(str(rule.sqref)[1:])
        if rule.formula1.startswith('"'):
            words = tuple(rule.formula1.strip('"').split(","))
        else:
            where, _, cells = rule.formula1.replace("$", "").partition("!")
            words = tuple(cell.value for row_cells in book[where][cells] for cell in row_cells)
        offered[sheet.cell(row, 1).value] = words
    assert offered == {each.ask.name: each.ask.allowed for each in load_brief().asks if each.ask.allowed}


def test_two_columns_typed_by_hand_are_read(tmp_path: Path) -> None:
    rows = [("question", "answer"), ("cylinders", 6), ("horn", "yes"), ("radio", None)]
    assert answers_in_workbook(by_hand(tmp_path / "a.xlsx", rows)) == {"cylinders": "6", "horn": "yes"}


def test_a_question_asked_twice_and_a_workbook_without_the_sheet_are_told(tmp_path: Path) -> None:
    twice = [("question", "answer"), ("horn", "yes"), ("horn", "no")]
    with pytest.raises(BadDocument, match="each question once"):
        answers_in_workbook(by_hand(tmp_path / "a.xlsx", twice))
    with pytest.raises(BadDocument, match="sheet called brief"):
        answers_in_workbook(by_hand(tmp_path / "b.xlsx", [("id", "kind")], sheet="parts"))
