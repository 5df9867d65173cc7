"""How are volts, amps and the standing of a thing in a state said on a page?"""

from __future__ import annotations

import math

from loomwright.network.solve import Solved
from loomwright.quantities.printing import for_print

__all__ = ["amps_text", "lies_of", "trouble_of", "volts_text"]

_NOTHING = 0.0005
_SMALL = 0.1
_MILLI = 1000.0


def volts_text(volts: float | None) -> str:
    """Volts as printed; small ones in millivolts, dust as nothing.

    Example:
        >>> volts_text(12.63412), volts_text(-0.0183), volts_text(0.0002), volts_text(None)
        ('12.6 V', '\N{MINUS SIGN}18 mV', '0 V', 'floating')
    """
    return "floating" if volts is None else _printed(volts, "V").replace("-", "\N{MINUS SIGN}")


def amps_text(amps: float) -> str:
    """Amps as printed, either way; small ones in milliamperes, dust as nothing.

    Example:
        >>> amps_text(-9.3456), amps_text(0.0041), amps_text(0.0001)
        ('9.35 A', '4 mA', '0 A')
    """
    return _printed(abs(amps), "A")


def _printed(value: float, unit: str) -> str:
    if not math.isfinite(value):
        return "not known"
    if abs(value) < _NOTHING:
        return f"0 {unit}"
    if abs(value) < _SMALL:
        return f"{for_print(float(round(value * _MILLI)))} m{unit}"
    return f"{for_print(value)} {unit}"


def lies_of(solved: Solved, part: str, works: bool | None) -> str:
    """How a part stands in a state, in a word or two; empty where there is nothing to say.

    Args:
        works: of a load; None where it is none.
    """
    if part in solved.blown:
        return "blown"
    if part in solved.relays:
        return solved.relays[part]
    if part in solved.alive:
        return "alive" if solved.alive[part] else "dead"
    return "" if works is None else "works" if works else "does not work"


def trouble_of(solved: Solved) -> tuple[str, ...]:
    """What does not hold in a state, a sentence each."""
    told = [f"{fuse}: more than twice its rating, blown; the rest is told with it open." for fuse in solved.blown]
    if solved.buzzing:
        told.append(f"{' '.join(solved.buzzing)}: buzzing, in and out by turns; what is told is one moment of it.")
    if solved.collapsed:
        told.append("The supply cannot hold this load: no steady answer, these figures are where it gave way.")
    return tuple(told)
