"""The printed paper and pack of a small job, read back by another program (pdfium, which a browser uses): is all of it
there, on A4, inside the page, with its own letters along?

Asked through the front door and the writer only: what the paper is laid out with does not matter here.
"""

from __future__ import annotations

import ctypes
from collections.abc import Iterator
from dataclasses import dataclass

import pypdfium2
import pypdfium2.raw as pdfium
import pytest

from loomwright.car import Car
from loomwright.handover.records import Paper
from loomwright.job.reading import job_from_text
from loomwright.writers.paper import pack_pdf, paper_pdf
from tests.handover.van import rows

A4_MM = (210.0, 297.0)
HALF_MM = 0.5
MM = 25.4 / 72.0  # a point of the page
HEIRLOOM = "W118"  # a wire of this test's own, with a name that stands nowhere else
NOTE = "reads Ω ² ≥ µ ° here"  # signs that a job may hold
DATE = "2025-03-04"


@dataclass(frozen=True)
class Letter:
    """One letter and the box it is painted in. left, bottom, right, top: [mm]"""

    sign: str
    left: float
    bottom: float
    right: float
    top: float


@dataclass(frozen=True)
class Page:
    """One page as pdfium sees it. width, height: [mm]   fonts: name -> whether it comes along."""

    text: str
    width: float
    height: float
    letters: tuple[Letter, ...]
    fonts: dict[str, bool]


def sheets() -> dict[str, list[dict[str, str]]]:
    """The small van, with a wire and a note of this test's own."""
    named = rows()
    cells = {"id": HEIRLOOM, "circuit": "lights", "from": "LSW.2", "to": "TR.1", "size_mm2": "1.5"}
    named["wires"].append({**cells, "length_mm": "1000", "colour": "GN/YE", "notes": NOTE})
    return named


@pytest.fixture(scope="module")
def car() -> Car:
    """The van, checked once."""
    return Car(job_from_text(sheets()))


@pytest.fixture(scope="module")
def paper(car) -> Paper:
    """What its paper says."""
    return car.paper(date=DATE)


@pytest.fixture(scope="module", params=["paper", "pack"])
def pages(request, car, paper) -> tuple[Page, ...]:
    """The pages of the paper alone and of the whole pack, read back."""
    printed = paper_pdf(paper) if request.param == "paper" else pack_pdf(car.pack(date=DATE))
    with pypdfium2.PdfDocument(printed) as document:
        return tuple(_page(page) for page in document)


def _page(page: pypdfium2.PdfPage) -> Page:
    words = page.get_textpage()
    width, height = page.get_size()
    return Page(
        text=words.get_text_bounded(),
        width=width * MM,
        height=height * MM,
        letters=tuple(_letters(words)),
        fonts=dict(_fonts(page)),
    )


def _letters(words: pypdfium2.PdfTextPage) -> Iterator[Letter]:
    for index in range(words.count_chars()):
        sign = words.get_text_range(index, 1)
        if sign.strip():
            yield Letter(sign, *(side * MM for side in words.get_charbox(index)))


def _fonts(page: pypdfium2.PdfPage) -> Iterator[tuple[str, bool]]:
    """Every font that words of the page are set in, boxes within boxes included."""
    for item in page.get_objects(filter=[pdfium.FPDF_PAGEOBJ_TEXT], max_depth=15):
        font = pdfium.FPDFTextObj_GetFont(item.raw)
        name = ctypes.create_string_buffer(200)
        pdfium.FPDFFont_GetBaseFontName(font, name, 200)
        yield name.value.decode(), pdfium.FPDFFont_GetIsEmbedded(font) == 1


def plain(text: str) -> str:
    """Words alone, wherever a line was broken; a break at a stroke or a dash is no gap."""
    return "".join(text.split())


def test_every_page_is_a4_to_half_a_millimetre_and_the_first_is_upright(pages):
    for page in pages:
        # a page of wide tables lies on its side
        assert tuple(sorted((page.width, page.height))) == pytest.approx(A4_MM, abs=HALF_MM)
    assert pages[0].width < pages[0].height


def test_the_pages_are_counted_and_none_is_blank(pages):
    assert 3 <= len(pages) <= 40
    for number, page in enumerate(pages, start=1):
        assert f"page{number}of{len(pages)}" in plain(page.text)
        assert len(page.letters) > 60, f"page {number} has hardly a word"


def test_every_wire_of_the_sheet_is_in_it_by_its_id(pages):
    words = {word.strip(",.;:") for page in pages for word in page.text.split()}
    ids = [row["id"] for row in sheets()["wires"] if row.get("fitted") != "removed"]
    assert HEIRLOOM in ids
    assert len(ids) > 20
    assert [name for name in ids if name not in words] == []


def test_every_caution_is_in_it_word_for_word_before_the_first_wire(pages, paper):
    told = plain("".join(page.text for page in pages))
    assert len(paper.cautions) >= 3
    assert [caution.says for caution in paper.cautions if plain(caution.says) not in told] == []
    first = max(told.index(plain(caution.says)) for caution in paper.cautions)
    assert first < told.index(plain(NOTE))


def test_title_date_and_the_signs_of_the_job_come_back_as_typed(pages):
    first, told = pages[0].text, " ".join(page.text for page in pages)
    assert "small van" in first
    assert DATE in first
    assert plain(NOTE) in plain(told)
    assert "GN/YE" in told
    assert not {"\ufffd", "\x00"} & set(told)


def test_every_font_comes_along_with_the_paper(pages):
    fonts = {name: along for page in pages for name, along in page.fonts.items()}
    assert len(fonts) >= 2
    assert [name for name, along in fonts.items() if not along] == []


def test_no_letter_lies_outside_its_page_or_in_the_printers_margin(pages):
    margin_mm = 4.0  # what many printers cannot reach
    for number, page in enumerate(pages, start=1):
        outside = [
            letter.sign
            for letter in page.letters
            if not (
                margin_mm < letter.left <= letter.right < page.width - margin_mm
                and margin_mm < letter.bottom <= letter.top < page.height - margin_mm
            )
        ]
        assert outside == [], f"page {number}"


def test_letters_can_be_read_at_arms_length(pages):
    # capitals of the smallest print are no lower than 1.5 mm, some 6 points
    heights = [
        letter.top - letter.bottom for page in pages for letter in page.letters if letter.sign in "ABDEFHLMNPRTW"
    ]
    assert len(heights) > 200
    assert min(heights) > 1.5
