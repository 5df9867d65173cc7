"""How is each colour of insulation, and of a fuse's blade, painted on a page?

The codes are those of IEC 60757, the words of blades those of the table `fuse_colours`; the shades are ours, chosen to
look like the thing and to stay apart from each other on paper. A code, a word or a rating always stands beside the
paint, so that a grey print loses nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

__all__ = ["BLADE_PAINT", "PAINT"]

PAINT: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "BK": ("#26241f",),
        "BN": ("#7a4a21",),
        "RD": ("#c3261f",),
        "OG": ("#e6791e",),
        "YE": ("#f2d21b",),
        "GN": ("#2f8a3c",),
        "BU": ("#2a5fae",),
        "VT": ("#7a4596",),
        "GY": ("#8f8f8b",),
        "WH": ("#ffffff",),
        "PK": ("#f0a3b5",),
        "GD": ("#c79a3a",),
        "TQ": ("#2fa9a3",),
        "SR": ("#c9ccd0",),
        "GNYE": ("#2f8a3c", "#f2d21b"),
    }
)
"""Colour code -> shade of the base; a second one where the colour has two by itself."""

BLADE_PAINT: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "black": ("#26241f", "#ffffff"),
        "grey": ("#8f8f8b", "#1d1f21"),
        "violet": ("#7a4596", "#ffffff"),
        "tan": ("#c9a577", "#1d1f21"),
        "brown": ("#7a4a21", "#ffffff"),
        "red": ("#c3261f", "#ffffff"),
        "blue": ("#2a5fae", "#ffffff"),
        "yellow": ("#f2d21b", "#1d1f21"),
        "clear": ("#ffffff", "#1d1f21"),
        "green": ("#2f8a3c", "#ffffff"),
        "amber": ("#e39a2d", "#1d1f21"),
    }
)
"""Colour of a blade in words -> its shade, and that of the figure on it."""
