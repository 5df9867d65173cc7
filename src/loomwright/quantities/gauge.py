"""How thick is a wire whose size is a gauge number?

The American wire gauge is geometric: number 36 is 0.005 inch across, number 0000 (counted as -3) is 0.46 inch, and the
39 steps between are equal in ratio.

    d = 0.127 mm * 92 ** ((36 - n) / 39)        A = pi / 4 * d ** 2

The area is that of a solid wire. A stranded one of the same number may differ from it either way, so its resistance is
looked up (`tables.conductors`) and never worked out from this area.

Source: the definition of the gauge (ASTM B258), from memory.
"""

from __future__ import annotations

import math
import re

from loomwright.refusals import OutOfReach

__all__ = ["gauge_size_mm2", "read_gauge"]

THINNEST = 40
THICKEST = -3  # 0000, or 4/0
_D36_MM = 0.127
_RATIO = 92.0
_STEPS = 39
_REACH = "0000 (4/0) to 40 AWG"

_GAUGE = re.compile(r"(?:AWG\s*([0-9]{1,4}(?:/0)?)|([0-9]{1,4}(?:/0)?)\s*AWG)", re.IGNORECASE)


def gauge_size_mm2(number: int) -> float:
    """Area of the solid wire of a gauge number; 0, -1, -2 and -3 stand for 0, 00, 000 and 0000. [mm2]

    Raises:
        OutOfReach: thicker than 0000 or thinner than 40.
    Example:
        >>> round(gauge_size_mm2(16), 4)
        1.3087
    """
    if not THICKEST <= number <= THINNEST:
        raise OutOfReach("gauge", number, _REACH)
    d = _D36_MM * math.pow(_RATIO, (36 - number) / _STEPS)
    return math.pi / 4 * d**2


def read_gauge(text: str) -> int | None:
    """The gauge number written in a text such as `16 AWG`, `AWG 2/0` or `00 AWG`; None where it is no gauge. [-]

    Example:
        >>> read_gauge("2/0 AWG"), read_gauge("1.5 mm2")
        (-1, None)
    """
    match = _GAUGE.fullmatch(text.strip())
    if match is None:
        return None
    word = match.group(1) or match.group(2)
    if word.endswith("/0"):
        return 1 - int(word[:-2])
    if set(word) == {"0"}:
        return 1 - len(word)
    return int(word)
