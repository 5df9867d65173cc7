"""Who adds up what a quote prints comes to the sum it prints: the lines of a part, the parts, the changes agreed."""

from __future__ import annotations

import pytest

from loomwright.handover.quote_lines import QuoteSheet, SumRow, quote_sheet
from loomwright.handover.quote_records import Priced
from loomwright.handover.quote_sheet import adding_up, printed_per_one, rounded
from tests.handover.small_quote import Rows, quote, told

RATES = ("60", "47.77", "61.31", "83.5", "0.07")
"""With the last part one comes to less than ten, part two to more."""


def figure(words: str) -> float:
    """What is printed before the currency, as anybody reads it."""
    return float(words.partition(" EUR")[0].replace(" ", ""))


def printed(rate: str, tax: str = "19", *, changes: Rows | None = None) -> QuoteSheet:
    """The small job at a rate, with a margin and a tax."""
    vehicle = [
        *told("rate_per_hour", rate),
        {"name": "material_margin_percent", "value": "15"},
        {"name": "tax_percent", "value": tax},
    ]
    return quote_sheet(quote(vehicle=vehicle, changes=changes or []))


def parts_of(sums: tuple[SumRow, ...]) -> tuple[list[str], float, float]:
    """Names of what makes up a sum, what they come to as printed, the sum as printed."""
    assert sums[-1].total
    return [one.name for one in sums[:-1]], sum(figure(one.price) for one in sums[:-1]), figure(sums[-1].price)


@pytest.mark.parametrize("rate", RATES)
@pytest.mark.parametrize("tax", ["7", "19", "21.5"])
def test_the_lines_of_a_part_come_to_its_sum_and_the_parts_to_both(rate, tax):
    sheet = printed(rate, tax)
    for part, names in zip(sheet.parts, (["work", "tax"], ["work", "materials", "margin", "tax"]), strict=True):
        found, lines, whole = parts_of(part.sums)
        assert (found, part.total) == (names, part.sums[-1].price)
        assert lines == pytest.approx(whole, abs=1e-9)
    assert sum(figure(part.total) for part in sheet.parts) == pytest.approx(figure(sheet.both), abs=1e-9)


def test_no_line_is_printed_further_from_what_was_counted_than_one_of_what_is_printed():
    # by hand: 10.4 + 20.4 + 30.4 = 61.2, printed 61; rounded each by itself they come to 60
    each = [Priced(least_price=one - 2.0, usual_price=one, most_price=one + 2.0) for one in (10.4, 20.4, 30.4)]
    whole = rounded(Priced(least_price=55.0, usual_price=61.2, most_price=67.0), per_one=1)
    assert [one.usual_price for one in adding_up(each, whole, per_one=1)] == [11.0, 20.0, 30.0]
    # 0.125 + 0.125 + 9.20 = 9.45: a sum below ten is printed to the hundredth
    small = [Priced(least_price=one, usual_price=one, most_price=one) for one in (0.125, 0.125, 9.2)]
    whole = rounded(Priced(least_price=9.45, usual_price=9.45, most_price=9.45), per_one=printed_per_one(9.45))
    assert [one.usual_price for one in adding_up(small, whole, per_one=100)] == [0.13, 0.12, 9.2]
    # a line that takes off: 100.6 - 10.3 = 90.3, printed 90
    less = [Priced(least_price=one, usual_price=one, most_price=one) for one in (100.6, -10.3)]
    assert [one.usual_price for one in adding_up(less, rounded(less[0].plus(-10.3), per_one=1), per_one=1)] == [
        100.0,
        -10.0,
    ]


def test_changes_are_printed_as_agreed_and_come_to_what_they_are_with_the_rest():
    changes = [{"why": "a second earth", "price": "140.40"}, {"why": "a dearer relay", "price": "20.40"}]
    sheet = printed("61.31", changes=changes)
    assert [one.price for one in sheet.changes] == ["140.40 EUR", "20.40 EUR"]
    assert sheet.agreed == "160.80 EUR"
    assert figure(sheet.total) == pytest.approx(figure(sheet.both) + 160.8, abs=1e-9)
