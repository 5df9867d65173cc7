"""What does the meter's display say, as it is typed off it?

A figure with a point or a comma, bare or with its unit. A meter that is over its range says so in its own way: of ohms
that is open, of volts or amps it is no reading. A figure in another unit is told as what it is, since it was read with
the meter set to that: volts where ohms are wanted are a car that is live.

Source: what displays show over their range: common practice, no source.
"""

from __future__ import annotations

from math import inf
from re import compile as pattern

from loomwright.job.figures import plain_figure
from loomwright.refusals import OutOfReach

__all__ = ["figure_read", "is_over_range", "unit_typed"]

_ENDINGS = {"V": "v", "ohm": "ohm", "A": "a", "degC": "c"}
_NAMED = {"V": "volts", "ohm": "ohms", "A": "amps", "degC": "degrees"}
_OVER = ("open", "ol", "o.l", "o.l.", "0l", "0.l", "0.l.", ".ol", "over limit", "over range", "inf", "\N{INFINITY}")
_MORE_THAN = pattern(r">\s*(.+)")
_STEADY = pattern(r"(.*\d.*?)\s*dc")
_OPEN_OHM = 1e6
_EXAMPLES = {"V": "12.6, 12.6 V or 400 mV", "ohm": "0.4, 0.4 ohm, 400 mohm, 2.2 M or open", "A": "3.5, 3.5 A or 12 mA"}
_EXAMPLES |= {"degC": "18 or 64 F"}
_LIVE = "with the battery off nothing may show volts: see that its earth lead is off before a tip touches"


def is_over_range(text: str) -> bool:
    """Whether that is how a meter says that it is over its range.

    Example:
        >>> is_over_range(" O.L "), is_over_range("0L"), is_over_range("1")
        (True, True, False)
    """
    return text.strip().lower() in _OVER


def figure_read(text: str, unit: str, *, name: str = "value") -> float:
    """The figure, in `unit`; infinite where a meter on ohms is over its range.

    Args:
        text: as it was typed.
        unit: V, ohm, A or degC.
        name: what the figure is called where it is refused.
    Raises:
        OutOfReach: no figure, one of another quantity, a comma whose meaning is open, or over range where that is none.
    Example:
        >>> figure_read("0,4", "ohm"), figure_read("400 mV", "V"), figure_read("> 20 M", "ohm")
        (0.4, 0.4, inf)
    """
    plain = text.strip()
    if is_over_range(plain):
        if unit != "ohm":
            raise OutOfReach(name, text, f"a figure in {_NAMED[unit]}: over its range the meter wants a higher one")
        return inf
    if unit == "ohm" and (more := _MORE_THAN.fullmatch(plain)) is not None:
        if plain_figure(more.group(1), "ohm", name=name) >= _OPEN_OHM:
            return inf
        raise OutOfReach(name, text, "the ohms, or open where the meter is over its highest range")
    if unit in ("V", "A") and (steady := _STEADY.fullmatch(plain.lower())) is not None:
        plain = plain[: len(steady.group(1))]
    try:
        return plain_figure(plain, _ENDINGS[unit], name=name)
    except OutOfReach as refusal:
        other = unit_typed(plain)
        if other and other != unit:
            why = f". {_NAMED[other].capitalize()} were read: set the meter to {_NAMED[unit]} and read again"
            live = f"; {_LIVE}" if (other, unit) == ("V", "ohm") else ""
            raise OutOfReach(name, text, f"{_NAMED[unit]}{why}{live}") from refusal
        if "," in plain and plain.count(",") == 1 and "." not in plain and plain.replace(",", "").isdigit():
            raise OutOfReach(name, text, "a point where tenths begin: the comma may stand between thousands") from None
        raise OutOfReach(name, text, f"{_NAMED[unit]}, such as {_EXAMPLES[unit]}") from refusal


def unit_typed(text: str) -> str:
    """The unit a figure was typed with: V, ohm, A or degC; empty where it is bare or no figure.

    Example:
        >>> unit_typed("12,6 V"), unit_typed("400 mV"), unit_typed("4k7"), unit_typed("12.6")
        ('V', 'V', 'ohm', '')
    """
    found = ""
    for unit, ending in _ENDINGS.items():
        try:
            plain_figure(text, ending)
        except OutOfReach:
            continue
        if found:
            return ""  # bare: it may be any of them
        found = unit
    return found
