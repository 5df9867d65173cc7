"""The paper as a PDF, read back: A4, all words there and in their order, nothing cut off, the same bytes each time."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pypdfium2
import pytest

from loomwright.findings import Finding
from loomwright.handover.paper import paper_of
from loomwright.handover.records import Paper, TitleBlock, WireLine, WireMark
from loomwright.tables.limits import COLOURS
from loomwright.writers.paper import paper_pages, paper_pdf
from loomwright.writers.paper_paint import PAINT
from tests.handover.van import rows, solved

A4_POINTS = (595.28, 841.89)
FINDINGS = (
    Finding(
        rule="KEY-2",
        severity="fault",
        at=("KEY",),
        when=(("key", "off"),),
        label="KEY (key switch)",
        wrong="the engine does not stop",
        mend="put a diode in",
        folded=(Finding(rule="SNK-3", severity="fault", at=("ECU.A1",), wrong="is fed backwards"),),
    ),
    Finding(rule="DRP-1", severity="warning", at=("W15",), wrong="loses too much", found=1.2, allowed=0.9, unit="V"),
)


@pytest.fixture(scope="module")
def paper() -> Paper:
    """The paper of the small van, with two findings made by hand."""
    return paper_of(*solved(rows()), FINDINGS, states_searched=720)


@pytest.fixture(scope="module")
def pdf(paper) -> bytes:
    """Its PDF."""
    return paper_pdf(paper)


def pages(data: bytes) -> list[str]:
    """The words of each page."""
    with pypdfium2.PdfDocument(data) as document:
        return [page.get_textpage().get_text_bounded() for page in document]


def boxes(data: bytes) -> Iterator[tuple[float, float, float, float, float]]:
    """Left, bottom, right, top of every letter, and its page's width."""
    with pypdfium2.PdfDocument(data) as document:
        for page in document:
            words = page.get_textpage()
            for index in range(words.count_chars()):
                if words.get_text_range(index, 1).strip():
                    yield (*words.get_charbox(index), page.get_width())


def test_every_page_is_upright_a4(pdf):
    with pypdfium2.PdfDocument(pdf) as document:
        sizes = [page.get_size() for page in document]
    assert len(sizes) >= 3
    for size in sizes:
        assert size == pytest.approx(A4_POINTS, abs=0.1)


def test_every_wire_stands_in_it(pdf, paper):
    words = " ".join(pages(pdf)).split()
    assert [wire.mark.id for wire in paper.wires if wire.mark.id not in words] == []


def test_cautions_come_before_findings_and_those_before_the_wires(pdf):
    text = "\n".join(pages(pdf))
    places = [text.index(word) for word in ("Cautions", "Findings", "Wire list", "What the meter should read", "Fuses")]
    assert places == sorted(places)
    assert text.index("Rings and watches off") < text.index("Findings")


def test_findings_tell_rule_state_and_mend_and_what_goes_with_them(pdf):
    text = "\n".join(pages(pdf))
    for words in ("1 fault, 1 warning in 720 states.", "KEY-2", "key=off", "Put a diode in.", "SNK-3", "1.2 V"):
        assert words in text
    assert text.index("KEY-2") < text.index("SNK-3") < text.index("DRP-1")


def test_severity_is_told_in_words_not_by_colour_alone(pdf):
    words = pages(pdf)[0].split()
    assert "fault" in words
    assert "warning" in words


def test_the_footer_counts_the_pages_under_the_job(pdf):
    told = pages(pdf)
    for number, text in enumerate(told, start=1):
        assert f"page {number} of {len(told)}" in text
        assert "small van" in text


def test_headings_of_a_table_stand_on_each_of_its_pages(paper):
    many = tuple(replace(paper.wires[0], mark=WireMark(id=f"Z{number}", colour="RD")) for number in range(150))
    told = [text for text in pages(paper_pdf(replace(paper, wires=many))) if "Z1" in text or "Z9" in text]
    assert len(told) >= 3
    for text in told:
        assert "circuit" in text
        assert "length" in text


def test_readings_say_floating_and_volts(pdf, paper):
    text = "\n".join(pages(pdf))
    part = next(part for part in paper.readings if part.id == "F1")
    assert part.lines[0].volts[0] in text
    assert "with brake=on" in text


def test_the_same_paper_gives_the_same_bytes(paper, pdf):
    assert paper_pdf(paper) == pdf


def test_a_date_is_printed_only_where_it_is_given(paper, pdf):
    assert "2024-05-17" not in "\n".join(pages(pdf))
    dated = replace(paper, title=replace(paper.title, date="2024-05-17"))
    assert "2024-05-17" in pages(paper_pdf(dated))[0]


def test_only_the_fonts_that_come_along_are_used(paper):
    title = replace(paper.title, title="Ω ² ≥ – ° µ ẞ ї")
    text = pages(paper_pdf(replace(paper, title=title)))[0]
    assert "Ω ² ≥ – ° µ ẞ ї" in text


@pytest.mark.parametrize("words", ["#panic()", "*bold* _it_", "= heading", "$x^2$", "@ref <label>", "\\u{41} ~"])
def test_words_of_the_job_are_never_layout(paper, words):
    title = TitleBlock(title=words, revision="none yet", date="", facts=(("notes", words),))
    wire = WireLine(
        mark=WireMark(id="W1", colour=words), circuit=words, size=words, start=words, end=words, length="", notes=words
    )
    text = pages(paper_pdf(replace(paper, title=title, wires=(wire,))))
    assert [word for word in words.split() if word not in text[0]] == []


def test_nothing_runs_off_the_page_however_long_its_name(paper):
    long = "left-front-engine-compartment-loom-number-seventeen-spare"
    mark = WireMark(id=long, colour="GNYE/BK")
    wires = (WireLine(mark=mark, circuit=long, size="0.75", start=f"{long}.{long}", end=long, length="9", notes=long),)
    reading = replace(
        paper.readings[0].lines[0], terminal=long, wires=(mark, mark, mark), remark=f"13.50 with {long}=on"
    )
    part = replace(paper.readings[0], id=long, name=long, place=long, lines=(reading,))
    fuse = replace(paper.fuses[0], id=long, dies=(long, long), family=long)
    title = replace(paper.title, title=f"{long} {long}")
    wide = replace(paper, title=title, wires=wires, readings=(part,), fuses=(fuse,))
    for left, bottom, right, top, width in boxes(paper_pdf(wide)):
        assert 14 < left < right < width - 14
        assert 14 < bottom < top < A4_POINTS[1] - 14


def test_a_job_with_nothing_in_it_still_has_a_paper(paper):
    bare = replace(paper, findings=(), wires=(), readings=(), fuses=(), verdict="Nothing found in 1 state.")
    text = " ".join(" ".join(pages(paper_pdf(bare))).split())
    assert "Nothing found" in text
    assert "prove it wire by wire" in text
    assert "Wire list" not in text


def test_every_colour_of_the_standard_has_its_paint():
    assert set(PAINT) == set(COLOURS)
    assert len(set(PAINT.values())) == len(PAINT)


def test_pictures_of_the_pages_are_as_many_as_the_pages(paper, pdf):
    pictures = paper_pages(paper, dots_per_inch=30)
    assert len(pictures) == len(pages(pdf))
    assert all(picture.startswith(b"\x89PNG") for picture in pictures)
