"""A square code on a terminal: two rows of squares a line, dark on light whatever the terminal's colours are."""

from __future__ import annotations

from collections.abc import Sequence

__all__ = ["square_text"]

_QUIET = 4
_DARK_ON_LIGHT, _AS_BEFORE = "\x1b[30;107m", "\x1b[0m"
_HALVES = {(False, False): " ", (True, False): "▀", (False, True): "▄", (True, True): "█"}


def square_text(rows: Sequence[Sequence[bool]], *, in_colours: bool) -> tuple[str, ...]:
    """The lines of a code with its quiet edge.

    Args:
        in_colours: for a terminal; else as letters alone, to be read dark on light.

    Example:
        >>> square_text(((True,),), in_colours=False)[2]
        '    ▀    '
    """
    side = len(rows) + 2 * _QUIET
    wide = [[False] * side for _ in range(_QUIET)]
    wide += [[False] * _QUIET + list(row) + [False] * _QUIET for row in rows]
    wide += [[False] * side for _ in range(_QUIET + side % 2)]
    pairs = zip(wide[::2], wide[1::2], strict=True)
    lines = ["".join(_HALVES[both] for both in zip(upper, lower, strict=True)) for upper, lower in pairs]
    return tuple(f"{_DARK_ON_LIGHT}{line}{_AS_BEFORE}" if in_colours else line for line in lines)
