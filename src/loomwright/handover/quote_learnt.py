"""What does a job that is done teach the next quote: how long the shop really takes, what materials really came to?

The hours of a stage tell of all its operations together. A stage that took f times its usual hours moves every
operation of it by the root of f: half the way, since one job is one job, and the next one goes the rest. An operation
that stands in two stages goes by both, weighed by their minutes. A stage without hours teaches nothing.

    f = spent / usual        next = each * sqrt(f)

Materials: what the invoices came to against what was quoted, as a factor on the stock's prices; it moves that of the
next quote (`materials_factor`) by the same root.

Source: the root is our choice.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import exp, log, sqrt

from loomwright.handover.quote_hours import HoursAgainst
from loomwright.handover.quote_records import Quote, WorkLine
from loomwright.job.shop_terms import ShopTerms
from loomwright.tables.work_minutes import Minutes

__all__ = ["Learnt", "LearntMinutes", "MaterialsAgainst", "learnt_csv", "learnt_of", "materials_says"]

_DIGITS = 2
_DUST_FRAC = 0.005
_FACTORS = (0.1, 10.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class LearntMinutes:
    """One operation for the next quote. was, now: minutes of one.   stages: it was done in.

    factor: now over was. [-]
    """

    operation: str
    stages: tuple[str, ...]
    was: Minutes
    now: Minutes
    factor: float

    @property
    def row(self) -> tuple[str, str]:
        """Property and value for the next sheet `vehicle`: the usual time; its ends go with it as in the table."""
        return f"minutes_{self.operation}", f"{round(self.now.usual_minutes, _DIGITS):g}"


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialsAgainst:
    """Materials. quoted_price, spent_price: in the shop's currency; spent is None until somebody says it. [-]

    no_price: how many items were quoted without one. [-]   was: the factor that was quoted with. [-]
    """

    quoted_price: float
    spent_price: float | None
    no_price: int
    was: float = 1.0

    @property
    def factor(self) -> float | None:
        """Spent over quoted; None where either is nothing."""
        return self.spent_price / self.quoted_price if self.spent_price and self.quoted_price else None

    @property
    def row(self) -> tuple[str, str] | None:
        """Property and value for the next sheet `vehicle`; None where nothing is known, or materials came as quoted."""
        if self.factor is None or abs(self.factor - 1.0) < _DUST_FRAC:
            return None
        least, most = _FACTORS
        return "materials_factor", f"{min(max(self.was * sqrt(self.factor), least), most):.3g}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Learnt:
    """What the next quote can be better by."""

    minutes: tuple[LearntMinutes, ...]
    materials: MaterialsAgainst


def learnt_of(quote: Quote, hours: HoursAgainst, terms: ShopTerms) -> Learnt:
    """What a job that is done teaches.

    Args:
        quote: of the job.
        hours: what was spent against it.
        terms: of the job, with what its materials came to by the invoices.
    """
    factors = {
        one.stage: one.spent_minutes / one.quoted.usual_minutes
        for one in hours.stages
        if one.stage and one.spent_minutes > 0.0 and one.quoted.usual_minutes > 0.0
    }
    done: dict[str, list[tuple[str, WorkLine]]] = {}
    for part in quote.parts:
        for stage in part.stages:
            for line in stage.lines:
                if line.set_by != "wish":  # a wish names its own minutes
                    done.setdefault(line.operation, []).append((stage.stage, line))
    rows = [_learnt(operation, lines, factors) for operation, lines in sorted(done.items())]
    quoted = sum(part.material_price for part in quote.parts)
    missing = sum(len(part.no_price) for part in quote.parts)
    return Learnt(
        minutes=tuple(row for row in rows if row is not None),
        materials=MaterialsAgainst(
            quoted_price=quoted, spent_price=terms.spent_price, no_price=missing, was=terms.materials_factor
        ),
    )


def learnt_csv(learnt: Learnt) -> str:
    """The rows of the sheet `vehicle` of the next job, as CSV."""
    rows = [one.row for one in learnt.minutes]
    if learnt.materials.row is not None:
        rows.append(learnt.materials.row)
    return "name,value\n" + "".join(f"{name},{value}\n" for name, value in rows)


def materials_says(one: MaterialsAgainst) -> str:
    """How materials came out, as a sentence.

    Example:
        >>> materials_says(MaterialsAgainst(quoted_price=200.0, spent_price=250.0, no_price=0))
        'Materials came to 250 against 200 quoted: 1.25 times. Next time materials_factor 1.12, or see which.'
    """
    missing = f" {one.no_price} items had no price in the quote." if one.no_price else ""
    if one.spent_price is None:
        return f"Materials: nobody has said yet what they came to; write materials_spent_price.{missing}"
    told = f"Materials came to {one.spent_price:g} against {one.quoted_price:g} quoted"
    if one.factor is None:
        return f"{told}.{missing}"
    if one.row is None:
        return f"{told}: as quoted.{missing}"
    return f"{told}: {one.factor:.2f} times. Next time {' '.join(one.row)}, or see which.{missing}"


def _learnt(operation: str, lines: list[tuple[str, WorkLine]], factors: Mapping[str, float]) -> LearntMinutes | None:
    told = [(stage, line) for stage, line in lines if stage in factors]
    weight = sum(line.all.usual_minutes for _, line in told)
    if weight <= 0.0:
        return None
    mean = sum(line.all.usual_minutes * log(factors[stage]) for stage, line in told) / weight
    factor = sqrt(exp(mean))
    if abs(factor - 1.0) < _DUST_FRAC:
        return None
    was = told[0][1].each
    now = Minutes(
        least_minutes=was.least_minutes * factor,
        usual_minutes=was.usual_minutes * factor,
        most_minutes=was.most_minutes * factor,
    )
    return LearntMinutes(
        operation=operation, stages=tuple(dict.fromkeys(stage for stage, _ in told)), was=was, now=now, factor=factor
    )
