"""How is a drawing looked at in a window: how large, and where in it is what somebody looks for?

In: strokes and words in millimetres, how near they are looked at, a word that is looked for. Out: pieces of SVG with a
frame round every hit, and the hits in words. Works without scripts: nearer and looked for stand in the address.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from markupsafe import Markup

from loomwright.drawings.symbols.items import Box, Item, Text
from loomwright.drawings.symbols.letters import text_box
from loomwright.refusals import OutOfReach
from loomwright.writers.svg import svg_pieces

__all__ = ["NEARNESS", "DrawnView", "Nearer", "drawn_view", "known_near", "looked_for", "nearer_links"]

_TRUE_PX_A_MM = 96.0 / 25.4
NEARNESS: Mapping[str, tuple[str, float]] = MappingProxyType(
    {
        "whole": ("whole in view", 0.0),
        "true": ("true size", _TRUE_PX_A_MM),
        "read": ("to read", 6.85),
        "near": ("twice as near", 13.7),
        "nearest": ("four times", 27.4),
    }
)
"""How near, as it stands in an address -> in words, and how large. [px/mm]; 0: as wide as the window."""
_ROOM_MM = 0.4


@dataclass(frozen=True, slots=True, kw_only=True)
class Nearer:
    """One way of looking. is_now: it is the one that is shown."""

    word: str
    href: str
    is_now: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnView:
    """A drawing to be placed. wide_px, high_px: its size, 0 where it is as wide as the window. [px]

    box: of its view, in mm.   hits: how often what is looked for stands in it. [-]   label: what it is, for a reader.
    lies: it is wider than high, and so is the paper it is printed on.
    """

    label: str
    wide_px: int
    high_px: int
    box: str
    svg: Markup
    hits: int
    lies: bool


def known_near(word: str) -> str:
    """How near something is looked at; `read` where nothing is said.

    Raises:
        OutOfReach: a word that is none of these.
    """
    if word and word not in NEARNESS:
        raise OutOfReach("near", word, " ".join(NEARNESS))
    return word or "read"


def nearer_links(near: str, hrefs: Mapping[str, str]) -> tuple[Nearer, ...]:
    """The ways of looking, the one that is shown marked.

    Args:
        hrefs: word of `NEARNESS` -> address.
    """
    return tuple(Nearer(word=NEARNESS[word][0], href=href, is_now=word == near) for word, href in hrefs.items())


def looked_for(items: Iterable[Item], word: str) -> tuple[Text, ...]:
    """The words of a drawing that hold what is looked for; none where nothing is.

    Example:
        >>> words = Text(text="W12 1.5 RD", x_mm=1.0, y_mm=5.0, size_mm=2.4)
        >>> len(looked_for([words], "w12")), len(looked_for([words], ""))
        (1, 0)
    """
    asked = word.strip().casefold()
    return tuple(one for one in items if asked and isinstance(one, Text) and asked in one.text.casefold())


def drawn_view(
    items: Sequence[Item], width_mm: float, height_mm: float, *, near: str, find: str = "", label: str = ""
) -> DrawnView:
    """A drawing as it is looked at.

    Args:
        width_mm: of it. [mm]
        height_mm: of it. [mm]
        near: one of `NEARNESS`.
        find: what is looked for in it.
        label: what it is.
    """
    found = looked_for(items, find)
    scale = NEARNESS[near][1]
    frames = [_frame(one) for one in found]
    return DrawnView(
        label=label,
        wide_px=round(width_mm * scale),
        high_px=round(height_mm * scale),
        box=f"0 0 {width_mm:g} {height_mm:g}",
        svg=Markup(svg_pieces([*items, *frames])),
        hits=len(found),
        lies=width_mm > height_mm,
    )


def _frame(text: Text) -> Box:
    left, top, right, bottom = text_box(text)
    return Box(
        x_mm=left - _ROOM_MM,
        y_mm=top - _ROOM_MM,
        width_mm=right - left + 2 * _ROOM_MM,
        height_mm=bottom - top + 2 * _ROOM_MM,
        line_mm=0.5,
        about="found",
    )
