"""One cell at a time: what is read, in which form it is written back, and what is refused with which mend."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.job.cells import CellFault, figure_with_point, read_cell, write_cell
from loomwright.job.colours import likely_colour, parse_colour
from loomwright.job.figures import is_open_comma, plain_figure, text_of_figure
from loomwright.job.nearest import is_look_alike, nearest
from loomwright.job.schema import column_of
from loomwright.quantities import QuantityFault
from loomwright.tables.limits import COLOURS


@pytest.mark.parametrize(
    ("sheet", "column", "text", "value", "usual"),
    [
        ("wires", "length_mm", "1.2 m", 1200.0, "1200"),
        ("wires", "length_mm", "12,5", 12.5, "12.5"),
        ("wires", "size_mm2", "0,75", 0.75, "0.75"),
        ("wires", "size_mm2", "0,125", 0.125, "0.125"),
        ("controller_pins", "pull_up_ohm", "4k7", 4700.0, "4700"),
        ("controller_pins", "max_a", "50 mA", 0.05, "0.05"),
        ("bonds", "mohm", "0.5", 0.5, "0.5"),
        ("drives", "duty_frac", "50 %", 0.5, "0.5"),
        ("stock", "length_m", "250 cm", 2.5, "2.5"),
        ("hours", "minutes", "2 h", 120.0, "120"),
        ("places", "x_mm", "-30", -30.0, "-30"),
        ("connectors", "ways", "18", 18, "18"),
        ("connectors", "ways", "18.0", 18, "18"),
        ("places", "wet", "Yes", True, "yes"),
        ("places", "wet", "no", False, "no"),
        ("places", "wet", "TRUE", True, "yes"),
        ("parts", "fitted", "DONOR", "donor", "donor"),
        ("parts", "fitted", "removed", "removed", "removed"),
        ("old_wires", "fate", "cut_back", "cut back", "cut back"),
        ("parts", "role", "Reverse lamp", "reverse_lamp", "reverse_lamp"),
        ("runs", "hazards", "hot  Wet", ("hot", "wet"), "hot wet"),
        ("wires", "via", "R1 R2", ("R1", "R2"), "R1 R2"),
        ("wires", "colour", "wh/bu", "WH/BU", "WH/BU"),
        ("wires", "colour", "GNYE", "GNYE", "GNYE"),
        ("contacts", "joins", "30+58  56+57", (("30", "58"), ("56", "57")), "30+58 56+57"),
        ("parts", "settings", "a=1;b = x=y|z ; ", {"a": "1", "b": "x=y|z"}, "a=1; b=x=y|z"),
        ("readings", "value", "12.3", 12.3, "12.3"),
        ("readings", "value", "DIM", "dim", "dim"),
        ("readings", "value", "OL", "open", "open"),
        ("wires", "notes", "anything, really; =1", "anything, really; =1", "anything, really; =1"),
        ("wires", "from", "fan1.+", "fan1.+", "fan1.+"),
    ],
)
def test_a_cell_is_read_and_has_one_usual_form(sheet, column, text, value, usual):
    facts = column_of(sheet, column)
    assert read_cell(facts, text) == value
    assert write_cell(facts, read_cell(facts, text)) == usual
    assert read_cell(facts, usual) == value


@pytest.mark.parametrize(
    ("sheet", "column", "text", "allowed", "mend"),
    [
        ("wires", "length_mm", "1,234", "decimal point", "Write 1.234 or 1234, whichever is meant"),
        ("wires", "length_mm", "1.234,5", "decimal point", "Write 1234.5 or 12345, whichever is meant"),
        ("wires", "length_mm", "1,234,567", "decimal point", "Write it with a decimal point"),
        ("wires", "length_mm", "-4", "1 to 100000 mm", "Put it right, or leave the cell blank"),
        ("wires", "length_mm", "0", "1 to 100000 mm", "Put it right"),
        ("wires", "length_mm", "4 km", "mm", "Write the figure"),
        ("wires", "length_mm", "900 m", "1 to 100000 mm", "Put it right"),
        ("wires", "size_mm2", "nan", "gauge such as 16 AWG", "Write the figure"),
        ("wires", "size_mm2", "inf", "gauge such as 16 AWG", "Write the figure"),
        ("wires", "size_mm2", "1_000", "gauge such as 16 AWG", "Write the figure"),
        ("wires", "size_mm2", "=1+1", "gauge such as 16 AWG", "Write the figure"),
        ("drives", "duty_frac", "1.5", "0 to 1", "Put it right"),
        ("connectors", "ways", "a lot", "a whole number, 1 to 1000", "Write a whole number"),
        ("connectors", "ways", "2.5", "a whole number", "Write a whole number"),
        ("connectors", "ways", "0", "1 to 1000", "Put it right"),
        ("places", "wet", "maybe", "yes or no", "Write yes or no"),
        ("parts", "fitted", "newish", "new kept donor removed", "Write new"),
        ("parts", "id", "front lamp", "letters, figures, - and _", "Write front_lamp"),
        ("parts", "id", "a.b", "letters, figures, - and _", "Write a_b"),
        ("parts", "settings", "a", "name=value", "Write the name, = and the value"),
        ("parts", "settings", "=1", "name=value", "Write the name, = and the value"),
        ("parts", "settings", "a=1; a=2", "each setting once", "Keep one a"),
        ("contacts", "joins", "30", "30+58 56+57", "Name at least two terminals"),
        ("contacts", "joins", "30+30", "30+58 56+57", "Name at least two terminals"),
        ("contacts", "joins", "30+", "30+58 56+57", "Name at least two terminals"),
        ("wires", "via", "R1, R2", "words apart by spaces", "Write R1 R2"),
        ("wires", "from", "fan 1.+", "part.terminal", "Write the part"),
        ("wires", "from", "fan1.", "part.terminal", "Write the part"),
        ("drives", "when", "run", "variable=value", "Write it like"),
        ("requirements", "must", "bright", "live, dead, floating", "Write one of these"),
        ("readings", "value", "bright", "full dim dark open floating", "Write the figure alone"),
        ("circuits", "class", "lights", "charging starting", "Write lighting"),
        ("runs", "hazards", "hot spicy", "hot sharp moving wet fuel", "Write"),
        ("wires", "notes", "x" * 40_000, "at most 32767 letters", "Shorten the text"),
    ],
)
def test_a_cell_that_can_not_be_says_what_may_stand_there_and_the_mend(sheet, column, text, allowed, mend):
    with pytest.raises(CellFault) as refused:
        read_cell(column_of(sheet, column), text)
    assert refused.value.name == column
    assert allowed in refused.value.allowed
    assert refused.value.mend.startswith(mend)
    assert str(refused.value.found)[:3] in text


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("LG", "GN"),
        ("B", "BK"),
        ("white/blue", "WH/BU"),
        ("WHBU", "WH/BU"),
        ("wh-bu", "WH/BU"),
        ("gren", "GN"),
        ("U/LG", "BU/GN"),
        ("WH/WH", "WH"),
    ],
)
def test_a_colour_of_the_trade_is_refused_with_the_code_most_likely_meant(text, meant):
    assert parse_colour(text) is None
    assert likely_colour(text) == meant
    with pytest.raises(CellFault) as refused:
        read_cell(column_of("wires", "colour"), text)
    assert refused.value.mend == f"Write {meant}, if that is the colour"
    assert "BK BN RD OG YE GN BU VT GY WH PK GD TQ SR GNYE" in refused.value.allowed


def test_a_colour_like_nothing():
    assert likely_colour("???") == ""
    with pytest.raises(CellFault) as refused:
        read_cell(column_of("wires", "colour"), "WH/BU/RD/GN")
    assert refused.value.mend


def test_every_code_reads_alone_and_with_a_tracer():
    codes = list(COLOURS)
    assert len(codes) == 15
    for code, tracer in zip(codes, codes[1:] + codes[:1], strict=True):
        assert parse_colour(code) == code
        assert parse_colour(f"{code.lower()} / {tracer.lower()}") == f"{code}/{tracer}"


@pytest.mark.parametrize("text", ["1,234", "12,345", "123,456 mm", "1.234,5", "1,2,3", "-1,234", "1,234.5", "1,"])
def test_an_open_comma_is_never_guessed_at(text):
    assert is_open_comma(text)
    with pytest.raises(QuantityFault):
        plain_figure(text, "mm")


@pytest.mark.parametrize(
    ("text", "value"), [("1,5", 1.5), ("0,125", 0.125), ("1234,5", 1234.5), ("1234,567", 1234.567), ("1,2345", 1.2345)]
)
def test_a_plain_comma_is_read(text, value):
    assert not is_open_comma(text)
    assert plain_figure(text, "") == value
    assert plain_figure(f"{text} mm", "mm") == value


def test_a_figure_kept_as_text_gets_its_point_and_other_text_stays():
    assert figure_with_point("x", "7,5 A") == "7.5 A"
    assert figure_with_point("x", "key=run, engine=idle") == "key=run, engine=idle"
    assert figure_with_point("x", "30 58") == "30 58"
    with pytest.raises(CellFault):
        figure_with_point("x", "1,234")


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_a_figure_is_written_with_all_its_digits(value):
    assert plain_figure(text_of_figure(value), "") == value


@given(st.integers(0, 999), st.integers(0, 99))
def test_point_and_comma_agree_where_both_can_be_read(whole, part):
    assert plain_figure(f"{whole},{part:02d}", "mm") == plain_figure(f"{whole}.{part:02d}", "mm")


@given(st.text(alphabet="abcde", min_size=2, max_size=8), st.data())
def test_one_slip_of_the_finger_is_a_look_alike(word, data):
    place = data.draw(st.integers(0, len(word) - 1))
    slip = data.draw(st.sampled_from(["drop", "add", "change", "swap"]))
    other = {
        "drop": word[:place] + word[place + 1 :],
        "add": word[:place] + "x" + word[place:],
        "change": word[:place] + "x" + word[place + 1 :],
        "swap": word[:place] + word[place : place + 2][::-1] + word[place + 2 :],
    }[slip]
    assert is_look_alike(word, other) == (word != other)
    assert is_look_alike(other, word) == (word != other)


def test_two_slips_are_no_look_alike():
    assert not is_look_alike("parts", "perts_")
    assert not is_look_alike("abcd", "badc")


def test_the_nearest_word_of_a_long_list():
    words = [f"W{count}" for count in range(5000)] + ["lamp_head"]
    assert nearest("lamp_haed", words) == "lamp_head"
    assert nearest("zzz", words) == ""
