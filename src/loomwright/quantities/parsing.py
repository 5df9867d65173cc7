"""What figure does a cell hold, in the unit of its column?

A plain number is already in the column's unit. A number with a unit in words is converted: `1.2 m` in a column of
millimetres is 1200, `16 AWG` in one of square millimetres is the gauge's area, `10k` in one of ohms is ten thousand.
Nothing is guessed: a unit of another quantity, a comma whose meaning is open, or a word that is no number is refused,
and the refusal says what may stand there. Capital and small letters are told apart where they change the figure
(`mohm`, `Mohm`). A resistor's letter for the point (`4k7`) is read as IEC 60062 has it, from memory.
"""

from __future__ import annotations

import math
import re

from loomwright.quantities.endings import ENDINGS, as_ending
from loomwright.quantities.gauge import gauge_size_mm2, read_gauge
from loomwright.quantities.words import Unit, words_of
from loomwright.refusals import OutOfReach

__all__ = ["QuantityFault", "parse_quantity"]

_FIGURE = re.compile(r"([+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?)\s*(.*)", re.DOTALL)
_COMMA = re.compile(r"[+-]?[0-9]+,[0-9]+")
_LETTER_POINT = re.compile(r"([0-9]+)([RkKM])([0-9]+)")
_LETTER_OHM = {"R": 1.0, "k": 1e3, "K": 1e3, "M": 1e6}
_LONGEST = 80

# two code points that look the same: the ohm sign and the letter, the micro sign and the letter, two minus signs
_ONE_SPELLING = str.maketrans(
    {
        "\N{OHM SIGN}": "\N{GREEK CAPITAL LETTER OMEGA}",
        "\N{MICRO SIGN}": "\N{GREEK SMALL LETTER MU}",
        "\N{MINUS SIGN}": "-",
        "\N{NO-BREAK SPACE}": " ",
        "\N{NARROW NO-BREAK SPACE}": " ",
    }
)


class QuantityFault(OutOfReach, ValueError):
    """A cell does not hold a figure in the unit asked for; a `ValueError` too, as everywhere in Python."""


def parse_quantity(text: str, unit: str, *, name: str = "", decimal_comma: bool = False) -> float:
    """The figure a cell holds, in the column's unit.

    Args:
        text: what stands in the cell.
        unit: the ending of the column (`mm`, `a`, `ohm`), or the unit's sign (`A`, `V`); empty for a count or a ratio.
        name: what the figure is called in the refusal; the unit where empty.
        decimal_comma: the sheet's locale is known to write 1,5 for one and a half.
    Returns:
        The figure, finite, in `unit`.
    Raises:
        QuantityFault: no number, a unit of another quantity, or a comma that is not known to be a decimal one.
        OutOfReach: `unit` is no unit of ours.
    Limits:
        Whether the figure makes sense (a negative length) is for the reader of the sheet to say.
    Example:
        >>> parse_quantity("1.2 m", "mm"), parse_quantity("50 mA", "a"), parse_quantity("4k7", "ohm")
        (1200.0, 0.05, 4700.0)
    """
    ending = as_ending(unit) if unit else ""
    known = words_of(ending)
    called = name or ending or "number"
    plain = text.translate(_ONE_SPELLING).strip()
    if decimal_comma and "." not in plain:
        plain = _with_point(plain)
    special = _special_form(plain, ending, called)
    if special is not None:
        return special
    match = _FIGURE.fullmatch(plain)
    if match is None or len(plain) > _LONGEST:
        raise QuantityFault(called, text, _allowed(ending, known))
    factor, offset = _factor(match.group(2).strip(), known, called, text, ending)
    value = float(match.group(1)) * factor + offset
    if not math.isfinite(value):
        raise QuantityFault(called, text, _allowed(ending, known))
    return value


def _with_point(plain: str) -> str:
    """The same text with its decimal comma written as a point."""
    match = _COMMA.match(plain)
    return plain if match is None else match.group(0).replace(",", ".") + plain[match.end() :]


def _special_form(plain: str, ending: str, called: str) -> float | None:
    """The figure where it is written in a form of the trade's own: a gauge, or a resistor's letter for the point."""
    if ending == "mm2" and (number := read_gauge(plain)) is not None:
        try:
            return gauge_size_mm2(number)
        except OutOfReach as refusal:
            raise QuantityFault(called, plain, refusal.allowed) from None
    if ending == "ohm" and (match := _LETTER_POINT.fullmatch(plain)) is not None:
        whole, letter, part = match.groups()
        return float(f"{whole}.{part}") * _LETTER_OHM[letter]
    return None


def _factor(word: str, known: Unit, called: str, text: str, ending: str) -> tuple[float, float]:
    """What to multiply by and then add, for the unit's word behind the figure."""
    if not word:
        return 1.0, 0.0
    if word in known.exact:
        return known.exact[word]
    if word.lower() in known.loose:
        return known.loose[word.lower()]
    raise QuantityFault(called, text, _allowed(ending, known))


def _allowed(ending: str, known: Unit) -> str:
    """What may stand in such a cell, in words."""
    words = sorted({*known.exact, *known.loose}, key=lambda word: (len(word), word))
    plain = "a number with a decimal point"
    if not words:
        return plain
    unit = f" in {ENDINGS[ending]}" if ENDINGS.get(ending) else ""
    gauge = ", or a gauge such as 16 AWG" if ending == "mm2" else ""
    return f"{plain}{unit}, or one with its unit ({' '.join(words)}){gauge}"
