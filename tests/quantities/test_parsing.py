"""Figures in cells: what is read, in which unit, and what is refused."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.quantities import QuantityFault, parse_quantity
from loomwright.quantities.endings import ENDINGS, unit_word
from loomwright.quantities.printing import with_unit
from loomwright.quantities.words import words_of
from loomwright.refusals import OutOfReach


@pytest.mark.parametrize(
    ("text", "unit", "figure"),
    [
        ("1200", "mm", 1200.0),
        ("1.2 m", "mm", 1200.0),
        ("12 cm", "mm", 120.0),
        ("1 in", "mm", 25.4),
        ("2.5 mm²", "mm2", 2.5),
        ("50 mA", "a", 0.05),
        ("50", "ma", 50.0),
        ("0.5 A", "ma", 500.0),
        ("10k", "ohm", 10_000.0),
        ("10 kohm", "ohm", 10_000.0),
        ("10 kΩ", "ohm", 10_000.0),
        ("10 k\N{OHM SIGN}", "ohm", 10_000.0),
        ("4k7", "ohm", 4_700.0),
        ("0R1", "ohm", 0.1),
        ("1 Mohm", "ohm", 1e6),
        ("1 mohm", "ohm", 0.001),
        ("5", "mohm", 5.0),
        ("0.002 ohm", "mohm", 2.0),
        ("13.5 V", "v", 13.5),
        ("12 volts", "V", 12.0),
        ("-18", "c", -18.0),
        ("\N{MINUS SIGN}18 °C", "c", -18.0),
        ("212 F", "c", 100.0),
        ("273.15 K", "c", 0.0),
        ("3 bar", "kpa", 300.0),
        ("20 ms", "s", 0.02),
        ("2 min", "s", 120.0),
        ("35 %", "frac", 0.35),
        ("100 µA", "a", 1e-4),
        ("100 \N{GREEK SMALL LETTER MU}A", "a", 1e-4),
        ("1e3", "ohm", 1000.0),
        (" +.5 ", "v", 0.5),
        ("7", "", 7.0),
    ],
)
def test_a_figure_is_read_in_the_unit_of_its_column(text, unit, figure):
    assert parse_quantity(text, unit) == pytest.approx(figure, rel=1e-12)


def test_a_gauge_in_a_column_of_areas_is_its_area():
    # 16 AWG: d = 0.005 in * 92 ** (20 / 39) = 1.2908 mm, so the area is 1.3087 mm2
    assert parse_quantity("16 AWG", "mm2") == pytest.approx(1.3087, abs=5e-5)
    assert parse_quantity("awg16", "mm2") == parse_quantity("16 AWG", "mm2")
    assert parse_quantity("2/0 AWG", "mm2") == parse_quantity("00 AWG", "mm2") == pytest.approx(67.43, abs=5e-3)


@pytest.mark.parametrize(
    ("text", "unit"),
    [
        ("", "mm"),
        ("   ", "mm"),
        ("long", "mm"),
        ("1.2.3", "mm"),
        ("1,5", "mm2"),  # a comma whose meaning is open
        ("1 200", "mm"),
        ("5²", "mm2"),
        ("12 V", "a"),  # a unit of another quantity
        ("2 MA", "a"),  # capital M is not milli
        ("2 M", "a"),
        ("2 A", ""),
        ("16 AWG", "mm"),
        ("99 AWG", "mm2"),
        ("nan", "v"),
        ("inf", "v"),
        ("1e999", "v"),
        ("0x10", "v"),
        ("١٢", "v"),
        ("1" * 500, "v"),
        ("=1+1", "v"),
    ],
)
def test_what_is_no_figure_in_that_unit_is_refused(text, unit):
    with pytest.raises(QuantityFault) as caught:
        parse_quantity(text, unit)
    assert caught.value.found == text


def test_the_refusal_is_a_value_error_and_out_of_reach_and_says_what_may_stand_there():
    with pytest.raises(QuantityFault) as caught:
        parse_quantity("fat", "mm2", name="size_mm2")
    fault = caught.value
    assert isinstance(fault, ValueError)
    assert isinstance(fault, OutOfReach)
    assert fault.name == "size_mm2"
    assert "mm²" in fault.allowed
    assert "16 AWG" in fault.allowed


def test_a_decimal_comma_is_read_only_where_the_locale_is_known():
    assert parse_quantity("1,5 m", "mm", decimal_comma=True) == 1500.0
    assert parse_quantity("1.5 m", "mm", decimal_comma=True) == 1500.0
    with pytest.raises(QuantityFault):
        parse_quantity("1.234,5", "mm", decimal_comma=True)
    with pytest.raises(QuantityFault):
        parse_quantity("1,234,5", "mm", decimal_comma=True)


def test_a_unit_we_do_not_have_is_refused():
    with pytest.raises(OutOfReach) as caught:
        parse_quantity("1", "furlong")
    assert caught.value.name == "unit"


def test_every_ending_has_its_words_and_each_word_is_read():
    for ending in ENDINGS:
        words = words_of(ending)
        for word, (factor, offset) in {**words.exact, **words.loose}.items():
            assert parse_quantity(f"3 {word}", ending) == pytest.approx(3 * factor + offset), (ending, word)
            if word in words.loose and word.upper().lower() == word and word.upper() not in words.exact:
                assert parse_quantity(f"3 {word.upper()}", ending) == pytest.approx(3 * factor + offset)


def test_a_figure_is_read_with_its_unit_as_it_is_printed():
    for ending in ENDINGS:
        if unit_word(ending):
            assert parse_quantity(with_unit(2.5, ending), ending) == 2.5, ending


def test_no_word_is_read_in_two_ways():
    for ending in ENDINGS:
        words = words_of(ending)
        both = set(words.exact) & set(words.loose)
        assert not both, (ending, both)
        assert all(word == word.lower() for word in words.loose), ending


@given(st.floats(min_value=-1e9, max_value=1e9, allow_nan=False))
def test_a_plain_number_comes_back_as_it_was(figure):
    assert parse_quantity(repr(figure), "v") == figure


@given(st.text(max_size=30), st.sampled_from(sorted(ENDINGS)))
def test_any_text_is_a_finite_figure_or_refused(text, unit):
    try:
        figure = parse_quantity(text, unit)
    except QuantityFault as fault:
        assert fault.allowed
    else:
        assert math.isfinite(figure)
