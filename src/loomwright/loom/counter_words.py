"""As what is a part bought, and what does the stock sheet say it costs?

A part is told as at the counter: its kind and the settings that tell it from others of that kind; a fuse by family,
rating and colour. Its price is that of the stock row whose item has the same words; failing that, of the row whose item
is the words up to the first comma: `relay` prices every relay that has no row of its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from loomwright.job.rows import Part, StockRow
from loomwright.quantities import unit_word
from loomwright.tables.fuses import colour_of
from loomwright.tables.kinds import Kind

__all__ = ["counter_words", "kind_words", "piece_prices", "price_of", "settings_words"]

_NOT_BOUGHT = ("variable", "closes_when", "live_when", "bolted_to", "box", "way", "on", "drops_in_start")
"""Settings that say how a part is used in this car, not which one it is."""
_UNIT_SAYS = ("ohm", "watt", "volt", "amps")
"""Settings whose unit says what they are."""


def counter_words(part: Part, kinds: Mapping[str, Kind]) -> str:
    """What is asked for at the counter."""
    if part.kind == "fuse":
        family = part.settings.get("family", "blade_c")
        rating = part.settings.get("rating_a", "")
        colour = colour_of(float(rating)) if rating and family.startswith("blade") and _is_figure(rating) else None
        pieces = (f"fuse {family.replace('_', ' ')}", f"{rating} A" if rating else "rating open", colour or "")
        return ", ".join(piece for piece in pieces if piece)
    what = settings_words(part, kinds)
    return kind_words(part, kinds) + (f", {what}" if what else "")


def kind_words(part: Part, kinds: Mapping[str, Kind]) -> str:
    """Its kind in words, as far as it is known."""
    return kinds[part.kind].title if part.kind in kinds else part.kind


def settings_words(part: Part, kinds: Mapping[str, Kind]) -> str:
    """The settings that tell it from others of its kind."""
    units = {one.name: one.unit for one in kinds[part.kind].settings} if part.kind in kinds else {}
    told = []
    for name, text in part.settings.items():
        if name in _NOT_BOUGHT or not text:
            continue
        word = unit_word(units[name]) if units.get(name) else ""
        told.append(" ".join(piece for piece in (_plain(name), text.replace("_", " "), word) if piece))
    return ", ".join(told)


def piece_prices(stock: Iterable[StockRow]) -> Mapping[str, float]:
    """The prices of what is sold by the piece, by the words of the item, small letters."""
    return {_small(row.item): row.price for row in stock if row.size_mm2 is None and row.price is not None}


def price_of(item: str, prices: Mapping[str, float]) -> float | None:
    """The price of a piece; None where the stock has none.

    Args:
        item: as it is asked for at the counter.
        prices: those of the stock (`piece_prices`).
    Example:
        >>> price_of("relay, coil 85 ohm", {"relay": 4.8})
        4.8
    """
    return prices.get(_small(item), prices.get(_small(item.partition(",")[0])))


def _plain(name: str) -> str:
    """A setting as people say it, the unit at its end taken off."""
    if name in _UNIT_SAYS:
        return ""
    stem, _, ending = name.rpartition("_")
    bare = stem if stem and ending in ("a", "v", "w", "ohm", "mm2", "mm", "ah", "s", "ms", "mh") else name
    return bare.replace("_", " ")


def _is_figure(text: str) -> bool:
    try:
        return float(text) > 0.0
    except ValueError:
        return False


def _small(words: str) -> str:
    return " ".join(words.lower().split())
