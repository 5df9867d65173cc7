"""How is a figure printed so that the reader is never misled by rounding?

Figures keep all their digits inside; they are rounded when printed and only here, to the side that is safe for what
they are: a drop or a temperature up, a current that may be carried down. `near` is for a figure that is neither.

    printed = round(value * 10^p) / 10^p        p chosen so that `digits` figures are left

Sums of binary fractions carry dust in the sixteenth digit. It is wiped off first, so that 15 A worked out as
14.999...98 prints as 15 even when rounded down.
"""

from __future__ import annotations

from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Context, Decimal
from typing import Literal

from loomwright.quantities.endings import unit_word
from loomwright.refusals import OutOfReach

__all__ = ["Side", "for_print", "with_unit", "without_dust"]

Side = Literal["near", "up", "down"]

_ROUNDING = {"near": ROUND_HALF_EVEN, "up": ROUND_CEILING, "down": ROUND_FLOOR}
_DUST = Context(prec=12, rounding=ROUND_HALF_EVEN)
_SOLVED_DUST = 1e-9
"""What a solved current or voltage that is nothing may be off by [A, V]."""


def for_print(value: float, *, side: Side = "near", digits: int = 3) -> str:
    """A figure as it is printed, rounded to the side that is safe.

    Args:
        value: the figure.
        side: `up` towards plus, `down` towards minus, `near` to the nearest.
        digits: how many figures count; the rest of a larger whole number is printed as noughts. [-]
    Raises:
        OutOfReach: not finite, or no digits.
    Example:
        >>> for_print(0.4321, side="up"), for_print(17.98, side="down"), for_print(1200.0), for_print(-0.0)
        ('0.433', '17.9', '1200', '0')
    """
    exact = Decimal(value)
    if not exact.is_finite():
        raise OutOfReach("figure", value, "a finite number")
    if digits < 1:
        raise OutOfReach("digits", digits, "1 or more")
    clean = _DUST.plus(exact)
    rounded = Context(prec=digits, rounding=_ROUNDING[side]).plus(clean)
    text = f"{rounded:f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def without_dust(value: float) -> float:
    """A solved current or voltage; nought where it is no more than what solving leaves of nothing. [A, V]

    Example:
        >>> without_dust(2.05e-13), without_dust(-1e-6)
        (0.0, -1e-06)
    """
    return value if abs(value) >= _SOLVED_DUST else 0.0


def with_unit(value: float, unit: str, *, side: Side = "near", digits: int = 3) -> str:
    """A figure with its unit as printed; `unit` is an ending or a sign.

    Raises:
        OutOfReach: not finite, or a unit that is not in the list.
    Example:
        >>> with_unit(0.5, "mm2"), with_unit(2.0, "")
        ('0.5 mm²', '2')
    """
    return f"{for_print(value, side=side, digits=digits)} {unit_word(unit)}".rstrip()
