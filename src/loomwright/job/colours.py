"""Is this the colour of a wire, as IEC 60757 writes it?

Two capitals a colour, base and tracer apart by a stroke: `WH/BU` is white with a blue tracer. Green-and-yellow is one
colour of its own. A word or a letter code of the trade is not read silently, since the same letters mean different
colours in different countries; the refusal names the code that is most likely meant.

Source: the codes are those of `tables/colours.csv` (IEC 60757), each with its source. Everyday and one-letter codes
are common practice, no source; they are only ever offered, never read.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from loomwright.job.nearest import nearest
from loomwright.tables.limits import COLOURS

__all__ = ["likely_colour", "parse_colour"]

_EVERYDAY: Mapping[str, str] = MappingProxyType(
    {
        word: code
        for code, words in {
            "BK": "B BLK SW",
            "BN": "N BR BRN TAN",
            "RD": "R RT",
            "OG": "O OR",
            "YE": "Y YEL GE",
            "GN": "G GRN LG LGN",
            "BU": "U BL BLU LB LBL SB",
            "VT": "P V VI LI PUR PURPLE",
            "GY": "S GR GRY GRAY SLATE",
            "WH": "W WS",
        }.items()
        for word in words.split()
    }
)


def parse_colour(text: str) -> str | None:
    """The colour in its usual form, or None where it is not one.

    Example:
        >>> parse_colour("wh/bu"), parse_colour("LG")
        ('WH/BU', None)
    """
    pieces = [piece.strip().upper() for piece in text.split("/")]
    if len(pieces) > 2 or any(piece not in COLOURS for piece in pieces):
        return None
    if len(pieces) == 2 and pieces[0] == pieces[1]:
        return None
    return "/".join(pieces)


def likely_colour(text: str) -> str:
    """The code that is most likely meant by a colour that cannot be read; empty where nothing is like it.

    Example:
        >>> likely_colour("LG"), likely_colour("white / blue"), likely_colour("WHBU")
        ('GN', 'WH/BU', 'WH/BU')
    """
    pieces = [piece.strip().upper() for piece in text.replace("-", "/").split("/") if piece.strip()]
    if len(pieces) == 1 and len(pieces[0]) == 4 and all(half in COLOURS for half in (pieces[0][:2], pieces[0][2:])):
        pieces = [pieces[0][:2], pieces[0][2:]]
    codes = [_likely_code(piece) for piece in pieces[:2]]
    if not codes or not all(codes):
        return ""
    return "/".join(dict.fromkeys(codes))


def _likely_code(piece: str) -> str:
    """The code most like one piece of a colour."""
    if piece in COLOURS:
        return piece
    by_word = _codes_by_word()
    known = by_word.get(piece) or _EVERYDAY.get(piece)
    if known:
        return known
    word = nearest(piece, by_word)
    return by_word[word] if word else nearest(piece, COLOURS)


def _codes_by_word() -> dict[str, str]:
    """The colours in words, in capitals -> their codes."""
    return {name.upper(): code for code, name in COLOURS.items()}
