"""The quote as a paper: its pages read back, the same bytes every time, words of the job never as layout."""

from __future__ import annotations

import io

import pypdfium2

from loomwright.writers.quote_paper import quote_pdf
from tests.handover.small_quote import SHEETS, quote


def text_of(pdf: bytes) -> str:
    document = pypdfium2.PdfDocument(io.BytesIO(pdf))
    return " ".join(" ".join(page.get_textpage().get_text_range().split()) for page in document)


def test_both_parts_stand_on_the_paper_with_their_sums():
    said = text_of(quote_pdf(quote(), date="2026-03-20"))
    for piece in (
        "Part one: Strip and survey",
        "Part two: The rest",
        "89 EUR (70 to 130)",
        "Both parts together",
        "A second lamp",
        "2026-03-20",
        "How it is counted",
    ):
        assert piece in said


def test_part_one_alone_says_so_and_holds_nothing_of_the_rest():
    said = text_of(quote_pdf(quote(), ("one",)))
    assert "Part one alone" in said
    assert "The rest" not in said
    assert "Both parts together" not in said


def test_the_same_quote_gives_the_same_bytes():
    assert quote_pdf(quote(), date="2026-03-20") == quote_pdf(quote(), date="2026-03-20")


def test_words_of_the_job_are_never_layout():
    wishes = [{**SHEETS["wishes"][0], "text": "#panic() *and* $x$ \\ <a>"}]
    assert "#panic() *and* $x$ \\ <a>" in text_of(quote_pdf(quote(wishes=wishes)))


def test_every_page_has_ink():
    pages = pypdfium2.PdfDocument(io.BytesIO(quote_pdf(quote())))
    assert len(pages) > 1
    assert all(page.render(scale=0.5).to_numpy().min() < 128 for page in pages)
