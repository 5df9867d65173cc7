"""What does the square code on a wire's label look like, and what does a camera read off it?

The address of the wire's page where the desk's address is known; else the wire's id alone, to be typed where one looks
for it. Written as SVG with its quiet edge of four squares, the dark squares of a row that touch as one bar.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from urllib.parse import quote

from loomwright.drawings.square_code import square_code

__all__ = ["code_svg", "label_codes", "label_reads"]

_QUIET = 4


def label_codes(wires: Iterable[str], address: str) -> Mapping[str, str]:
    """Wire -> its code as SVG.

    Args:
        address: of the pages of a job's wires, such as `http://bench:8140/j/van/wire/`; empty where nobody knows it.
    """
    return {name: code_svg(label_reads(name, address)) for name in dict.fromkeys(wires)}


def label_reads(wire: str, address: str) -> str:
    """What a camera reads off the label of a wire.

    Example:
        >>> label_reads("W1", "http://bench:8140/j/van/wire/"), label_reads("W1", "")
        ('http://bench:8140/j/van/wire/W1', 'W1')
    """
    return address + quote(wire, safe="") if address else wire


def code_svg(text: str) -> str:
    """The code of a text as SVG, one unit a square."""
    rows = square_code(text)
    side = len(rows) + 2 * _QUIET
    path = "".join(bar for y, row in enumerate(rows) for bar in _bars(row, y))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {side} {side}"><rect width="{side}" height="{side}" '
        f'fill="#ffffff"/><path d="{path}" fill="#000000" shape-rendering="crispEdges"/></svg>'
    )


def _bars(row: tuple[bool, ...], y: int) -> Iterator[str]:
    x = 0
    while x < len(row):
        long = 0
        while x + long < len(row) and row[x + long]:
            long += 1
        if long:
            yield f"M{x + _QUIET} {y + _QUIET}h{long}v1h-{long}z"
        x += long + 1
