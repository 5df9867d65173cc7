"""How far does the car roll in one turn of the wheel, going by what is printed on the tyre?

    diameter = 25.4 * rim + 2 * width * aspect / 100        rolled = 3.05 * diameter

The loaded radial tyre rolls a little less than pi diameters. What is typed is taken apart strictly: a digit left out of
a tyre's size shifts every gear-change line, so what is no size is refused with the nearest way to write it.

Source: `tyre-rule`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from loomwright.refusals import OutOfReach

__all__ = ["ROLLED", "Tyre", "tyre_of"]

ROLLED = 3.05
"""Rolling circumference over diameter, radial tyres [-]. Source: `tyre-rule`."""
_INCH_MM = 25.4
_PERCENT = 100.0
_NO_ASPECT = 82.0  # what a size without one stands for
_WIDTHS_MM, _ASPECTS, _RIMS_IN = (125, 345), (25, 90), (10, 24)
_SIZE = re.compile(r"(?:P|LT)?(\d{3})(?:/(\d{2}))?(?:[HSTV]?R|ZR|-)(\d{2})C?(?:\d{2,3}[A-Z]{1,2})?")
_LOOSE = re.compile(r"(\d{3})\D*(\d{2})\D*(\d{2})")


@dataclass(frozen=True, slots=True, kw_only=True)
class Tyre:
    """A tyre by its printed size.

    width_mm: of the section. [mm]   aspect: height over width, in hundredths. [-]   rim_mm: of the rim. [mm]
    """

    size: str
    width_mm: float
    aspect: float
    rim_mm: float

    @property
    def diameter_mm(self) -> float:
        """Over the tread, not loaded."""
        return self.rim_mm + 2.0 * self.width_mm * self.aspect / _PERCENT

    @property
    def rolled_mm(self) -> float:
        """One turn of the wheel."""
        return ROLLED * self.diameter_mm


def tyre_of(size: str) -> Tyre:
    """A tyre from its size as printed: 205/65R15, 175R14.

    Raises:
        OutOfReach: not a size, or one no tyre has, with how it may be written.
    Example:
        >>> round(tyre_of("205/55R16").diameter_mm, 2), round(tyre_of("205/55 R16").rolled_mm, 1)
        (631.9, 1927.3)
    """
    found = _SIZE.fullmatch(re.sub(r"\s+", "", size).upper())
    if found is None:
        raise OutOfReach("tyre", size, f"width/aspect R rim, such as 205/65R15{_nearest(size)}")
    width, rim = int(found[1]), int(found[3])
    aspect = float(found[2]) if found[2] else _NO_ASPECT
    for word, figure, (least, most), unit in (
        ("width", width, _WIDTHS_MM, " mm"),
        ("aspect", aspect, _ASPECTS, ""),
        ("rim", rim, _RIMS_IN, " inches"),
    ):
        if not least <= figure <= most:
            raise OutOfReach("tyre", size, f"a {word} of {least} to {most}{unit}; read it again from the tyre's wall")
    return Tyre(size=size, width_mm=float(width), aspect=aspect, rim_mm=rim * _INCH_MM)


def _nearest(size: str) -> str:
    found = _LOOSE.search(size)
    return f"; {found[1]}/{found[2]}R{found[3]} was meant, it seems" if found else ""
