"""The table of letter widths against the typesetter that prints the words."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import typst

from loomwright.drawings.symbols.items import Text
from loomwright.drawings.symbols.letters import text_box, text_mm, wrapped

FONTS = Path(__file__).parents[2] / "src" / "loomwright" / "writers" / "fonts"
FAMILIES = {"words": "Source Sans 3", "figures": "Source Code Pro"}
SAMPLES = (
    "left dipped beam, outer",
    "WATT, Tank & Väter: Ölgeber",
    "engine and gearbox controller",
    "0.75 BK/WH",
    "W104",
    "← battery 12",
    "14.5 Ω 2.5 mm²",
    "Łódź, Čapek, señor, garçon",
    "iiiiillll....,,,,",
    "MMMMWWWW@@@@",
)
MM_PER_POINT = 25.4 / 72


def measured_mm(text: str, font: str, strong: bool) -> float:
    """What the typesetter says a line is long at 100 mm."""
    weight = 600 if strong else 400
    words = json.dumps(text, ensure_ascii=False)
    line = f'text(font: "{FAMILIES[font]}", weight: {weight}, size: 100mm, {words})'
    source = f"#context [#metadata(measure({line}).width.pt()) <m>]"
    found = typst.query(
        source.encode(), "<m>", field="value", font_paths=[str(FONTS)], ignore_system_fonts=True, one=True
    )
    return float(json.loads(found)) * MM_PER_POINT


@pytest.mark.parametrize("strong", [False, True])
@pytest.mark.parametrize("font", ["words", "figures"])
@pytest.mark.parametrize("text", SAMPLES)
def test_a_line_is_never_longer_than_we_take_it_to_be_and_hardly_shorter(text, font, strong):
    ours = text_mm(text, size_mm=100.0, font=font, strong=strong)
    theirs = measured_mm(text, font, strong)
    # the fonts pull pairs such as VA and To together; a hair of rounding the other way
    assert theirs <= ours + 0.2
    assert theirs >= 0.93 * ours


def test_a_letter_that_is_in_no_table_counts_as_wide_as_its_size():
    assert text_mm("漢", size_mm=3.0) == 3.0
    assert text_mm("漢", size_mm=3.0, font="figures") == 3.0


def test_words_are_parted_between_words_and_a_long_word_where_it_must_be():
    assert wrapped("manifold pressure and air temperature", most_mm=20.0, size_mm=2.4) == (
        "manifold pressure",
        "and air",
        "temperature",
    )
    pieces = wrapped("x" * 50, most_mm=20.0, size_mm=2.4)
    assert "".join(pieces) == "x" * 50
    assert max(text_mm(piece, size_mm=2.4) for piece in pieces) <= 20.0
    assert wrapped("", most_mm=20.0, size_mm=2.4) == ()


def test_a_text_reaches_to_the_side_that_its_anchor_says():
    def box(anchor):
        return text_box(Text(x_mm=50.0, y_mm=50.0, text="W104", size_mm=2.0, font="figures", anchor=anchor))

    assert box("start")[0] == 50.0
    assert box("end")[2] == pytest.approx(50.0)
    assert box("middle")[0] == pytest.approx(50.0 - 2.4)
    assert box("start")[1] < 50.0 < box("start")[3]
