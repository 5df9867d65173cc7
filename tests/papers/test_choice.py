"""Papers are chosen by section and page size, print in grey without loss, and are the same bytes twice."""

from __future__ import annotations

import pypdfium2
import pytest

from loomwright.car import Car
from loomwright.drawings.board.board_sheets import PAPERS, board_print
from loomwright.handover.sections import SECTIONS, sections_asked
from loomwright.job.reading import job_from_text
from loomwright.pages.paper_files import drawing_pages
from loomwright.refusals import OutOfReach
from loomwright.writers.paper import pack_pdf
from tests.handover.bench_van import bench_rows

PT_MM = 25.4 / 72.0


@pytest.fixture(scope="module")
def made():
    """The bench van's pack, its drawings, its car."""
    car = Car(job_from_text(bench_rows()))
    return car.pack(), drawing_pages(car), car


def headings(pdf):
    with pypdfium2.PdfDocument(pdf) as document:
        return [mark.get_title() for mark in document.get_toc() if mark.level == 0]


def test_only_the_sections_asked_for_are_printed_in_the_order_of_the_pack(made):
    pack, drawings, _ = made
    assert headings(pack_pdf(pack, drawings, asked=("labels", "boxes"))) == ["Fuses and relays", "Labels"]


def test_everything_the_job_has_is_printed_where_nothing_is_asked_for(made):
    pack, drawings, car = made
    found = headings(pack_pdf(pack, drawings[:1], board=board_print(car.board())))
    assert found == [SECTIONS[name] for name in SECTIONS if name not in ("built", "numbers")]


def test_a_section_that_there_is_not_is_refused_with_those_there_are():
    with pytest.raises(OutOfReach) as refused:
        sections_asked(["wires", "recipes"])
    assert "wires cuts crimps" in str(refused.value)


@pytest.mark.parametrize("size", ["letter", *(pytest.param(one, marks=pytest.mark.long) for one in ("a4", "a3"))])
def test_every_page_has_the_size_asked_for_and_no_word_lies_outside(made, size):
    pack, drawings, _ = made
    wide, high = PAPERS[size]
    with pypdfium2.PdfDocument(pack_pdf(pack, drawings[:1], page_size=size)) as document:
        for page in document:
            sides = sorted(side * PT_MM for side in page.get_size())
            assert sides == pytest.approx([wide, high], abs=0.5)
            text = page.get_textpage()
            boxes = [text.get_charbox(place) for place in range(0, text.count_chars(), 7)]
            assert all(box[0] > 5.0 and box[2] < page.get_width() - 5.0 for box in boxes if box[2] > box[0])


@pytest.mark.long
def test_the_same_pack_gives_the_same_bytes_on_every_size(made):
    pack, drawings, _ = made
    one, other = (pack_pdf(pack, drawings[:1], page_size="letter", asked=("wires", "owner")) for _ in range(2))
    assert one == other


def test_a_wires_colour_stands_in_letters_beside_every_patch_of_paint(made):
    """What a grey print has of a tracer: its code, on each paper that shows the wire as it looks."""
    pack, drawings, _ = made
    wanted = [wire.mark for wire in pack.paper.wires if "/" in wire.mark.colour]
    assert len(wanted) > 3
    for section in ("labels",):
        with pypdfium2.PdfDocument(pack_pdf(pack, drawings, asked=(section,))) as document:
            words = "".join(page.get_textpage().get_text_bounded() for page in document).replace("\ufffe", "")
        told = [one.id for one in wanted if one.id in words]
        assert told, section
        assert [one for one in wanted if one.id in told and one.colour not in words] == [], section
