"""How are readings of a timing light drawn: what was seen less what was commanded, over speed, with the line through?

A dot is a reading that counts, a cross one that was set apart, with its number. The whole line is the fit, the broken
ones the band it may lie in; the two ruled lines are a degree early and a degree late. The fit lies within the marks
from nothing to the last speed; a band that widens beyond them ends where it leaves the drawing.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from loomwright.startup.timing import Timing, TimingReading
from loomwright.startup.timing_band import timing_band
from loomwright.writers.chart_ink import INK, RULE, SOFT, chart_svg, chart_text, round_marks

__all__ = ["timing_chart"]

_WIDE, _HIGH = 760.0, 400.0
_LEFT, _TOP, _RIGHT, _FOOT = 52.0, 34.0, 24.0, 46.0
_STEPS = 24


@dataclass(frozen=True, slots=True, kw_only=True)
class _Field:
    """What is drawn on. across, up: the marks of speed and of degrees. [rpm], [deg]"""

    across: Sequence[float]
    up: Sequence[float]

    def at(self, rpm: float, deg: float) -> tuple[float, float]:
        """Where a reading lies on the drawing; one beyond the marks lies at the edge. [-]"""
        held = max(self.up[0], min(self.up[-1], deg))
        return (
            _LEFT + (_WIDE - _LEFT - _RIGHT) * rpm / self.across[-1],
            _HIGH - _FOOT - (_HIGH - _FOOT - _TOP) * (held - self.up[0]) / (self.up[-1] - self.up[0]),
        )


def timing_chart(readings: Sequence[TimingReading], found: Timing, numbers: Sequence[int] = ()) -> str:
    """The readings and their line as SVG; one set apart that lies far off stands at the edge with its figure.

    Args:
        readings: all of them.
        found: what they say.
        numbers: of the readings, where they are not counted from 1. [-]
    """
    off = [one.seen_deg - one.commanded_deg for one in readings]
    gone = {one.number for one in found.apart}
    kept = [each for number, each in enumerate(off, start=1) if number not in gone] or off
    shown = [max(min(*kept, -1.5), min(max(*kept, 1.5), each)) for each in off]
    across = round_marks(0.0, max(one.rpm for one in readings), 6)
    speeds = [across[-1] * n / _STEPS for n in range(_STEPS + 1)]
    band = timing_band(readings, found, speeds)
    line = [mid for mid, _ in band] or [0.0]
    field = _Field(across=across, up=round_marks(min(*shown, *line, -1.5), max(*shown, *line, 1.5), 6))
    pieces = [*_ruled(field), *_band_drawn(field, speeds, band)]
    for number, (one, seen, held) in enumerate(zip(readings, off, shown, strict=True), start=1):
        x, y = field.at(one.rpm, held)
        if number not in gone:
            pieces.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4" fill="{INK}"/>')
            continue
        pieces.append(f'<path d="M{x - 4:.1f} {y - 4:.1f}l8 8m0 -8l-8 8" stroke="{INK}" stroke-width="1.5"/>')
        name = numbers[number - 1] if numbers else number
        word = f"{name}" if seen == held else f"{name}: {seen:+.0f}°"
        pieces.append(chart_text(x + 8.0, y + 4.0 if y > _TOP + 8.0 else y + 14.0, word, anchor="start"))
    return chart_svg(pieces, "Readings of the timing light, seen less commanded, over speed", wide=_WIDE, high=_HIGH)


def _ruled(field: _Field) -> Iterator[str]:
    """The marks of both sides, the lines a degree early and late, and what they are."""
    for mark in field.up:
        y = field.at(0.0, mark)[1]
        yield f'<path d="M{_LEFT} {y:.1f}H{_WIDE - _RIGHT}" stroke="{INK if mark == 0.0 else RULE}"/>'
        yield chart_text(_LEFT - 6.0, y + 4.0, f"{mark:+g}" if mark else "0", anchor="end")
    for edge, word in ((1.0, "1° early"), (-1.0, "1° late")):
        y = field.at(0.0, edge)[1]
        yield f'<path d="M{_LEFT} {y:.1f}H{_WIDE - _RIGHT}" stroke="{SOFT}" stroke-dasharray="1.5 4"/>'
        yield chart_text(_LEFT + 4.0, y - 4.0 if edge > 0.0 else y + 14.0, word, anchor="start", ink=SOFT)
    for mark in field.across:
        x = field.at(mark, field.up[0])[0]
        yield f'<path d="M{x:.1f} {_HIGH - _FOOT}v4" stroke="{INK}"/>'
        yield chart_text(x, _HIGH - _FOOT + 17.0, f"{mark:g}", anchor="middle")
    yield f'<path d="M{_LEFT} {_HIGH - _FOOT}H{_WIDE - _RIGHT}" stroke="{INK}"/>'
    yield chart_text(_WIDE - _RIGHT, _HIGH - 8.0, "engine speed, 1/min", anchor="end", ink=SOFT)
    yield chart_text(4.0, 16.0, "seen less commanded, °; upwards is early", anchor="start", ink=SOFT)


def _band_drawn(field: _Field, speeds: Sequence[float], band: Sequence[tuple[float, float]]) -> Iterator[str]:
    """The fitted line and, broken, both sides of where it may lie; nothing where there is no fit."""
    if not band:
        return
    for side, width, dash in ((0.0, "1.5", ""), (1.0, "1", "7 4"), (-1.0, "1", "7 4")):
        drawn = [(rpm, mid + side * half) for rpm, (mid, half) in zip(speeds, band, strict=True)]
        broken = f' stroke-dasharray="{dash}"' if dash else ""
        for stretch in _stretches(drawn, field.up[0], field.up[-1]):
            path = " ".join(f"{x:.1f},{y:.1f}" for x, y in (field.at(*each) for each in stretch))
            yield f'<polyline points="{path}" fill="none" stroke="{INK}" stroke-width="{width}"{broken}/>'


def _stretches(points: Sequence[tuple[float, float]], least: float, most: float) -> list[list[tuple[float, float]]]:
    """What of a line lies between two heights, cut exactly where it leaves them."""
    found: list[list[tuple[float, float]]] = [[]]
    for one, other in pairwise(points):
        (x0, y0), (x1, y1) = one, other
        rise = y1 - y0
        if rise == 0.0:
            begin, end = (0.0, 1.0) if least <= y0 <= most else (1.0, 0.0)
        else:
            ends = sorted(((least - y0) / rise, (most - y0) / rise))
            begin, end = max(ends[0], 0.0), min(ends[1], 1.0)
        if begin >= end:
            continue
        first, last = ((x0 + part * (x1 - x0), y0 + part * rise) for part in (begin, end))
        if begin > 0.0 or not found[-1]:
            found.append([first])
        found[-1].append(last)
        if end < 1.0:
            found.append([])
    return [stretch for stretch in found if stretch]
