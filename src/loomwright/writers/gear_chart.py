"""How are gear-change lines, and where they hunt, drawn as SVG: ink lines, words at their ends, no coloured fields?

Road speed runs to the right, pedal upwards. Up is a whole line, down a broken one, lock-up a dotted one; each ends in
its own words, moved apart where they would lie on each other. Where it hunts is a field of small crosses.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from loomwright.gearbox.hunting import GRADES_FRAC, Hunting
from loomwright.gearbox.line_record import Lines, named_lines
from loomwright.gearbox.road_log import RoadChange
from loomwright.writers.chart_ink import INK, RULE, SOFT, chart_svg, chart_text

__all__ = ["hunting_chart", "lines_chart"]

_WIDE, _HIGH = 760.0, 420.0
_LEFT, _TOP, _RIGHT, _FOOT = 56.0, 56.0, 24.0, 44.0
_WORD_APART = 48.0
_ROW = 13.0
_PERCENT = 100.0
_STEP_KMH = 20.0
_DASHES = {
    "up": "",
    "down": ' stroke-dasharray="7 4"',
    "lock": ' stroke-dasharray="1.5 4" stroke-linecap="round"',
}


def lines_chart(lines: Lines, road: Sequence[RoadChange] = ()) -> str:
    """The lines of a programme as SVG.

    Args:
        road: changes of a recorded drive: a plus for each up, a cross for each down.
    """
    tables = (*lines.up_kmh, *lines.down_kmh, *(line for line in lines.lock_kmh if line[-1] > 0.0))
    most = _STEP_KMH * (int(max(max(line) for line in tables) / _STEP_KMH) + 1)
    words: list[tuple[float, str]] = []
    pieces = _axes(most, "road speed, km/h", [(f"{step}", step / _PERCENT) for step in range(0, 101, 20)], "pedal, %")
    for name, kind, _, line in named_lines(lines):
        if kind not in _DASHES or line[-1] <= 0.0:
            continue
        word, dash = name.removeprefix("up ").removeprefix("down "), _DASHES[kind]
        points = " ".join(
            f"{_x(speed, most):.1f},{_y(pedal):.1f}" for pedal, speed in zip(lines.pedal_frac, line, strict=True)
        )
        pieces.append(
            f'<polyline data-line="{name}" points="{points}" fill="none" stroke="{INK}" stroke-width="1.5"{dash}/>'
        )
        words.append((_x(line[-1], most), word))
    pieces += _words_over(words)
    for one in road:
        x, y = _x(min(one.kmh, most), most), _y(one.pedal_frac)
        shape = (
            f'<path d="M{x - 4:.1f} {y:.1f}h8M{x:.1f} {y - 4:.1f}v8"'
            if one.is_up
            else f'<path d="M{x - 3.5:.1f} {y - 3.5:.1f}l7 7M{x - 3.5:.1f} {y + 3.5:.1f}l7 -7"'
        )
        pieces.append(f'{shape} fill="none" stroke="{INK}" stroke-width="1.5"/>')
    if road:
        pieces.append(chart_text(_LEFT, _HIGH - 8.0, "on the road: + up, × down", anchor="start", ink=SOFT))
    drawn = chart_svg(pieces, f"Gear-change lines, programme {lines.programme}", wide=_WIDE, high=_HIGH)
    each = (_WIDE - _LEFT - _RIGHT) / most  # what a page needs that moves a line
    return drawn.replace("<svg ", f'<svg data-left="{_LEFT:g}" data-each="{each:.5f}" ', 1)


def hunting_chart(maps: Hunting, *, programme: str) -> str:
    """Where it hunts, grade upwards: with the speed kept, and beneath it with the pedal kept; the pair beside it."""
    pieces = [
        *_map(maps, maps.by_speed, maps.speeds_kmh, "road speed kept, km/h", is_held=True),
        f'<g transform="translate(0,{_HIGH:g})">',
        *_map(maps, maps.by_pedal, [_PERCENT * one for one in maps.pedals_frac], "pedal kept, %", is_held=False),
        "</g>",
    ]
    return chart_svg(pieces, f"Where it hunts, programme {programme}", wide=_WIDE, high=2.0 * _HIGH)


def _map(maps: Hunting, found: NDArray[np.int64], columns: Sequence[float], across: str, *, is_held: bool) -> list[str]:
    most = max(columns)
    top = GRADES_FRAC[-1]
    marks = [(f"{step}", step / _PERCENT / top) for step in range(0, 13, 2)]
    pieces = _axes(most, across, marks, "grade, %")
    for row, grade in enumerate(GRADES_FRAC):
        for column, speed in enumerate(columns):
            if found[row, column]:
                x, y = _x(speed, most), _y(grade / top)
                pieces.append(f'<path d="M{x - 2.5:.1f} {y - 2.5:.1f}l5 5m0 -5l-5 5" stroke="{INK}" stroke-width="1"/>')
    for patch in maps.patches:
        if patch.is_held == is_held:
            x, y = _x(patch.at[0] * (1.0 if is_held else _PERCENT), most), _y(patch.grade_frac[1] / top)
            pieces.append(chart_text(x, y - 6.0, f"{patch.lower}-{patch.lower + 1}", anchor="start"))
    if not found.any():
        pieces.append(chart_text(_WIDE / 2.0, _HIGH / 2.0, "none up to 12 %", anchor="middle"))
    return pieces


def _axes(most: float, across: str, rows: Sequence[tuple[str, float]], up: str) -> list[str]:
    pieces = []
    for word, share in rows:
        y = _y(share)
        pieces.append(f'<path d="M{_LEFT} {y:.1f}H{_WIDE - _RIGHT}" stroke="{RULE}"/>')
        pieces.append(chart_text(_LEFT - 6.0, y + 4.0, word, anchor="end"))
    for step in range(0, int(most) + 1, int(_STEP_KMH)):
        x = _x(float(step), most)
        pieces.append(f'<path d="M{x:.1f} {_HIGH - _FOOT}v4" stroke="{INK}"/>')
        pieces.append(chart_text(x, _HIGH - _FOOT + 17.0, str(step), anchor="middle"))
    pieces.append(f'<path d="M{_LEFT} {_HIGH - _FOOT}H{_WIDE - _RIGHT}" stroke="{INK}"/>')
    pieces.append(chart_text(_WIDE - _RIGHT, _HIGH - 8.0, across, anchor="end", ink=SOFT))
    pieces.append(chart_text(4.0, 16.0, up, anchor="start", ink=SOFT))
    return pieces


def _words_over(words: Iterable[tuple[float, str]]) -> list[str]:
    """Words over the top ends of their lines, in rows so that none lies on another."""
    rows: list[float] = []
    pieces = []
    for x, word in sorted(words):
        row = next((k for k, taken in enumerate(rows) if x - taken >= _WORD_APART), len(rows))
        if row == len(rows):
            rows.append(x)
        rows[row] = x
        y = _TOP - 11.0 - row * _ROW
        if row:
            pieces.append(f'<path d="M{x:.1f} {_TOP - 2.0}V{y + 2.0:.1f}" stroke="{RULE}"/>')
        pieces.append(chart_text(x, y, word, anchor="middle"))
    return pieces


def _x(speed: float, most: float) -> float:
    return _LEFT + (_WIDE - _LEFT - _RIGHT) * speed / most


def _y(share: float) -> float:
    return _HIGH - _FOOT - (_HIGH - _FOOT - _TOP) * share
