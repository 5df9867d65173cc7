"""How is a recorded drive drawn as SVG: one band a channel under one another, in ink, time to the right?

Each band holds one quantity, or several laid over one another, told apart by their lines: whole, broken, dotted; those
of one unit on one scale, others each on a scale of its own. A mark is a thin line through all bands with its number.
Where nothing was recorded no line is drawn. Beyond what a pixel can show, least and most of each piece are drawn, so
that a spike stays a spike.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import floor, log10

from loomwright.logs.traces import Traces

__all__ = ["PLOT_LEFT_FRAC", "PLOT_RIGHT_FRAC", "Band", "Mark", "chart_size", "drive_chart", "ticks"]

_WIDE = 960.0
_LEFT, _RIGHT, _TOP, _FOOT = 178.0, 16.0, 26.0, 40.0
_BAND, _BETWEEN = 92.0, 14.0
PLOT_LEFT_FRAC, PLOT_RIGHT_FRAC = _LEFT / _WIDE, (_WIDE - _RIGHT) / _WIDE
"""Where across the drawing its first time stands, and its last."""
_INK, _SOFT, _RULE, _PAPER = "#1d1f21", "#5b5d5a", "#d9d3c4", "#fffdf8"
_LINES = ("", ' stroke-dasharray="7 4"', ' stroke-dasharray="1.5 3.5" stroke-linecap="round"')
_FONT = 'font-family="Source Sans 3, sans-serif"'
_LEAST_SPAN = 1e-6
_LETTER = 7.0
"""How wide a figure of a mark's word is drawn. [-]"""
_MOST_WORDS = 4
_GAP_S, _GAP_STEPS = 1.0, 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """One band. names: quantities laid over one another, three at most.   units: quantity -> its unit."""

    names: tuple[str, ...]
    units: Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A thin line through all bands. at_s: where. [s]   word: at its top."""

    at_s: float
    word: str


def drive_chart(traces: Traces, bands: Sequence[Band], marks: Iterable[Mark] = (), *, title: str) -> str:
    """A window of a drive as SVG.

    Args:
        bands: from the top down; quantities that were not recorded are left out.
    """
    held = [tuple(name for name in band.names if name in traces.least)[: len(_LINES)] for band in bands]
    shown = [(band, names) for band, names in zip(bands, held, strict=True) if names]
    high = chart_size(len(shown))[1]
    pieces = [f'<rect width="{_WIDE:g}" height="{high:g}" fill="{_PAPER}"/>', *_times(traces, high)]
    for place, (band, names) in enumerate(shown):
        pieces += _band(traces, band, names, _TOP + place * (_BAND + _BETWEEN))
    inside = [(_x(mark.at_s, traces), mark.word) for mark in marks if traces.from_s <= mark.at_s <= traces.to_s]
    for x, _ in inside:
        pieces.append(f'<path d="M{x:.1f} {_TOP - 8.0}V{high - _FOOT}" stroke="{_INK}" stroke-width="0.8"/>')
    pieces += [_text(x, _TOP - 11.0, words, anchor="middle") for x, words in _together(inside)]
    name = _escaped(title)
    head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDE:g} {high:g}" role="img" aria-label="{name}">'
    return "\n".join((head, f"<title>{name}</title>", *pieces, "</svg>")) + "\n"


def _together(marks: Iterable[tuple[float, str]]) -> list[tuple[float, str]]:
    """Words over marks, those that would lie over one another written as one: the first few of them."""
    held: list[tuple[float, float, list[str]]] = []
    for x, word in sorted(marks):
        if held:
            first, last, words = held[-1]
            if x - (first + last) / 2.0 < _LETTER * (len(_some(words)) + len(word) + 2) / 2.0:
                held[-1] = (first, x, [*words, word])
                continue
        held.append((x, x, [word]))
    return [((first + last) / 2.0, _some(words)) for first, last, words in held]


def _some(words: Sequence[str]) -> str:
    return ", ".join(words[:_MOST_WORDS]) + (" …" if len(words) > _MOST_WORDS else "")


def chart_size(bands: int) -> tuple[int, int]:
    """How wide and how high a drawing of so many bands is, in its own dots.

    Args:
        bands: that are drawn. [-]
    Example:
        >>> chart_size(1)
        (960, 172)
    """
    return round(_WIDE), round(_TOP + bands * (_BAND + _BETWEEN) + _FOOT)


def ticks(least: float, most: float, about: int = 4) -> tuple[float, ...]:
    """Round figures between two, about so many.

    Args:
        least, most: of the scale, in its own unit. [-]
        about: how many. [-]
    Example:
        >>> ticks(0.0, 10.0)
        (0.0, 2.0, 4.0, 6.0, 8.0, 10.0)
    """
    span = max(most - least, _LEAST_SPAN)
    rough = span / about
    size = 10.0 ** floor(log10(rough))
    step = next(size * one for one in (1.0, 2.0, 5.0, 10.0) if size * one >= rough * 0.7)
    first = floor(least / step) + (0 if floor(least / step) * step >= least - span * 1e-9 else 1)
    found = [round(number * step, 9) for number in range(first, first + 4 * about)]
    return tuple(one for one in found if one <= most + span * 1e-9)


def _times(traces: Traces, high: float) -> Iterable[str]:
    foot = high - _FOOT
    for tick in ticks(traces.from_s, traces.to_s, 8):
        x = _x(tick, traces)
        yield f'<path d="M{x:.1f} {_TOP}V{foot:g}" stroke="{_RULE}" stroke-width="0.7"/>'
        yield _text(x, foot + 16.0, _clock(tick), anchor="middle", size=13)
    yield f'<path d="M{_LEFT} {foot:g}H{_WIDE - _RIGHT}" stroke="{_INK}"/>'
    yield _text(_WIDE - _RIGHT, foot + 33.0, "time, min:s", anchor="end", ink=_SOFT)


def _band(traces: Traces, band: Band, names: Sequence[str], top: float) -> Iterable[str]:
    yield f'<path d="M{_LEFT} {top + _BAND:g}H{_WIDE - _RIGHT}" stroke="{_RULE}"/>'
    is_one = len({band.units.get(name, "") for name in names}) == 1
    for place, name in enumerate(names):
        own = [_span(traces, each) for each in (names if is_one else (name,))]
        least, most = min(low for low, _ in own), max(high for _, high in own)
        words = name.replace("_", " ")
        unit = band.units.get(name, "")
        y = top + 14.0 + place * 30.0
        if len(names) > 1:
            yield f'<path d="M4 {y - 4.0:g}h22" stroke="{_INK}" stroke-width="1.3" fill="none"{_LINES[place]}/>'
        yield _text(32.0 if len(names) > 1 else 4.0, y, words, anchor="start", size=14)
        low, high = _span(traces, name)
        range_words = f"{low:.4g} to {high:.4g} {unit if unit != '-' else ''}".strip()
        yield _text(32.0 if len(names) > 1 else 4.0, y + 13.0, range_words, anchor="start", ink=_SOFT, size=12)
        if is_one and place == 0:
            for tick in ticks(least, most, 2):
                where = _y(tick, least, most, top)
                yield f'<path d="M{_LEFT} {where:.1f}H{_WIDE - _RIGHT}" stroke="{_RULE}" stroke-width="0.6"/>'
                yield _text(_LEFT - 5.0, where + 4.0, f"{tick:g}", anchor="end", ink=_SOFT, size=12)
        for points in _runs(traces, name, least, most, top):
            yield (
                f'<polyline points="{points}" fill="none" stroke="{_INK}" stroke-width="1.2" '
                f'stroke-linejoin="round"{_LINES[place]}/>'
            )


def _span(traces: Traces, name: str) -> tuple[float, float]:
    low = [one for one in traces.least[name] if one is not None]
    high = [one for one in traces.most[name] if one is not None]
    if not low:
        return 0.0, 1.0
    least, most = min(low), max(high)
    return (least - 0.5, most + 0.5) if most - least < _LEAST_SPAN else (least, most)


def _runs(traces: Traces, name: str, least: float, most: float, top: float) -> Iterable[str]:
    """The unbroken pieces of one line, as points."""
    run: list[str] = []
    before: float | None = None
    ahead = sorted(after - now for now, after in pairwise(traces.at_s))
    most_s = max(_GAP_S, _GAP_STEPS * ahead[len(ahead) // 2]) if ahead else _GAP_S
    last_s = traces.from_s
    for at_s, low, high in zip(traces.at_s, traces.least[name], traces.most[name], strict=True):
        is_gap, last_s = at_s - last_s > most_s, at_s
        if low is None or high is None or is_gap:
            if len(run) > 1:
                yield " ".join(run)
            run, before = [], None
        if low is None or high is None:
            continue
        ends = (high, low) if before is not None and before > (low + high) / 2.0 else (low, high)
        for end in dict.fromkeys(ends):
            run.append(f"{_x(at_s, traces):.1f},{_y(end, least, most, top):.1f}")
        before = ends[-1]
    if len(run) > 1:
        yield " ".join(run)


def _clock(at_s: float) -> str:
    minutes, seconds = divmod(round(at_s, 2), 60.0)
    return (
        f"{minutes:.0f}:{seconds:02.0f}" if abs(seconds - round(seconds)) < 1e-6 else f"{minutes:.0f}:{seconds:05.2f}"
    )


def _text(x: float, y: float, word: str, *, anchor: str, ink: str = _INK, size: int = 13) -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="{ink}" {_FONT} '
        f'font-size="{size}">{_escaped(word)}</text>'
    )


def _escaped(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;").replace('"', "&quot;")


def _x(at_s: float, traces: Traces) -> float:
    return _LEFT + (_WIDE - _LEFT - _RIGHT) * (at_s - traces.from_s) / max(traces.to_s - traces.from_s, _LEAST_SPAN)


def _y(value: float, least: float, most: float, top: float) -> float:
    return top + _BAND - 4.0 - (_BAND - 8.0) * (value - least) / (most - least)
