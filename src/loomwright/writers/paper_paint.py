"""How is each colour of insulation painted on a page?

The codes are those of IEC 60757; the shades are ours, chosen to look like the wire and to stay apart from each other on
paper. A code always stands beside the paint, so that a grey print loses nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

__all__ = ["PAINT"]

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
