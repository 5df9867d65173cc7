"""The pack as a PDF, read back: A4, all words there and in their order, nothing cut off, the same bytes each time."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace

import pypdfium2
import pytest

from loomwright.findings import Finding
from loomwright.handover.pack import Pack, pack_of
from loomwright.handover.paper import paper_of
from loomwright.handover.records import Paper, TitleBlock, WireLine, WireMark
from loomwright.tables.limits import COLOURS
from loomwright.tables.load import read_rows
from loomwright.writers.paper import CircuitPage, pack_pdf, page_count, paper_pdf
from loomwright.writers.paper_paint import BLADE_PAINT, PAINT
from tests.handover.bench_van import bench_car, bench_rows
from tests.handover.van import rows, solved

A4_POINTS = (595.28, 841.89)
SECTIONS = (
    "Cautions",
    "Findings",
    "Circuit drawings",
    "Wire list",
    "Cut list",
    "Crimps and order",
    "Fuses and relays",
    "Connectors",
    "Controller pins",
    "Test sheet",
    "Labels",
    "Earths and splices",
    "Parts and what to buy",
    "What the tool decided",
    "Snags and questions",
    "Owner's sheet",
    "Revisions",
)
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


@pytest.fixture(scope="module")
def pack() -> Pack:
    """The pack of the bench van, with the same findings."""
    car = bench_car()
    return pack_of(car.job, car.scene, FINDINGS, states_searched=720)


@pytest.fixture(scope="module")
def pack_text(pack) -> list[str]:
    """The words of each page of its PDF, with two drawings made by hand."""
    return pages(pack_pdf(pack, drawings()))


def drawings() -> tuple[CircuitPage, ...]:
    """A wide drawing and an upright one."""
    return tuple(
        CircuitPage(circuit=name, title=f"circuit of {name}", svg=svg(name, *size), width_mm=size[0], height_mm=size[1])
        for name, size in (("lights", (260.0, 160.0)), ("fan", (160.0, 230.0)))
    )


def svg(word: str, width_mm: float, height_mm: float) -> str:
    """A drawing with one line and one word."""
    head = f'xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width_mm:g} {height_mm:g}"'
    words = f'<text x="20" y="20" font-family="Source Sans 3" font-size="6">stroke of {word}</text>'
    return f'<svg {head}><path d="M10 10H100" stroke="black"/>{words}</svg>'


def pages(data: bytes) -> list[str]:
    """The words of each page."""
    with pypdfium2.PdfDocument(data) as document:
        return [page.get_textpage().get_text_bounded() for page in document]


def heads(told: list[str]) -> list[str]:
    """The section over each page: its number on the flag, then its heading."""
    return [next((word for word in SECTIONS if f"{word} " in text[:60]), "") for text in told]


def boxes(data: bytes) -> Iterator[tuple[float, float, float, float, float, float]]:
    """Left, bottom, right, top of every letter, and its page's width and height."""
    with pypdfium2.PdfDocument(data) as document:
        for page in document:
            words = page.get_textpage()
            for index in range(words.count_chars()):
                if words.get_text_range(index, 1).strip():
                    yield (*words.get_charbox(index), *page.get_size())


def test_every_page_is_a4_upright_or_on_its_side(pdf):
    with pypdfium2.PdfDocument(pdf) as document:
        sizes = [page.get_size() for page in document]
    assert len(sizes) >= 3
    for size in sizes:
        assert sorted(size) == pytest.approx(A4_POINTS, abs=0.1)


def test_every_wire_stands_in_it(pdf, paper):
    words = " ".join(pages(pdf)).split()
    assert [wire.mark.id for wire in paper.wires if wire.mark.id not in words] == []


def test_cautions_come_before_findings_and_those_before_the_wires(pdf):
    told = pages(pdf)[1:]
    order = ("Cautions", "Findings", "Wire list", "Fuses and relays", "Test sheet")
    places = [heads(told).index(word) for word in order]
    assert places == sorted(places)
    assert "Rings and watches off" in told[0]


def test_findings_tell_rule_state_and_mend_and_what_goes_with_them(pdf):
    text = "\n".join(pages(pdf))
    for words in ("1 fault, 1 warning in 720 states.", "KEY-2", "key=off", "Put a diode in.", "SNK-3", "1.2 V"):
        assert words in text
    assert text.index("KEY-2") < text.index("SNK-3") < text.index("DRP-1")


def test_severity_is_told_in_words_not_by_colour_alone(pdf):
    told = pages(pdf)
    for words in (told[0].split(), told[2].split()):
        assert {"fault", "warning"} <= set(words)


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


def test_nothing_runs_off_the_page_however_long_its_name(pack):
    long = "left-front-engine-compartment-loom-number-seventeen-spare"
    stretched = lengthened(pack, {"W7": long, "ECU": long.upper(), "TL": f"T{long}", "XE": f"X{long}"})
    found = 0
    for left, bottom, right, top, width, height in boxes(pack_pdf(stretched, drawings())):
        assert 14 < left < right < width - 10
        assert 10 < bottom < top < height - 10
        found += 1
    assert found > 5000


def lengthened(told: object, longer: dict[str, str]) -> object:
    """A record in which every text that is one of these, or a point of it, is a longer one."""
    if isinstance(told, str):
        part, dot, rest = told.partition(".")
        return longer.get(part, part) + dot + rest if part in longer else told
    if isinstance(told, tuple):
        return tuple(lengthened(one, longer) for one in told)
    if is_dataclass(told):
        return replace(told, **{field.name: lengthened(getattr(told, field.name), longer) for field in fields(told)})
    return told


def test_a_job_with_nothing_in_it_still_has_a_paper(paper):
    bare = replace(paper, findings=(), wires=(), readings=(), fuses=(), verdict="Nothing found in 1 state.")
    text = " ".join(" ".join(pages(paper_pdf(bare))).split())
    assert "Nothing found" in text
    assert "prove it wire by wire" in text
    assert "Wire list" not in text


def test_every_colour_of_the_standard_has_its_paint():
    assert set(PAINT) == set(COLOURS)
    assert len(set(PAINT.values())) == len(PAINT)


# ------------------------------------------------------------------ the whole pack


def test_the_sections_of_a_pack_come_in_the_order_of_the_work(pack_text):
    told = [head for head in heads(pack_text[1:]) if head]
    order = list(dict.fromkeys(told))
    assert order == list(SECTIONS)
    assert sorted(told, key=SECTIONS.index) == told


def test_the_cover_tells_what_is_inside_with_its_page(pack_text):
    cover = pack_text[0].split()
    for number, text in enumerate(pack_text[1:], start=2):
        head = heads([text])[0]
        if head and head not in heads(pack_text[1 : number - 1]):
            assert str(number) in cover, head
    assert "build pack" in pack_text[0]
    assert "revision" in pack_text[0]


def test_the_cover_carries_the_cautions_that_can_kill_and_no_others(pack_text, pack):
    cover = " ".join(pack_text[0].split())
    for caution in pack.paper.cautions:
        assert (" ".join(caution.says.split()[:6]) in cover) == caution.kills, caution.says
    assert {caution.kills for caution in pack.paper.cautions} == {True, False}


def test_cautions_stand_again_at_the_test_where_they_matter(pack_text):
    dead = next(text for text in pack_text if "Dead tests" in text)
    assert "earth lead off first" in " ".join(dead.split())
    outputs = next(text for text in pack_text if "Outputs one by one" in text)
    assert "Fans can start by themselves" in " ".join(outputs.split())


def test_each_drawing_has_a_page_of_its_own_that_lies_as_it_does(pack):
    with pypdfium2.PdfDocument(pack_pdf(pack, drawings())) as document:
        sizes = {
            word: page.get_size()
            for page in document
            for word in ("lights", "fan")
            if f"stroke of {word}" in page.get_textpage().get_text_bounded()
        }
    assert sizes["lights"][0] > sizes["lights"][1]
    assert sizes["fan"][0] < sizes["fan"][1]


def test_without_drawings_the_section_is_left_out(pack):
    text = "\n".join(pages(pack_pdf(pack)))
    assert "Circuit drawings" not in text
    assert "circuit of lights" not in text


def test_the_bookmarks_lead_to_the_sections_and_the_title_is_the_jobs(pack):
    with pypdfium2.PdfDocument(pack_pdf(pack, drawings())) as document:
        marks = [(mark.level, mark.get_title()) for mark in document.get_toc()]
        assert document.get_metadata_dict()["Title"] == "small van"
    assert [title for level, title in marks if level == 0] == list(SECTIONS)
    below = [title for level, title in marks if level == 1]
    assert {"circuit of lights", "engine bay – box A", "Dead tests", "Outputs one by one"} <= set(below)
    assert any(title.startswith("XE on ECU") for title in below)


def test_a_face_is_shown_from_both_sides_and_the_second_is_mirrored(pack_text):
    text = next(text for text in pack_text if "XE on ECU" in text)
    assert "wire side" in text
    assert "mating side" in text
    assert "moulded into the connector win" in " ".join(text.split())
    digits = [line.split() for line in text.splitlines()]
    numbers = [word for line in digits for word in line]
    joined = " ".join(numbers)
    assert "1 2 3 4 5 6 3 2 1 6 5 4" in joined.replace("wire side: as the wires go in ", "")


def test_an_empty_cavity_says_plug_and_an_unknown_layout_says_so(pack_text):
    text = " ".join("\n".join(pack_text).split())
    assert "empty, plug" in text
    assert "The sheets give no layout" in text


def test_what_was_decided_is_marked_with_its_limit_and_how_to_ask(pack_text):
    wires = next(text for text in pack_text if "Wire list" in text[:40])
    assert "loomwright why JOB W18.length_mm" in " ".join(wires.split())
    assert "strength" in wires
    last = " ".join(next(text for text in pack_text if "What the tool decided" in text[:40]).split())
    for words in ("What the tool decided", "W17 0.75 mm²", "no wire under 0.75 mm² there", "W18 820 mm"):
        assert words in last


def test_the_lid_chart_stands_on_one_page_with_its_fuses_and_relays(pack_text):
    (lid,) = [text for text in pack_text if "tape it inside the lid" in " ".join(text.split()) and "box A" in text]
    for word in ("F1", "F2", "F3", "KF", "lights", "fan relay"):
        assert word in lid


def test_labels_stand_twice_for_each_end(pack_text, pack):
    text = "\n".join(text for text in pack_text if "Labels" in text[:40])
    ids = [word for word in text.split() if word == "W14"]
    assert len(ids) == 4
    assert len([one for one in pack.labels if one.wire == "W14"]) == 2


def test_a_flag_too_narrow_to_go_round_its_wire_has_a_fold_as_wide_as_it(pack_text, pack):
    # 25 mm²: 9.0 mm over its insulation (from memory: ISO 6722-1), 28 mm round; the fold of the others is 9.5 mm
    thick = {one.wire for one in pack.labels if one.round_mm is not None and one.round_mm > 9.5}
    assert thick
    text = "\n".join(text for text in pack_text if "Labels" in text[:40])
    after = text.partition("Round thick wires")[2].split()
    assert {word for word in after if word in thick} == thick
    assert not {one.wire for one in pack.labels if one.wire not in thick} & set(after)


def test_the_same_pack_gives_the_same_bytes_and_counts_its_pages(pack):
    data = pack_pdf(pack, drawings())
    assert pack_pdf(pack, drawings()) == data
    assert page_count(data) == len(pages(data))


def test_no_letter_of_a_list_is_smaller_than_eight_points(pack):
    # smaller than nine: remarks under a name, the foot of a page; than eight: numbers of notes, names too long to fit
    with pypdfium2.PdfDocument(pack_pdf(pack)) as document:
        sizes = [
            round(text.get_font_size(), 1)
            for page in document
            for text in page.get_objects(filter=[pypdfium2.raw.FPDF_PAGEOBJ_TEXT])
        ]
    assert sum(size >= 9.0 for size in sizes) > 0.75 * len(sizes)
    assert sum(size >= 8.0 for size in sizes) > 0.97 * len(sizes)


def test_every_colour_of_a_blade_has_its_paint():
    assert set(BLADE_PAINT) == {row["colour"] for row in read_rows("fuse_colours")}


@pytest.mark.parametrize(("family", "named"), [("", False), ("sealed 1.5", True)])
def test_a_connector_without_a_family_is_drawn_and_says_that_none_is_named(family, named):
    sheets = bench_rows()
    sheets["connectors"][0]["family"] = family
    car = bench_car(sheets)
    pack = pack_of(car.job, car.scene, (), states_searched=1)
    text = " ".join("\n".join(pages(pack_pdf(pack, asked=("connectors",)))).split())
    assert "XE" in text
    assert ("the pitch of its family is not known" in text) is named
    assert ("the sheet connectors names no family for it" in text) is not named


def test_what_is_not_cut_and_the_cores_of_cables_are_told_apart(pack):
    told = " ".join(pages(pack_pdf(replace(pack, cuts=replace(pack.cuts, left="2 kept")), asked=("cuts",))))
    assert "Not in it: 2 kept; cores of cables" in " ".join(told.split())


def test_the_blade_on_a_lid_chart_shows_its_rating(pack):
    """A question mark stands for one that nobody has decided."""
    told = pages(pack_pdf(pack, asked=("boxes",)))
    chart = next(text for text in told if "tape it inside the lid" in text)
    assert {fuse.rating for fuse in pack.paper.fuses} == {"10 A", "20 A", "5 A"}
    assert "?" not in chart
    assert all(re.search(rf"(?m)^{rating}\s*$|\b{rating}\b", chart) for rating in ("10", "20"))


def test_no_line_ends_between_a_figure_and_its_unit(paper):
    """However far the words before them push the two."""
    pieces = (f"{'x ' * count}allowed 105 °C" for count in range(40, 75))
    findings = tuple(replace(paper.findings[0], says=one, path=(), folded=()) for one in pieces)
    told = "".join(pages(paper_pdf(replace(paper, findings=findings))))
    assert told.count("°C") >= len(findings)
    assert re.findall(r"105\s*[\r\n]+\s*°C", told) == []
