"""What does the sheet `vehicle` say about the shop's side: whose car, what an hour costs, how long things take?

Nothing of it is needed to solve the car. A rate, a margin or a tax that is not there is not taken: the quote says so
instead. Minutes of an operation are typical (`work_minutes.csv`) until the shop sets its own, in a row of its own:

    minutes_end_crimped    3         the usual time; the least and the most go with it as in the table
    minutes_end_crimped    2 to 5    the least and the most; the usual is the middle
    minutes_extract        6         of work on a built wire, `rework_minutes.csv`: extract, label, sleeve, lay
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from loomwright.job.figures import plain_figure
from loomwright.job.fixed_map import FixedMap
from loomwright.job.job import Job
from loomwright.refusals import OutOfReach
from loomwright.tables.rework import REWORK, rework_typical_minutes
from loomwright.tables.work_minutes import OPERATIONS, Minutes

__all__ = ["MINUTES_ALLOWED", "SHOP_PROPERTIES", "ShopTerms", "is_minutes_name", "read_shop_property", "shop_terms_of"]

SHOP_PROPERTIES: Mapping[str, str] = MappingProxyType(
    {
        "owner": "whose vehicle it is",
        "plate": "its registration",
        "odometer": "what it showed when it came in",
        "arrived": "the day it came in",
        "promised": "the day it is promised for",
        "currency": "the sign or the word that prices are in",
        "rate_per_hour": "price of an hour's work, 0 to 1000000",
        "material_margin_percent": "0 to 1000 % on materials",
        "tax_percent": "0 to 100 % on the sum",
        "materials_spent_price": "what the materials came to by the invoices, 0 to 1000000000",
        "materials_factor": "how many times the stock's prices materials come to in the end, 0.1 to 10",
    }
)
"""Property of the shop's terms -> what it may be."""

MINUTES_ALLOWED = "minutes, 3, or from the least to the most, 2 to 5"
"""What a row `minutes_` and an operation may hold."""

_MINUTES = "minutes_"
_FIGURES = {
    "rate_per_hour": 1e6,
    "material_margin_percent": 1000.0,
    "tax_percent": 100.0,
    "materials_spent_price": 1e9,
    "materials_factor": 10.0,
}
_LEAST = {"materials_factor": 0.1}
_READ = ("rate_per_hour", "material_margin_percent", "tax_percent", "materials_spent_price", "materials_factor")
_RANGE = re.compile(r"(.+?)\s*(?:\bto\b|–)\s*(.+)")
_MOST_MINUTES = 100_000.0
_HUNDRED = 100.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ShopTerms:
    """The shop's terms for this job; None where nobody set them.

    rate_price: of an hour's work. [-]   margin_frac: on materials. [-]   tax_frac: on the sum. [-]
    minutes: operation -> how long the shop says it takes.   spent_price: of the materials, when all is paid. [-]
    materials_factor: how many times the stock's prices materials come to, as earlier jobs have shown. [-]
    """

    currency: str = ""
    rate_price: float | None = None
    margin_frac: float | None = None
    tax_frac: float | None = None
    minutes: Mapping[str, Minutes] = FixedMap()
    spent_price: float | None = None
    materials_factor: float = 1.0


def shop_terms_of(job: Job) -> ShopTerms:
    """The shop's terms in the sheet `vehicle`.

    Raises:
        OutOfReach: a property that cannot be what it says; a job that was read has none.
    """
    told = {row.name: row.value for row in job.vehicle if row.value}
    rate, margin, tax, spent, factor = (
        read_shop_property(name, told[name]) if name in told else None for name in _READ
    )
    return ShopTerms(
        currency=told.get("currency", ""),
        rate_price=rate if isinstance(rate, float) else None,
        margin_frac=margin / _HUNDRED if isinstance(margin, float) else None,
        tax_frac=tax / _HUNDRED if isinstance(tax, float) else None,
        spent_price=spent if isinstance(spent, float) else None,
        materials_factor=factor if isinstance(factor, float) else 1.0,
        minutes=FixedMap(
            {name.removeprefix(_MINUTES): _minutes(name, text) for name, text in told.items() if is_minutes_name(name)}
        ),
    )


def is_minutes_name(name: str) -> bool:
    """Whether a property says how long an operation takes.

    Example:
        >>> is_minutes_name("minutes_end_crimped"), is_minutes_name("minutes_extract"), is_minutes_name("minutes_lunch")
        (True, True, False)
    """
    operation = name.removeprefix(_MINUTES)
    return name.startswith(_MINUTES) and (operation in OPERATIONS or operation in REWORK)


def read_shop_property(name: str, text: str) -> object:
    """The value of one property of the shop's terms.

    Raises:
        OutOfReach: it cannot be that; it says what it may be.
    Example:
        >>> read_shop_property("rate_per_hour", "62.5"), read_shop_property("plate", "MADE UP 1")
        (62.5, 'MADE UP 1')
    """
    if is_minutes_name(name):
        return _minutes(name, text)
    if name not in _FIGURES:
        return text
    try:
        figure = plain_figure(text.replace("%", "").strip(), "", name=name)
    except OutOfReach:
        raise OutOfReach(name, text, SHOP_PROPERTIES[name]) from None
    if not _LEAST.get(name, 0.0) <= figure <= _FIGURES[name]:
        raise OutOfReach(name, text, SHOP_PROPERTIES[name])
    return figure


def _minutes(name: str, text: str) -> Minutes:
    """How long one of something takes, as the shop wrote it."""
    usual = _typical(name.removeprefix(_MINUTES))
    both = _RANGE.fullmatch(text.strip())
    if both is None:
        middle = _figure(name, text)
        share = middle / usual.usual_minutes
        return Minutes(
            least_minutes=usual.least_minutes * share, usual_minutes=middle, most_minutes=usual.most_minutes * share
        )
    least, most = _figure(name, both.group(1)), _figure(name, both.group(2))
    if least > most:
        raise OutOfReach(name, text, MINUTES_ALLOWED)
    return Minutes(least_minutes=least, usual_minutes=(least + most) / 2.0, most_minutes=most)


def _typical(operation: str) -> Minutes:
    """What the tables say; of work on a built wire they have the usual time alone."""
    if operation in OPERATIONS:
        return OPERATIONS[operation].minutes
    minutes = rework_typical_minutes(operation)
    return Minutes(least_minutes=minutes, usual_minutes=minutes, most_minutes=minutes)


def _figure(name: str, text: str) -> float:
    try:
        figure = plain_figure(text, "minutes", name=name)
    except OutOfReach:
        raise OutOfReach(name, text, MINUTES_ALLOWED) from None
    if not 0.0 <= figure <= _MOST_MINUTES:
        raise OutOfReach(name, text, MINUTES_ALLOWED)
    return figure
