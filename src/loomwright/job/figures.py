"""What figure does a person mean, who may write a comma where others write a point?

`1,5` can only be one and a half and is read so. `1,234` may be a thousand and more or a little over one: it is not
guessed at. The rule: one comma, no point, and not exactly three figures behind it after one to three that do not
begin with zero. Units in words are read by `quantities`.
"""

from __future__ import annotations

import re

from loomwright.quantities import QuantityFault, parse_quantity

__all__ = ["is_open_comma", "plain_figure", "text_of_figure"]

_PLAIN = re.compile(r"[+-]?[0-9]+(?:\.[0-9]+)?")
_THOUSANDS = re.compile(r"[+-]?[1-9][0-9]{0,2},[0-9]{3}(?![0-9])")
_ONE_COMMA = re.compile(r"[+-]?[0-9]+,[0-9]+(?![0-9.,])")
_LONGEST_PLAIN = 15


def plain_figure(text: str, unit: str, *, name: str = "") -> float:
    """The figure in a cell, in the unit given; a decimal comma is read where it can be nothing else.

    Raises:
        QuantityFault: no figure in that unit, or a comma that may stand between thousands.
    Example:
        >>> plain_figure("1,5", "mm2"), plain_figure("16.5 m", "mm")
        (1.5, 16500.0)
    """
    plain = text.strip()
    if _PLAIN.fullmatch(plain) and len(plain) <= _LONGEST_PLAIN:
        return float(plain)
    if is_open_comma(plain):
        raise QuantityFault(
            name or unit or "number", text, "a number with a decimal point and nothing between thousands"
        )
    return parse_quantity(plain, unit, name=name, decimal_comma=True)


def is_open_comma(text: str) -> bool:
    """Whether a figure has a comma whose meaning is open, so that it would have to be guessed at.

    Example:
        >>> is_open_comma("1,234"), is_open_comma("1,5"), is_open_comma("0,125"), is_open_comma("1.234,5")
        (True, False, False, True)
    """
    plain = text.strip()
    if "," not in plain:
        return False
    if _THOUSANDS.match(plain):
        return True
    return bool(re.match(r"[+-]?[0-9][0-9.,]*", plain)) and not _ONE_COMMA.match(plain)


def text_of_figure(value: float) -> str:
    """A figure as it is written into a cell: all its digits and nothing more.

    Example:
        >>> text_of_figure(1200.0), text_of_figure(0.5), text_of_figure(1e-07)
        ('1200', '0.5', '1e-07')
    """
    if value == int(value) and abs(value) < 1e15:
        return str(int(value))
    return repr(value)
