"""How do the cavities of a connector lie, and how far apart, as its row says?

`rows x columns`, and behind it, where somebody measured it, the pitch along a row and from row to row: `2x7`,
`2 x 7, pitch 4 x 5 mm`, `1x3, pitch 6 mm`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

__all__ = ["Layout", "layout_of"]

_TIMES = r"\s*[xX*\N{MULTIPLICATION SIGN}]\s*"
_MM = r"(\d{1,2}(?:\.\d{1,2})?)"
_LAYOUT = re.compile(rf"\s*(\d{{1,3}}){_TIMES}(\d{{1,3}})\s*(?:,?\s*pitch\s*{_MM}(?:{_TIMES}{_MM})?\s*mm\s*)?")


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """Rows and columns of a face. [-]   across_mm, down_mm: the pitch along a row, from row to row; None where it is
    not said. [mm]"""

    rows: int
    columns: int
    across_mm: float | None = None
    down_mm: float | None = None


def layout_of(text: str) -> Layout | None:
    """The layout a row says; None where it says none.

    Example:
        >>> layout_of("2x7, pitch 4 x 5 mm")
        Layout(rows=2, columns=7, across_mm=4.0, down_mm=5.0)
        >>> layout_of("1 x 3").columns, layout_of("round")
        (3, None)
    """
    match = _LAYOUT.fullmatch(text)
    if match is None:
        return None
    across = float(match[3]) if match[3] else 0.0
    down = float(match[4]) if match[4] else across
    known = across > 0.0 and down > 0.0
    return Layout(
        rows=int(match[1]),
        columns=int(match[2]),
        across_mm=across if known else None,
        down_mm=down if known else None,
    )
