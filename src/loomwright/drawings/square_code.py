"""Which squares are dark in the code that a camera reads an address from?

In: a short text. Out: rows of dark and light squares, without the quiet edge of four squares that belongs round it.
Source: ISO/IEC 18004 (QR Code), level M: about 15 of 100 code words may be spoilt and it is still read; made by segno.
Limits: texts of at most 2 331 bytes; a label wants far less, or its squares get too small for a telephone.
"""

from __future__ import annotations

import segno

from loomwright.refusals import OutOfReach

__all__ = ["square_code"]

_MOST_BYTES = 2331
"""What the largest square holds at level M, read as bytes."""


def square_code(text: str) -> tuple[tuple[bool, ...], ...]:
    """The rows of the code of a text, dark squares True, as small as it can be.

    Raises:
        OutOfReach: the text is too long.
    Source:
        ISO/IEC 18004.
    Example:
        >>> len(square_code("http://192.168.1.20:8140/pair"))
        29
    """
    if len(text.encode()) > _MOST_BYTES:
        raise OutOfReach("text of a code", f"{len(text.encode())} bytes", f"at most {_MOST_BYTES}")
    code = segno.make(text, error="m", mode="byte", encoding="utf-8", micro=False, boost_error=False)
    return tuple(tuple(bool(square) for square in row) for row in code.matrix)
