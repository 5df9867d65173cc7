"""How is a kept picture made small, to be looked at among others?"""

from __future__ import annotations

import io
from functools import lru_cache

from PIL import Image

__all__ = ["SMALL_PX", "small_picture"]

SMALL_PX = 480
"""Longer side of a small picture. [-]"""

_QUALITY = 80
_KEPT = 64


@lru_cache(maxsize=_KEPT)
def small_picture(data: bytes) -> bytes:
    """A kept picture made small, as JPEG.

    Args:
        data: of the picture as it is kept. [bytes]
    """
    with Image.open(io.BytesIO(data), formats=("JPEG",)) as opened:
        opened.draft("RGB", (SMALL_PX, SMALL_PX))
        small = opened.convert("RGB")
    small.thumbnail((SMALL_PX, SMALL_PX))
    into = io.BytesIO()
    small.save(into, format="JPEG", quality=_QUALITY, optimize=True)
    return into.getvalue()
