"""The layout board's paper, read back: sheets of their size, a rule of 100 mm, nothing outside a field."""

from __future__ import annotations

import numpy as np
import pypdfium2
import pytest

from loomwright.car import Car
from loomwright.drawings.board.board_sheets import BoardPrint, board_print
from loomwright.job.reading import job_from_text
from loomwright.writers.board_paper import board_pdf
from tests.drawings.test_board import sheets

MM = 25.4 / 72.0
DOTS_PER_MM = 10.0


@pytest.fixture(scope="module")
def made() -> BoardPrint:
    """The sheets of the small loom, on A4."""
    return board_print(Car(job_from_text(sheets())).board())


@pytest.fixture(scope="module")
def pdf(made) -> bytes:
    """Their PDF."""
    return board_pdf(made, date="2025-03-04")


def test_there_is_a_page_for_the_whole_and_one_of_the_papers_size_for_each_sheet(pdf, made):
    with pypdfium2.PdfDocument(pdf) as document:
        sizes = [tuple(side * MM for side in page.get_size()) for page in document]
        texts = [page.get_textpage().get_text_range() for page in document]
    sheet_pages = texts[-len(made.sheets) :]
    assert all(size == pytest.approx(made.page_mm, abs=0.1) for size in sizes[-len(made.sheets) :])
    for sheet, text in zip(made.sheets, sheet_pages, strict=True):
        words = "".join(text.split())
        joins = ",".join(f"{side}{name}" for side, name in sheet.beside.items())
        assert f"{sheet.name}100mm:" in words
        assert f"joins{joins}" in words
    front = " ".join(texts[: -len(made.sheets)])
    assert "Order of sleeving" in front
    assert "What is not on the board" in front
    assert all(word in front for word in ("W7", "LOST", "R5", "too short to reach the peg: W2"))


def test_the_rule_on_a_sheet_measures_100_mm(pdf, made):
    dark = ink(pdf, -1)
    foot = round((made.page_mm[1] - made.margin_mm - 14.0 + 6.0) * DOTS_PER_MM)
    rows = dark[foot - 6 : foot + 7]
    longest = max(longest_bar(row) for row in rows)
    assert longest / DOTS_PER_MM == pytest.approx(100.0, abs=0.5)


def test_nothing_of_the_board_is_printed_outside_its_field(pdf, made):
    for page in range(1, len(made.sheets) + 1):
        dark = ink(pdf, -page)
        edge = round((made.margin_mm - 5.6) * DOTS_PER_MM)
        assert not dark[:, :edge].any()
        assert not dark[:edge].any()


def test_the_same_board_gives_the_same_bytes(pdf, made):
    assert board_pdf(made, date="2025-03-04") == pdf


def ink(pdf: bytes, page: int) -> np.ndarray:
    """Which dots of a page are dark."""
    with pypdfium2.PdfDocument(pdf) as document:
        picture = document[len(document) + page].render(scale=DOTS_PER_MM * MM).to_numpy()
    return np.asarray(picture[..., :3].mean(axis=2) < 128)


def longest_bar(row: np.ndarray) -> int:
    """The most dark dots in a row that touch."""
    changes = np.flatnonzero(np.diff(np.concatenate(([0], row.astype(int), [0]))))
    return int(max(changes[1::2] - changes[::2], default=0))
