"""How much room do words take on the page?

Every letter has its width in `tables/symbols/letters.toml`, read off the fonts that the papers are set with; a letter
that is not there counts as wide as its size, so that room is never too small. Pairs that the fonts pull together are
not: what is measured is the most a line can take.

    width = size * sum(letter widths) / 1000
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache
from types import MappingProxyType
from typing import cast

from loomwright.drawings.symbols.items import Font, Text
from loomwright.tables.load import read_toml

__all__ = ["ABOVE", "BELOW", "text_box", "text_mm", "wrapped"]

ABOVE = 0.74
"""How far letters reach above the line of writing, in shares of their size. [-]"""

BELOW = 0.22
"""How far letters reach below it. [-]"""

_FIGURE = 0.6
_WIDEST = 1.0


def text_mm(text: str, *, size_mm: float, font: Font = "words", strong: bool = False) -> float:
    """How long a line of words is, at most. [mm]

    Args:
        size_mm: size of the letters. [mm]
    Example:
        >>> round(text_mm("W104", size_mm=2.0, font="figures"), 2)
        4.8
    """
    if font == "figures" and text.isascii():
        return size_mm * _FIGURE * len(text)
    if font == "figures":
        return size_mm * sum(_FIGURE if letter < "\u2500" else _WIDEST for letter in text)
    wide = _widths(strong).get
    return size_mm * sum([wide(letter, _WIDEST) for letter in text])


def wrapped(
    text: str, *, most_mm: float, size_mm: float, font: Font = "words", strong: bool = False
) -> tuple[str, ...]:
    """The words in lines of at most that length; a word that is longer alone is parted where it must be.

    Args:
        most_mm: how long a line may be. [mm]
        size_mm: size of the letters. [mm]
    Example:
        >>> wrapped("left front indicator", most_mm=12.0, size_mm=2.0)
        ('left front', 'indicator')
    """
    lines: list[str] = []
    for word in _pieces(text.split(), most_mm, size_mm, font, strong):
        joined = f"{lines[-1]} {word}" if lines else word
        if lines and text_mm(joined, size_mm=size_mm, font=font, strong=strong) <= most_mm:
            lines[-1] = joined
        else:
            lines.append(word)
    return tuple(lines)


def text_box(text: Text) -> tuple[float, float, float, float]:
    """The room a text takes: left, top, right, bottom. [mm]"""
    long_mm = text_mm(text.text, size_mm=text.size_mm, font=text.font, strong=text.strong)
    left = text.x_mm - {"start": 0.0, "middle": long_mm / 2, "end": long_mm}[text.anchor]
    return (left, text.y_mm - ABOVE * text.size_mm, left + long_mm, text.y_mm + BELOW * text.size_mm)


def _pieces(words: Iterable[str], most_mm: float, size_mm: float, font: Font, strong: bool) -> Iterable[str]:
    for word in words:
        rest = word
        while len(rest) > 1 and text_mm(rest, size_mm=size_mm, font=font, strong=strong) > most_mm:
            fits = 1
            while text_mm(rest[: fits + 1], size_mm=size_mm, font=font, strong=strong) <= most_mm:
                fits += 1
            yield rest[:fits]
            rest = rest[fits:]
        yield rest


@cache
def _widths(strong: bool) -> Mapping[str, float]:
    table = cast(Mapping[str, str], read_toml("symbols", "letters")["strong" if strong else "plain"])
    return MappingProxyType({letter: int(width) / 1000.0 for width, group in table.items() for letter in group})
