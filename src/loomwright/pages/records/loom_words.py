"""How are the loom's figures said on its pages: degrees, millimetres, seconds, a bar beside a figure?"""

from __future__ import annotations

from math import ceil, isfinite

from loomwright.quantities.printing import for_print

__all__ = ["bar_of", "degrees", "is_warm", "mm_text", "seconds"]

_FULL = 100.0
_EQUAL = 1e-6
_DUST_K = 0.05
_SHORT_S = 0.1
_MILLI = 1000.0


def degrees(at_c: float) -> str:
    """A temperature in whole degrees, not cooler than it is by more than dust.

    Args:
        at_c: `inf` where it never settles. [C]
    Example:
        >>> degrees(62.95), degrees(60.000004), degrees(float("inf"))
        ('63 °C', '60 °C', 'melts')
    """
    return f"{ceil(at_c - _DUST_K)} °C" if isfinite(at_c) else "melts"


def is_warm(at_c: float, class_c: float | None) -> bool:
    """Whether copper passes what its insulation stands; False where that is not known.

    Args:
        at_c: of the copper. [C]
        class_c: what the insulation stands. [C]
    """
    return class_c is not None and at_c > class_c + _EQUAL


def mm_text(length_mm: float) -> str:
    """A thickness, never thinner than it is.

    Args:
        length_mm: [mm]
    Example:
        >>> mm_text(13.056)
        '13.1 mm'
    """
    return f"{for_print(length_mm, side='up', digits=3)} mm"


def seconds(time_s: float | None) -> str:
    """How long a fuse takes, never sooner than it does.

    Args:
        time_s: `inf` where nothing obliges it to open; None where nobody knows. [s]
    Example:
        >>> seconds(0.123), seconds(0.000456), seconds(float("inf")), seconds(None)
        ('0.13 s', '0.46 ms', 'never', '–')
    """
    if time_s is None:
        return "–"
    if time_s < _SHORT_S:
        return f"{for_print(time_s * _MILLI, side='up', digits=2)} ms"
    return f"{for_print(time_s, side='up', digits=2)} s" if isfinite(time_s) else "never"


def bar_of(value: float, most: float) -> float:
    """The length of a bar, of a hundred at most.

    Args:
        value: what it stands for.
        most: what fills it. [-]
    Example:
        >>> bar_of(3.0, 4.0), bar_of(5.0, 4.0), bar_of(1.0, 0.0)
        (75.0, 100.0, 0.0)
    """
    return round(min(1.0, max(0.0, value / most)) * _FULL, 1) if most > 0.0 and isfinite(value) else 0.0
