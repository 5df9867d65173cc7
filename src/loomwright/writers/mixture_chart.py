"""How is the mixture of a drive drawn as SVG: a figure a cell, how often it was driven, how sure it is; and contours?

No field is coloured. A cell holds what its fuel wants in per cent, over a whisker from least to most of its interval
on a scale of 10 % either way with no change in its middle, over a bar as long as it was visited. Contours of the
proposed change run between cells that were driven, and stop where nothing is known.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from loomwright.logs.cells import Cell
from loomwright.logs.judged import Mixture

__all__ = ["cells_chart", "contour_chart", "contours", "has_contours"]

_LEFT, _TOP, _FOOT, _RIGHT = 60.0, 20.0, 48.0, 12.0
_COLUMN, _ROW = 64.0, 46.0
_REACH = 0.10
_MOST_VISITS = 12
_INK, _SOFT, _RULE, _PAPER = "#1d1f21", "#5b5d5a", "#d9d3c4", "#fffdf8"
_FONT = 'font-family="Source Sans 3, sans-serif"'
_CONTOUR_STEP = 0.02
_LEVELS = 10
Line = tuple[tuple[float, float], tuple[float, float]]


def cells_chart(mixture: Mixture) -> str:
    """Every cell that was driven, as figures; loads upwards, engine speed to the right."""
    rpm, load = _marks(mixture.cells)
    pieces = _frame(rpm, load)
    for number, cell in enumerate(mixture.cells):
        row, column = divmod(number, len(rpm))
        if cell.visits:
            pieces += _cell(cell, _LEFT + column * _COLUMN, _TOP + (len(load) - 1 - row) * _ROW)
    return _svg(pieces, rpm, load, "What the fuel wants, cell by cell, in per cent")


def has_contours(mixture: Mixture) -> bool:
    """Whether any four neighbouring cells are all known, so that a contour can run between them."""
    rows = _heights(mixture)
    return any(
        all(rows[j + up][i + right] is not None for up in (0, 1) for right in (0, 1))
        for j in range(len(rows) - 1)
        for i in range(len(rows[j]) - 1)
    )


def contour_chart(mixture: Mixture) -> str:
    """The proposed change as contours, two per cent apart, between cells that were driven."""
    rpm, load = _marks(mixture.cells)
    rows = _heights(mixture)
    pieces = _frame(rpm, load)

    def at(column: float, row: float) -> tuple[float, float]:
        return _LEFT + (column + 0.5) * _COLUMN, _TOP + (len(load) - 0.5 - row) * _ROW

    for j, line in enumerate(rows):
        for i, one in enumerate(line):
            if one is not None:
                x, y = at(float(i), float(j))
                pieces.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="1.6" fill="{_SOFT}"/>')
    for step in range(-_LEVELS, _LEVELS + 1):
        level = step * _CONTOUR_STEP
        lines = contours(rows, level + 1e-9)
        dash = ' stroke-dasharray="5 4"' if step < 0 else ""
        width = 2.0 if step == 0 else 1.2
        for (a, b), (c, d) in lines:
            (x1, y1), (x2, y2) = at(a, b), at(c, d)
            line_d = f"M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}"
            pieces.append(f'<path d="{line_d}" stroke="{_INK}" stroke-width="{width}" fill="none"{dash}/>')
        if lines:
            (a, b), _ = lines[len(lines) // 2]
            x, y = at(a, b)
            pieces.append(f'<rect x="{x - 15:.1f}" y="{y - 8:.1f}" width="30" height="16" fill="{_PAPER}"/>')
            pieces.append(_text(x, y + 4.5, f"{100.0 * level:+.0f} %", anchor="middle", size=12))
    return _svg(pieces, rpm, load, "Proposed change of the fuel, contours two per cent apart")


def contours(rows: Sequence[Sequence[float | None]], level: float) -> list[Line]:
    """Straight pieces of the line along which a surface has one height, from (column, row) to (column, row).

    Squares with an unknown corner hold no piece.

    Args:
        rows: heights at the crossings of columns and rows; None where none is known. [-]
        level: the height. [-]
    Example:
        >>> contours([[0.0, 1.0], [0.0, 1.0]], 0.5)
        [((0.5, 0.0), (0.5, 1.0))]
    """
    found: list[Line] = []
    for j in range(len(rows) - 1):
        for i in range(len(rows[j]) - 1):
            corners = ((i, j), (i + 1, j), (i + 1, j + 1), (i, j + 1))
            heights = [rows[y][x] for x, y in corners]
            crossed = []
            for k in range(4):
                a, b = heights[k], heights[(k + 1) % 4]
                if a is None or b is None or any(one is None for one in heights):
                    continue
                if (a < level) != (b < level):
                    share = (level - a) / (b - a)
                    (x1, y1), (x2, y2) = corners[k], corners[(k + 1) % 4]
                    crossed.append((x1 + share * (x2 - x1), y1 + share * (y2 - y1)))
            pairs = zip(crossed[::2], crossed[1::2], strict=False)
            found += [(min(a, b), max(a, b)) for a, b in pairs]
    return found


def _cell(cell: Cell, x: float, y: float) -> Iterable[str]:
    middle = x + _COLUMN / 2.0
    if cell.factor is None or cell.low is None or cell.high is None:
        yield _text(middle, y + 20.0, "thin", anchor="middle", ink=_SOFT, size=12)
    else:
        heavy = ' font-weight="600"' if cell.is_clear else ""
        yield _text(middle, y + 16.0, f"{100.0 * (cell.factor - 1.0):+.1f}", anchor="middle", size=14, more=heavy)
        scale = (_COLUMN / 2.0 - 6.0) / _REACH
        left, here, right = (
            middle + scale * max(-_REACH, min(_REACH, one - 1.0)) for one in (cell.low, cell.factor, cell.high)
        )
        yield f'<path d="M{middle:.1f} {y + 22:.1f}v12" stroke="{_RULE}" stroke-width="1.2"/>'
        ends = f"M{left:.1f} {y + 25:.1f}v6M{left:.1f} {y + 28:.1f}H{right:.1f}M{right:.1f} {y + 25:.1f}v6"
        yield f'<path d="{ends}" stroke="{_INK}" fill="none"/>'
        yield f'<circle cx="{here:.1f}" cy="{y + 28:.1f}" r="2.4" fill="{_INK}"/>'
    length = (_COLUMN - 12.0) * min(cell.visits, _MOST_VISITS) / _MOST_VISITS
    yield f'<rect x="{x + 6:.1f}" y="{y + 38:.1f}" width="{length:.1f}" height="3" fill="{_SOFT}"/>'


def _heights(mixture: Mixture) -> list[list[float | None]]:
    """The proposed change of every cell, a row a load; None where nothing is known."""
    width = len(_marks(mixture.cells)[0])
    known = [
        one.factor - 1.0 if cell.factor is not None else None
        for cell, one in zip(mixture.cells, mixture.proposal, strict=True)
    ]
    return [known[k : k + width] for k in range(0, len(known), width)]


def _marks(cells: Sequence[Cell]) -> tuple[list[float], list[float]]:
    """Engine speeds and loads, as far as the table goes."""
    return list(dict.fromkeys(cell.rpm for cell in cells)), list(dict.fromkeys(cell.load for cell in cells))


def _frame(rpm: Sequence[float], load: Sequence[float]) -> list[str]:
    foot = _TOP + len(load) * _ROW
    right = _LEFT + len(rpm) * _COLUMN
    pieces = []
    for place, one in enumerate(load):
        y = _TOP + (len(load) - place) * _ROW
        pieces.append(f'<path d="M{_LEFT} {y:g}H{right:g}" stroke="{_RULE}" stroke-width="0.7"/>')
        pieces.append(_text(_LEFT - 6.0, y - _ROW / 2.0 + 4.0, f"{one:g}", anchor="end", ink=_SOFT))
    for place, one in enumerate(rpm):
        pieces.append(_text(_LEFT + (place + 0.5) * _COLUMN, foot + 17.0, f"{one:g}", anchor="middle", ink=_SOFT))
    pieces.append(_text(right, foot + 38.0, "engine speed, 1/min", anchor="end", ink=_SOFT))
    pieces.append(_text(4.0, 14.0, "load, kPa", anchor="start", ink=_SOFT))
    return pieces


def _text(x: float, y: float, word: str, *, anchor: str, ink: str = _INK, size: int = 13, more: str = "") -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="{ink}" {_FONT} font-size="{size}"{more}>'
        f"{word}</text>"
    )


def _svg(pieces: Iterable[str], rpm: Sequence[float], load: Sequence[float], title: str) -> str:
    wide, high = _LEFT + len(rpm) * _COLUMN + _RIGHT, _TOP + len(load) * _ROW + _FOOT
    head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide:g} {high:g}" role="img" aria-label="{title}">'
    ground = f'<rect width="{wide:g}" height="{high:g}" fill="{_PAPER}"/>'
    return "\n".join((head, f"<title>{title}</title>", ground, *pieces, "</svg>")) + "\n"
