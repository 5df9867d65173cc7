"""How long does a fuse stand a current, and what is it as a resistance?

A fuse family gives *gates*: at a multiple of the rating the fuse opens after a least and before a longest time. Between
gates nothing is printed, so the safe side is taken: it may last as long as at the next lower gate, and may open as
soon as at the next higher one. Below the lowest gate that has a longest time it need never open; above the highest one
it opens within that gate's time.

Resistance is the cold one: the volts across a fuse at its rating are 1.3 to 1.7 times what the cold figure gives.

Source: per row of `fuse_gates.csv` and `fuse_values.csv`; see `fuses.md`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from math import inf
from types import MappingProxyType

from loomwright.refusals import OutOfReach
from loomwright.tables.curves import between_rows
from loomwright.tables.load import read_rows

__all__ = [
    "FuseFamily",
    "Gate",
    "breaker_ratings",
    "colour_of",
    "families",
    "family_named",
    "fuse_ohm",
    "gate",
    "melting_a2s",
    "usable_a",
]

_PERCENT = 100.0
_MILLI = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Gate:
    """At `multiple` times its rating a fuse opens no sooner than `min_s` and no later than `max_s`.

    from_a, to_a: ratings it is for. [A]   multiple: of the rating. [-]   max_s: inf where none is printed. [s]
    source, grade: where the figures are from.
    """

    from_a: float
    to_a: float
    multiple: float
    min_s: float
    max_s: float
    source: str
    grade: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FuseFamily:
    """A family of fuses that keep the same gates.

    id: its word in the sheets.   also_called: what the trade says.   ratings: those that are made, rising. [A]
    printed: its gates for all ranges of ratings.
    """

    id: str
    also_called: tuple[str, ...]
    ratings: tuple[float, ...]
    printed: tuple[Gate, ...]

    @property
    def gates(self) -> tuple[tuple[float, float, float], ...]:
        """Multiple, least and longest seconds over all its ratings: the widest band of each multiple."""
        multiples = sorted({one.multiple for one in self.printed})
        return tuple(
            (
                multiple,
                min(one.min_s for one in self.printed if one.multiple == multiple),
                max(one.max_s for one in self.printed if one.multiple == multiple),
            )
            for multiple in multiples
        )

    def gates_for(self, rating_a: float) -> tuple[Gate, ...]:
        """Its gates for one rating, the lowest multiple first: of two ranges that fit, the narrower.

        Raises:
            OutOfReach: no gates are known for that rating.
        """
        narrowest: dict[float, Gate] = {}
        for one in self.printed:
            if one.from_a <= rating_a <= one.to_a:
                other = narrowest.get(one.multiple)
                if other is None or one.to_a - one.from_a < other.to_a - other.from_a:
                    narrowest[one.multiple] = one
        if not narrowest:
            reach = f"{min(one.from_a for one in self.printed):g} to {max(one.to_a for one in self.printed):g} A"
            raise OutOfReach(f"rating of {self.id}", rating_a, reach)
        return tuple(narrowest[multiple] for multiple in sorted(narrowest))

    def cold_ohm(self, rating_a: float) -> float:
        """Resistance of one of its fuses, cold, without its clips. [ohm]

        Raises:
            OutOfReach: thinner or thicker than the ratings there are figures for.
        """
        return fuse_ohm(self.id, rating_a)


@cache
def families() -> Mapping[str, FuseFamily]:
    """The fuse families, word of the sheets -> family."""
    found: dict[str, FuseFamily] = {}
    for row in read_rows("fuse_families"):
        found[row["family"]] = FuseFamily(
            id=row["family"],
            also_called=tuple(row["also_called"].split()),
            ratings=tuple(float(rating) for rating in row["ratings_a"].split()),
            printed=tuple(_gate(one) for one in read_rows("fuse_gates") if one["family"] == row["family"]),
        )
    return MappingProxyType(found)


def family_named(word: str) -> FuseFamily:
    """The family of that word, or of one of the trade's words for it.

    Raises:
        OutOfReach: no such family.
    Example:
        >>> family_named("MAXI").id
        'blade_e'
    """
    plain = word.strip().lower()
    for family in families().values():
        if plain == family.id or plain in family.also_called:
            return family
    raise OutOfReach("family", word, " ".join(families()))


def gate(family: str, multiple: float, rating_a: float | None = None) -> tuple[float, float]:
    """Least and longest time a fuse of a family stands a multiple of its rating. [s]

    Args:
        family: its word in the sheets.
        multiple: current over rating. [-]
        rating_a: its rating; None = the widest band over all ratings of the family. [A]
    Returns:
        The least and the longest seconds; `inf` where nothing obliges it to open.
    Raises:
        OutOfReach: no such family, no gates for that rating, or a multiple not above nothing.
    Source:
        per row of `fuse_gates.csv`; between gates the safe side, see the module.
    Example:
        >>> gate("blade_e", 1.35, 40.0), gate("blade_c", 1.28, 20.0)[1]
        ((60.0, 1800.0), inf)
    """
    if not multiple > 0:
        raise OutOfReach("multiple", multiple, "more than nothing")
    known = family_named(family)
    if rating_a is None:
        bands = known.gates
    else:
        bands = tuple((one.multiple, one.min_s, one.max_s) for one in known.gates_for(rating_a))
    longest = min((max_s for at, _, max_s in bands if at <= multiple), default=inf)
    # above the highest gate it may open at once
    least = max((min_s for at, min_s, _ in bands if at >= multiple), default=0.0)
    return least, longest


def fuse_ohm(family: str, rating_a: float) -> float:
    """Resistance of a fuse, cold, without its clips. [ohm]

    Args:
        family: its word in the sheets.
        rating_a: its rating. [A]
    Raises:
        OutOfReach: no such family, or a rating outside its rows.
    Source:
        per row of `fuse_values.csv`; between rows a straight line in logarithms.
    Example:
        >>> fuse_ohm("blade_c", 10.0)
        0.0077
    """
    known = family_named(family)
    return between_rows(f"rating of {known.id}", rating_a, _cold(known.id), unit="A")[0]


def melting_a2s(family: str, rating_a: float) -> float | None:
    """Typical I²t that melts a fuse, where a maker printed it. [A2s]

    Args:
        family: its word in the sheets.
        rating_a: its rating. [A]
    Limits:
        True in short times only: at 200 % it predicts less than the gate's least time.
    """
    known = family_named(family)
    for row in read_rows("fuse_values"):
        if row["family"] == known.id and float(row["rating_a"]) == rating_a and row["melting_a2s"]:
            return float(row["melting_a2s"])
    return None


def usable_a(family: str, rating_a: float, ambient_c: float) -> float:
    """Current a fuse carries for ever at an ambient, where its maker printed a curve. [A]

    A straight line between the printed temperatures.

    Args:
        family: its word in the sheets.
        rating_a: its rating. [A]
        ambient_c: around it. [C]
    Raises:
        OutOfReach: no curve for it, or an ambient outside the curve.
    Source:
        fuse-note, type E 40 A.
    Example:
        >>> usable_a("blade_e", 40.0, 75.0)
        32.0
    """
    known = family_named(family)
    rows = [
        (float(row["ambient_c"]), float(row["usable_a"]))
        for row in read_rows("fuse_ambient")
        if row["family"] == known.id and float(row["rating_a"]) == rating_a
    ]
    if not rows:
        raise OutOfReach(f"rating of {known.id}", rating_a, "a fuse with a printed curve: blade_e 40 A")
    for (cool, more), (warm, less) in pairwise(rows):
        if cool <= ambient_c <= warm:
            return more + (less - more) * (ambient_c - cool) / (warm - cool)
    raise OutOfReach("ambient_c", ambient_c, f"{rows[0][0]:g} to {rows[-1][0]:g}")


def breaker_ratings() -> tuple[float, ...]:
    """The ratings that breakers for cars are made with, rising. [A]

    Source:
        per row of `circuit_breakers.csv`: from memory.
    """
    return tuple(float(row["rating_a"]) for row in read_rows("circuit_breakers"))


def colour_of(rating_a: float) -> str | None:
    """The colour of a blade fuse by its rating, whatever its body; None where none is agreed."""
    for row in read_rows("fuse_colours"):
        if float(row["rating_a"]) == rating_a:
            return row["colour"]
    return None


def _gate(row: Mapping[str, str]) -> Gate:
    return Gate(
        from_a=float(row["from_a"]),
        to_a=float(row["to_a"]),
        multiple=float(row["load_percent"]) / _PERCENT,
        min_s=float(row["min_s"]),
        max_s=float(row["max_s"]) if row["max_s"] else inf,
        source=row["source"],
        grade=row["grade"],
    )


@cache
def _cold(family: str) -> tuple[tuple[float, float], ...]:
    """Rating and cold ohms of a family's rows."""
    return tuple(
        (float(row["rating_a"]), float(row["cold_mohm"]) / _MILLI)
        for row in read_rows("fuse_values")
        if row["family"] == family
    )
