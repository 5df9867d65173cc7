"""What does a quote say, line by line?

Records only, filled by `quote` and its neighbours. Figures are whole, not yet rounded for print; what nobody set is
None and is told as such, never taken as nothing.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import hypot
from typing import Literal

from loomwright.tables.work_minutes import Minutes

__all__ = [
    "AgreedChange",
    "MaterialLine",
    "PartName",
    "Priced",
    "Quote",
    "QuotePart",
    "StageWork",
    "WishCost",
    "WorkLine",
    "together",
]

PartName = Literal["one", "two"]
"""Part one is strip and survey, priced first; part two is the rest."""


def together(each: Iterable[Minutes]) -> Minutes:
    """Times one after another, each of which may go well or badly for itself.

    usual = sum of the usual;  least = usual - sqrt(sum (usual - least)^2);  most = usual + sqrt(sum (most - usual)^2)

    Putting together what is already put together gives the same.

    Source:
        The combination of independent tolerances; that operations go for themselves: common practice, no source.
    Example:
        >>> one = Minutes(least_minutes=57.0, usual_minutes=60.0, most_minutes=90.0)
        >>> other = Minutes(least_minutes=26.0, usual_minutes=30.0, most_minutes=70.0)
        >>> together([one, other])
        Minutes(least_minutes=85.0, usual_minutes=90.0, most_minutes=140.0)
    """
    told = tuple(each)
    usual = sum(one.usual_minutes for one in told)
    return Minutes(
        least_minutes=usual - hypot(*(one.usual_minutes - one.least_minutes for one in told)),
        usual_minutes=usual,
        most_minutes=usual + hypot(*(one.most_minutes - one.usual_minutes for one in told)),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkLine:
    """One operation. each: one of it.   set_by: typical, shop or wish.

    count: how often, in what `per` says. [-]
    """

    operation: str
    words: str
    stage: str
    per: str
    count: float
    each: Minutes
    set_by: Literal["typical", "shop", "wish"]

    @property
    def all(self) -> Minutes:
        """All of it."""
        return self.each.times(self.count)


@dataclass(frozen=True, slots=True, kw_only=True)
class StageWork:
    """The work of one stage."""

    stage: str
    lines: tuple[WorkLine, ...]

    @property
    def all(self) -> Minutes:
        """All of it."""
        return together(line.all for line in self.lines)


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialLine:
    """One thing to buy. each_price, price: None where the stock sheet has none.   ids: what it is for.

    count: how many, in what `per` says. [-]
    """

    item: str
    count: float
    per: str
    each_price: float | None
    ids: tuple[str, ...] = ()

    @property
    def price(self) -> float | None:
        """Of all of it."""
        return None if self.each_price is None else self.each_price * self.count


@dataclass(frozen=True, slots=True, kw_only=True)
class Priced:
    """A price that is not one figure: least_price, usual_price, most_price."""

    least_price: float
    usual_price: float
    most_price: float

    def plus(self, price: float) -> Priced:
        """With a price that is one figure."""
        return Priced(
            least_price=self.least_price + price,
            usual_price=self.usual_price + price,
            most_price=self.most_price + price,
        )

    def times(self, share: float) -> Priced:
        """A share of it, or several of it.

        Args:
            share: by which everything is multiplied. [-]
        """
        return Priced(
            least_price=self.least_price * share,
            usual_price=self.usual_price * share,
            most_price=self.most_price * share,
        )

    def beside(self, other: Priced) -> Priced:
        """With another, each of which may turn out for itself; as `together` does with times."""
        usual = self.usual_price + other.usual_price
        return Priced(
            least_price=usual - hypot(self.usual_price - self.least_price, other.usual_price - other.least_price),
            usual_price=usual,
            most_price=usual + hypot(self.most_price - self.usual_price, other.most_price - other.usual_price),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class QuotePart:
    """One part of the quote.

    work: what its hours cost, None where no rate is set.   material_price: of what has a price, the factor in it.
    material_factor: how many times the stock's prices materials come to. [-]
    margin_price, tax_price: None where the shop set no rate.   own_price: what wishes name of their own.
    sum: work, materials, margin, what wishes name, tax; None where no rate is set.   no_price: items without one.
    """

    part: PartName
    title: str
    stages: tuple[StageWork, ...]
    materials: tuple[MaterialLine, ...]
    work: Priced | None
    material_price: float
    material_factor: float
    margin_price: float | None
    own_price: float
    tax: Priced | None
    sum: Priced | None

    @property
    def all(self) -> Minutes:
        """All its work."""
        return together(stage.all for stage in self.stages)

    @property
    def no_price(self) -> tuple[MaterialLine, ...]:
        """What has to be bought and has no price."""
        return tuple(line for line in self.materials if line.price is None)


@dataclass(frozen=True, slots=True, kw_only=True)
class WishCost:
    """What one wish costs: the difference between the job with it and without it, the others as they are.

    pins, wires, parts, connectors: how many it makes. [-]   wire_m: of wire. [m]   minutes: its work.
    material_price: of what has a price.   price: work and materials as in the sum, the usual; None without a rate.
    no_price: of its things, those without a price. [-]   counted: it makes something that the sheets hold.
    """

    id: str
    text: str
    included: Literal["yes", "no", "asked"]
    circuits: tuple[str, ...]
    pins: int
    wires: int
    parts: int
    wire_m: float
    minutes: Minutes
    material_price: float
    price: Priced | None
    no_price: int
    notes: str = ""

    @property
    def counted(self) -> bool:
        """Whether anything of it could be counted."""
        return bool(self.pins or self.wires or self.parts or self.minutes.usual_minutes or self.material_price)


@dataclass(frozen=True, slots=True, kw_only=True)
class AgreedChange:
    """A later change. revision: of the job; None where none is named. [-]   price: None where none is agreed."""

    revision: int | None
    time: str
    who: str
    why: str
    price: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Quote:
    """The whole quote.

    owner, plate, currency: as the shop wrote them.   rate_price: of an hour.   agreed_price: of all changes so far.
    sure: how sure it is, one sentence each.   left_out: what is not in it, one sentence each.
    """

    title: str
    owner: str
    plate: str
    currency: str
    rate_price: float | None
    margin_frac: float | None
    tax_frac: float | None
    parts: tuple[QuotePart, ...]
    wishes: tuple[WishCost, ...]
    changes: tuple[AgreedChange, ...]
    agreed_price: float
    sure: tuple[str, ...]
    left_out: tuple[str, ...]

    def part(self, name: PartName) -> QuotePart:
        """One of its two parts."""
        return next(one for one in self.parts if one.part == name)
