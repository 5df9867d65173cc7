"""Which ending a name must carry for its unit, and how that unit is printed.

One unit a quantity inside the core, and one spelling a unit: the ending of a field, an argument, a column and a JSON
key is the same. This is the list of them; the tests of the package's shape read it, and so does all that prints.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from loomwright.refusals import OutOfReach

__all__ = ["ENDINGS", "ending_of", "unit_word"]

ENDINGS: Mapping[str, str] = MappingProxyType(
    {
        "v": "V",
        "a": "A",
        "w": "W",
        "ohm": "Ω",
        "mohm": "mΩ",
        "ohm_per_m": "Ω/m",
        "ma": "mA",
        "mm": "mm",
        "m": "m",
        "mm2": "mm²",
        "c": "°C",
        "k": "K",
        "mv_per_k": "mV/K",
        "s": "s",
        "ms": "ms",
        "us": "µs",
        "minutes": "min",
        "hours": "h",
        "days": "d",
        "a2s": "A²s",
        "kw": "kW",
        "kpa": "kPa",
        "rpm": "1/min",
        "deg": "°",
        "deg_btdc": "° BTDC",
        "frac": "",
        "ah": "Ah",
        "g": "g",
        "mg": "mg",
        "g_per_s": "g/s",
        "cc": "cc",
        "cc_per_min": "cc/min",
        "kg_per_l": "kg/L",
        "mh": "mH",
        "hz": "Hz",
        "n": "N",
        "nm": "Nm",
        "kmh": "km/h",
        "price": "",
    }
)
"""Ending -> the unit as printed; empty where the figure stands alone (a share of a whole, the shop's own currency)."""

_SYMBOLS = {word.lower(): ending for ending, word in ENDINGS.items() if word and ending not in ("ma", "mohm", "mh")}
_WRITTEN = {"ohm": "ohm", "mA": "ma", "mohm": "mohm", "mΩ": "mohm", "mH": "mh", "ohm/m": "ohm_per_m", "C": "c"}


def ending_of(name: str) -> str | None:
    """The unit ending that a name carries, or None where it carries none.

    The longest ending wins, so `drop_ohm_per_m` is in ohms a metre and not in metres.

    Example:
        >>> ending_of("min_supply_v"), ending_of("r_ohm_per_m"), ending_of("members")
        ('v', 'ohm_per_m', None)
    """
    fits = [ending for ending in ENDINGS if name == ending or name.endswith(f"_{ending}")]
    return max(fits, key=len, default=None)


def unit_word(unit: str) -> str:
    """How a unit is printed, given by its ending or already by its sign; an empty unit stays empty.

    Raises:
        OutOfReach: the unit is not in the list.
    Example:
        >>> unit_word("mm2"), unit_word("A"), unit_word("")
        ('mm²', 'A', '')
    """
    return ENDINGS[as_ending(unit)] if unit else ""


def as_ending(unit: str) -> str:
    """The ending that stands for a unit, however it is written: `A`, `a` and `mm²` are `a`, `a` and `mm2`.

    Raises:
        OutOfReach: the unit is not in the list.
    """
    if unit in ENDINGS:
        return unit
    ending = _WRITTEN.get(unit) or _SYMBOLS.get(unit.lower())
    if ending is None:
        raise OutOfReach("unit", unit, " ".join(ENDINGS))
    return ending
