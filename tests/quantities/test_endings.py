"""Unit endings: the longest one wins, signs and endings mean the same, others are refused."""

import pytest

from loomwright.quantities.endings import ENDINGS, as_ending, ending_of, unit_word
from loomwright.refusals import OutOfReach


@pytest.mark.parametrize(
    ("name", "ending"),
    [
        ("drop_v", "v"),
        ("r_ohm_per_m", "ohm_per_m"),
        ("size_mm2", "mm2"),
        ("timing_deg_btdc", "deg_btdc"),
        ("mohm", "mohm"),
        ("spread_mohm", "mohm"),
        ("setpoint", None),
        ("mm2_from", None),
        ("alarm", None),
    ],
)
def test_the_ending_of_a_name(name, ending):
    assert ending_of(name) == ending


def test_each_sign_and_each_ending_lead_to_the_same_place():
    for ending, word in ENDINGS.items():
        assert as_ending(ending) == ending
        if word:
            assert as_ending(word) == ending


@pytest.mark.parametrize("unit", ["ohms", "mΩm", "", "x"])
def test_other_words_are_no_unit(unit):
    with pytest.raises(OutOfReach):
        as_ending(unit)


def test_no_unit_prints_as_nothing():
    assert unit_word("") == ""
