"""How are programmes held side by side as a drawing: time in each gear as ruled bars, engine speeds as steps?

One band a programme on one drive: its bar is parted by ink ticks, each part with its gear's number in it; beneath it
the share of the time at each 500 1/min. No colours: a part too narrow for its number has none; the table has its share.
"""

from __future__ import annotations

from collections.abc import Sequence

from loomwright.gearbox.judged import RPM_BIN, Judged, run_words
from loomwright.writers.chart_ink import INK, RULE, SOFT, chart_svg, chart_text

__all__ = ["drives_chart"]

_WIDE, _LEFT, _RIGHT = 760.0, 150.0, 90.0
_TOP, _BAND, _BAR, _STEPS_HIGH, _HEADING = 40.0, 78.0, 20.0, 34.0, 26.0
_LEAST_PART = 0.035
_MOST_FRAC = 0.5


def drives_chart(drives: Sequence[Judged]) -> str:
    """Programmes side by side, drive by drive."""
    runs = tuple(dict.fromkeys(one.run for one in drives))
    top_rpm = RPM_BIN * max((len(one.rpm_frac) for one in drives), default=1)
    pieces = [
        chart_text(4.0, 16.0, "time in each gear; beneath it the time at each engine speed", anchor="start", ink=SOFT),
        chart_text(_WIDE - 4.0, 16.0, "changes", anchor="end", ink=SOFT),
    ]
    y = _TOP
    for run in runs:
        pieces.append(chart_text(4.0, y + 10.0, run_words(run), anchor="start"))
        y += _HEADING
        for one in (one for one in drives if one.run == run):
            pieces += _band(one, y, top_rpm)
            y += _BAND
        pieces += _marks(y - 12.0, top_rpm)
        y += _HEADING
    return chart_svg(pieces, "Programmes side by side", wide=_WIDE, high=y)


def _band(one: Judged, y: float, top_rpm: int) -> list[str]:
    across = _WIDE - _LEFT - _RIGHT
    pieces = [
        chart_text(_LEFT - 10.0, y + 14.0, one.programme, anchor="end"),
        f'<rect x="{_LEFT}" y="{y:.1f}" width="{across}" height="{_BAR}" fill="none" stroke="{INK}"/>',
        chart_text(_WIDE - 4.0, y + 14.0, f"{one.changes}, {one.undone} undone", anchor="end"),
    ]
    x = _LEFT
    for gear, share in enumerate(one.gear_frac, start=1):
        if share > _LEAST_PART:
            pieces.append(chart_text(x + 0.5 * share * across, y + 14.0, str(gear), anchor="middle"))
        x += share * across
        if share > 0.0 and x < _LEFT + across - 1.0:
            pieces.append(f'<path d="M{x:.1f} {y:.1f}v{_BAR}" stroke="{INK}"/>')
    foot = y + _BAR + _STEPS_HIGH
    wide = across * RPM_BIN / top_rpm
    path = f"M{_LEFT} {foot:.1f}"
    for share in one.rpm_frac:
        path += f"V{foot - _STEPS_HIGH * min(1.0, share / _MOST_FRAC):.1f}h{wide:.1f}"
    pieces.append(f'<path d="{path}V{foot:.1f}" fill="none" stroke="{SOFT}"/>')
    pieces.append(f'<path d="M{_LEFT} {foot:.1f}h{across}" stroke="{RULE}"/>')
    return pieces


def _marks(y: float, top_rpm: int) -> list[str]:
    across = _WIDE - _LEFT - _RIGHT
    pieces = [chart_text(_WIDE - _RIGHT + 8.0, y, "1/min", anchor="start", ink=SOFT)]
    for rpm in range(0, top_rpm + 1, 2 * RPM_BIN):
        pieces.append(chart_text(_LEFT + across * rpm / top_rpm, y, str(rpm), anchor="middle", ink=SOFT))
    return pieces
