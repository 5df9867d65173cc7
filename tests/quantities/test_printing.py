"""Rounding for print goes to the safe side, and dust in the last digit is no reason to round."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.quantities.printing import for_print, with_unit
from loomwright.refusals import OutOfReach


@pytest.mark.parametrize(
    ("value", "side", "printed"),
    [
        (0.4321, "up", "0.433"),
        (0.4321, "down", "0.432"),
        (0.4321, "near", "0.432"),
        (17.99, "down", "17.9"),
        (-0.4321, "up", "-0.432"),  # towards plus
        (-0.4321, "down", "-0.433"),
        (14.999999999999998, "down", "15"),  # dust
        (0.1 + 0.2, "up", "0.3"),
        (12345.0, "up", "12400"),
        (0.0, "up", "0"),
        (-0.0, "near", "0"),
        (1e-7, "near", "0.0000001"),
        (100.0, "near", "100"),
    ],
)
def test_figures_are_rounded_to_the_side_asked_for(value, side, printed):
    assert for_print(value, side=side) == printed


@given(st.floats(min_value=1e-6, max_value=1e6))
def test_up_is_never_less_and_down_never_more(value):
    dust = Decimal(value) * Decimal("1e-11")
    assert Decimal(for_print(value, side="up")) >= Decimal(value) - dust
    assert Decimal(for_print(value, side="down")) <= Decimal(value) + dust


@pytest.mark.parametrize("value", [float("nan"), float("inf"), float("-inf")])
def test_a_figure_that_is_none_is_not_printed(value):
    with pytest.raises(OutOfReach):
        for_print(value)


def test_no_digits_are_refused():
    with pytest.raises(OutOfReach):
        for_print(1.0, digits=0)


def test_one_digit_is_enough_to_ask_for():
    assert [for_print(0.0456, digits=1), for_print(1234.0, side="up", digits=1)] == ["0.05", "2000"]


def test_the_unit_stands_behind_the_figure():
    assert with_unit(4.999, "a", side="down") == "4.99 A"
    assert with_unit(0.35, "frac") == "0.35"
