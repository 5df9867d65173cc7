"""What are charts drawn with: ink, rules, words, and round figures along an axis?"""

from __future__ import annotations

from collections.abc import Iterable
from math import ceil, floor, log10

__all__ = ["INK", "RULE", "SOFT", "chart_svg", "chart_text", "escaped", "round_marks"]

INK, SOFT, RULE = "#1d1f21", "#5b5d5a", "#d9d3c4"
"""Lines and figures; words beside them; lines that only part."""
_PAPER = "#fffdf8"
_FONT = 'font-family="sans-serif" font-size="12"'
_STEPS = (1.0, 2.0, 2.5, 5.0, 10.0)


def round_marks(least: float, most: float, about: int = 5) -> tuple[float, ...]:
    """Round figures that hold a span between them, about so many.

    Args:
        least, most: the ends of what is drawn. [-]
        about: how many steps are wanted. [-]
    Example:
        >>> round_marks(0.78, 3.1), round_marks(500, 6000), round_marks(5, 5, 2)
        ((0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 3.5), (0.0, 2000.0, 4000.0, 6000.0), (4.0, 5.0, 6.0))
    """
    if most <= least:
        least, most = least - 1.0, most + 1.0
    rough = (most - least) / about
    power = 10.0 ** floor(log10(rough))
    step = next(one * power for one in _STEPS if one * power >= rough * (1.0 - 1e-9))
    first, last = floor(least / step + 1e-9), ceil(most / step - 1e-9)
    return tuple(round(n * step, 12) for n in range(first, last + 1))


def chart_text(x: float, y: float, word: str, *, anchor: str, ink: str = INK) -> str:
    """A word at a place of the drawing.

    Args:
        x: to the right. [-]
        y: down. [-]
        anchor: start, middle or end of it lies there.
    """
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="{ink}" {_FONT}>{escaped(word)}</text>'


def chart_svg(pieces: Iterable[str], title: str, *, wide: float, high: float) -> str:
    """A whole drawing on paper, in its own units.

    Args:
        wide: across. [-]
        high: down. [-]
    """
    name = escaped(title)
    head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide:g} {high:g}" role="img" aria-label="{name}">'
    paper = f'<rect width="{wide:g}" height="{high:g}" fill="{_PAPER}"/>'
    return "\n".join((head, f"<title>{name}</title>", paper, *pieces, "</svg>")) + "\n"


def escaped(text: str) -> str:
    """Words as they may stand in a drawing."""
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;").replace('"', "&quot;")
