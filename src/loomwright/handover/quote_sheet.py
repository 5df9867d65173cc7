"""How are hours and prices of a quote printed?

Hours to the half hour and prices to the whole: a range that wide has no use for more. The least is rounded down and
the most up, so that the range as it is printed holds the range as it was counted. What is small is printed finer. The
prices of a sum are rounded together, so that who adds up what is printed comes to the sum that is printed.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

from loomwright.handover.quote_records import Priced, WishCost
from loomwright.quantities.printing import for_print
from loomwright.tables.work_minutes import Minutes

__all__ = [
    "adding_up",
    "agreed_words",
    "count_words",
    "exact_price_words",
    "hours_words",
    "one_hours",
    "price_words",
    "printed_per_one",
    "range_words",
    "rounded",
    "wish_words",
]

_HOUR_MINUTES = 60.0
_HALVES = 2.0
_SMALL = 10.0
_CENTS = 100
_DIGITS = 9


def one_hours(minutes: float) -> str:
    """Hours as printed, to the half hour; to the minute below one.

    Args:
        minutes: how long. [min]
    Example:
        >>> one_hours(200.0), one_hours(25.0), one_hours(0.0)
        ('3.5 h', '25 min', '0 h')
    """
    if 0.0 < minutes < _HOUR_MINUTES:
        return f"{max(round(minutes), 1)} min"
    return f"{for_print(round(minutes / _HOUR_MINUTES * _HALVES) / _HALVES, digits=_DIGITS)} h"


def hours_words(minutes: Minutes) -> str:
    """A range of hours in words.

    Example:
        >>> hours_words(Minutes(least_minutes=100.0, usual_minutes=200.0, most_minutes=400.0))
        '3.5 h (1.5 to 7)'
        >>> hours_words(Minutes(least_minutes=120.0, usual_minutes=120.0, most_minutes=120.0))
        '2 h'
        >>> hours_words(Minutes(least_minutes=22.5, usual_minutes=40.0, most_minutes=80.0))
        '40 min (22 min to 1.5 h)'
    """
    if minutes.least_minutes == minutes.most_minutes:
        return one_hours(minutes.usual_minutes)
    usual = one_hours(minutes.usual_minutes)
    least, most = _end(minutes.least_minutes, math.floor), _end(minutes.most_minutes, math.ceil)
    unit = usual.rpartition(" ")[2]
    if least.endswith(unit) and most.endswith(unit):
        least, most = least.removesuffix(f" {unit}"), most.removesuffix(f" {unit}")
    return f"{usual} ({least} to {most})"


def price_words(price: float, currency: str) -> str:
    """A price as printed, to the whole; to the hundredth below ten.

    Args:
        price: in the shop's currency. [-]
    Example:
        >>> price_words(1234.5, "EUR"), price_words(0.5, "€"), price_words(-40.0, "")
        ('1 234 EUR', '0.50 €', '-40')
    """
    return f"{_figure(price)} {currency}".rstrip()


def exact_price_words(price: float, currency: str) -> str:
    """A price to the hundredth, for a line of a list.

    Args:
        price: in the shop's currency. [-]
    Example:
        >>> exact_price_words(1234.5, "EUR")
        '1 234.50 EUR'
    """
    return f"{price:,.2f}".replace(",", " ") + (f" {currency}" if currency else "")


def range_words(price: Priced, currency: str, *, agreed: bool = False) -> str:
    """A range of prices in words.

    Args:
        agreed: a price that was agreed is in it, so that the usual is printed as `agreed_words` does.
    Example:
        >>> range_words(Priced(least_price=90.2, usual_price=120.0, most_price=180.1), "EUR")
        '120 EUR (90 to 181)'
    """
    usual = (agreed_words if agreed else price_words)(price.usual_price, currency)
    if price.least_price == price.most_price:
        return usual
    return f"{usual} ({_figure(price.least_price, math.floor)} to {_figure(price.most_price, math.ceil)})"


def agreed_words(price: float, currency: str) -> str:
    """A price that two people have agreed: to the hundredth where it has any.

    Args:
        price: in the shop's currency. [-]
    Example:
        >>> agreed_words(1240.0, "EUR"), agreed_words(1240.5, "EUR")
        ('1 240 EUR', '1 240.50 EUR')
    """
    return price_words(price, currency) if price == round(price) else exact_price_words(price, currency)


def printed_per_one(price: float) -> int:
    """Into how many pieces one of the currency is printed: 1, or 100 where a whole quote is below ten. [-]

    Args:
        price: of the whole quote, in the shop's currency. [-]
    """
    return 1 if abs(price) >= _SMALL else _CENTS


def rounded(price: Priced, *, per_one: int) -> Priced:
    """The usual to what is printed of a sum.

    Args:
        per_one: by `printed_per_one`. [-]
    Example:
        >>> rounded(Priced(least_price=90.2, usual_price=120.6, most_price=180.1), per_one=1).usual_price
        121.0
    """
    return replace(price, usual_price=round(price.usual_price * per_one) / per_one)


def adding_up(prices: Sequence[Priced], whole: Priced, *, per_one: int) -> tuple[Priced, ...]:
    """What a sum is made of, each usual rounded up or down so that they come to the sum as it is printed.

    All are rounded down; as many as the sum then lacks are rounded up, those first that lost most.

    Args:
        whole: their sum, rounded by `rounded` or itself one of what `adding_up` gave.
        per_one: by `printed_per_one`. [-]
    Example:
        >>> each = [Priced(least_price=one, usual_price=one, most_price=one) for one in (10.4, 20.4, 30.4)]
        >>> whole = rounded(each[0].plus(50.8), per_one=1)
        >>> whole.usual_price, [one.usual_price for one in adding_up(each, whole, per_one=1)]
        (61.0, [11.0, 20.0, 30.0])
    """
    counted = [one.usual_price * per_one for one in prices]
    down = [math.floor(one) for one in counted]
    lacking = round(whole.usual_price * per_one) - sum(down)
    up = sorted(range(len(down)), key=lambda place: (down[place] - counted[place], place))[:lacking]
    return tuple(replace(one, usual_price=(down[k] + (k in up)) / per_one) for k, one in enumerate(prices))


def count_words(number: float, noun: str) -> str:
    """A count with its noun.

    Args:
        number: how many. [-]
    """
    return f"{number:g} {noun if number == 1 else noun + 's'}"


def wish_words(wish: WishCost, currency: str) -> str:
    """What a wish makes and costs, in words.

    Args:
        currency: of the shop.
    """
    if not wish.counted:
        return "Nothing of it is in the sheets yet, so nothing of it is counted."
    made = [
        count_words(number, noun)
        for number, noun in ((wish.pins, "pin"), (wish.wires, "wire"), (wish.parts, "part"))
        if number
    ]
    if wish.wire_m:
        made.append(f"{for_print(wish.wire_m)} m of wire")
    if wish.minutes.usual_minutes:
        made.append(hours_words(wish.minutes))
    if wish.price is not None:
        made.append(range_words(wish.price, currency))
    elif wish.material_price:
        made.append(f"{price_words(wish.material_price, currency)} of materials")
    missing = f", {count_words(wish.no_price, 'thing')} without a price beside" if wish.no_price else ""
    return f"{', '.join(made)}{missing}."


def _end(minutes: float, side: Callable[[float], int]) -> str:
    """One end of a range: minutes below an hour, else to the half hour, to the side that holds it."""
    if minutes < _HOUR_MINUTES and side(minutes) < _HOUR_MINUTES:
        return f"{side(minutes)} min"
    return f"{for_print(side(minutes / _HOUR_MINUTES * _HALVES) / _HALVES, digits=_DIGITS)} h"


def _figure(price: float, side: Callable[[float], int] = round) -> str:
    """To the whole, thousands apart; below ten to the hundredth."""
    if abs(price) < _SMALL and price != round(price):
        return f"{price:.2f}"
    return f"{side(price):,}".replace(",", " ")
