"""How does a table of starting numbers leave the tool: as CSV for the controller, as lines on paper for the eye?

A grid is drawn as one line a column over its rows, the column's figure at its end; a list of several columns
as one small drawing a column. A blank cell breaks the line. Breakpoints are dots: between them lies nothing but a
straight line, here as in the controller.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence

from loomwright.calibration.start_records import HEADINGS, StartTable
from loomwright.writers.chart_ink import INK, RULE, SOFT, chart_svg, chart_text, round_marks

__all__ = ["table_chart", "table_csv", "table_texts"]

_WIDE = 760.0
_HIGH, _LOW = 400.0, 240.0
_LEFT, _TOP, _RIGHT, _FOOT = 52.0, 30.0, 64.0, 44.0
_APART = 14.0
_DASHES = ("", "8 3", "2 3")

Points = list[tuple[float, float]]


def table_texts(table: StartTable) -> tuple[tuple[str, ...], ...]:
    """The cells of a table as they are printed, blank where there is none."""
    return tuple(tuple("" if cell is None else f"{cell:g}" for cell in row) for row in table.rows)


def table_csv(table: StartTable) -> str:
    """A table as CSV: its headings, then a row a breakpoint."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(table.columns)
    writer.writerows(table_texts(table))
    return text.getvalue()


def table_chart(table: StartTable) -> str:
    """A table as an SVG of lines."""
    across = HEADINGS.get(table.columns[0], table.columns[0])
    if table.is_grid:
        names = table.columns[1:]
        lines = [(name, _lines(table, n)) for n, name in enumerate(names, start=1)]
        box = (_LEFT, _TOP, _WIDE - _RIGHT, _HIGH - _FOOT)
        unit = "" if table.unit == "-" else f", {table.unit}"
        pieces = list(_panel(box, lines, across, f"{table.name.replace('_', ' ')}{unit}", has_words=True))
        return chart_svg(pieces, f"{table.name}: {table.says}", wide=_WIDE, high=_HIGH)
    count = len(table.columns) - 1
    side = 1 if count == 1 else 2
    width = _WIDE / side
    pieces = []
    for n, name in enumerate(table.columns[1:], start=1):
        left, top = width * ((n - 1) % side), _LOW * ((n - 1) // side)
        box = (left + _LEFT, top + _TOP, left + width - 24.0, top + _LOW - _FOOT)
        pieces += _panel(box, [(name, _lines(table, n))], across, HEADINGS.get(name, name), has_words=False)
    return chart_svg(pieces, f"{table.name}: {table.says}", wide=_WIDE, high=_LOW * -(-count // side))


def _lines(table: StartTable, column: int) -> list[Points]:
    """The stretches of a column that have no blank in them."""
    stretches: list[Points] = [[]]
    for row in table.rows:
        x, y = row[0], row[column]
        if x is None or y is None:
            stretches.append([])
        else:
            stretches[-1].append((x, y))
    return [points for points in stretches if points]


def _panel(
    box: tuple[float, float, float, float],
    lines: Sequence[tuple[str, list[Points]]],
    across: str,
    up: str,
    *,
    has_words: bool,
) -> Iterator[str]:
    left, top, right, foot = box
    points = [point for _, stretches in lines for stretch in stretches for point in stretch]
    if not points:
        yield chart_text((left + right) / 2.0, (top + foot) / 2.0, "nothing to draw", anchor="middle")
        return
    across_marks = round_marks(min(x for x, _ in points), max(x for x, _ in points), 6)
    up_marks = round_marks(min(y for _, y in points), max(y for _, y in points))

    def at(x: float, y: float) -> tuple[float, float]:
        shares = (
            (x - across_marks[0]) / (across_marks[-1] - across_marks[0]),
            (y - up_marks[0]) / (up_marks[-1] - up_marks[0]),
        )
        return left + (right - left) * shares[0], foot - (foot - top) * shares[1]

    for mark in up_marks:
        y = at(across_marks[0], mark)[1]
        yield f'<path d="M{left:.1f} {y:.1f}H{right:.1f}" stroke="{RULE}"/>'
        yield chart_text(left - 6.0, y + 4.0, f"{mark:g}", anchor="end")
    yield f'<path d="M{left:.1f} {foot:.1f}H{right:.1f}" stroke="{INK}"/>'
    for mark in across_marks:
        x = at(mark, up_marks[0])[0]
        yield f'<path d="M{x:.1f} {foot:.1f}v4" stroke="{INK}"/>'
        yield chart_text(x, foot + 17.0, f"{mark:g}", anchor="middle")
    yield chart_text(right, foot + 34.0, across, anchor="end", ink=SOFT)
    yield chart_text(left - 46.0 if left > _LEFT else 4.0, top - 14.0, up, anchor="start", ink=SOFT)
    ends = []
    for n, (name, stretches) in enumerate(lines):
        dash = f' stroke-dasharray="{_DASHES[n % 3]}"' if has_words and n % 3 else ""
        for stretch in stretches:
            drawn = [at(*point) for point in stretch]
            path = " ".join(f"{x:.1f},{y:.1f}" for x, y in drawn)
            yield f'<polyline points="{path}" fill="none" stroke="{INK}" stroke-width="1.5"{dash}/>'
            yield from (f'<circle cx="{x:.1f}" cy="{y:.1f}" r="2" fill="{INK}"/>' for x, y in drawn)
        if stretches:
            ends.append((*at(*stretches[-1][-1]), name))
    if has_words:
        yield from _words_at(ends)


def _words_at(ends: Sequence[tuple[float, float, str]]) -> Iterator[str]:
    """Words at the right ends of lines, moved apart where they would lie on each other."""
    ordered = sorted(ends, key=lambda one: one[1])
    spots = [y for _, y, _ in ordered]
    for n in range(1, len(spots)):
        spots[n] = max(spots[n], spots[n - 1] + _APART)
    over = (spots[-1] - (ordered[-1][1] + _APART * len(spots) / 2.0)) if spots else 0.0
    lift = max(over, 0.0)
    for (x, y, word), spot in zip(ordered, spots, strict=True):
        yield f'<path d="M{x + 3.0:.1f} {y:.1f}L{x + 14.0:.1f} {spot - lift:.1f}" stroke="{RULE}"/>'
        yield chart_text(x + 17.0, spot - lift + 4.0, word, anchor="start")
