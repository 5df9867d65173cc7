"""How are the attempts to start drawn over one another as SVG: engine speed above, volts beneath, named by their soak?

All begin where the crankshaft first moves. Each is told apart by its line and by the word at its end, never by colour.
"""

from __future__ import annotations

from collections.abc import Sequence

from loomwright.logs.starts import Start
from loomwright.logs.traces import Traces
from loomwright.writers.log_chart import ticks

__all__ = ["AFTER_S", "BEFORE_S", "soak_words", "starts_chart"]

BEFORE_S, AFTER_S = 0.5, 5.0
_WIDE, _LEFT, _RIGHT, _TOP = 760.0, 70.0, 150.0, 24.0
_BAND, _BETWEEN, _FOOT = 150.0, 26.0, 40.0
_INK, _SOFT, _RULE, _PAPER = "#1d1f21", "#5b5d5a", "#d9d3c4", "#fffdf8"
_FONT = 'font-family="Source Sans 3, sans-serif"'
_DASHES = ("", "7 4", "1.5 3.5", "10 3 2 3", "3 3")
_SHOWN = (("engine_speed", "engine speed, 1/min"), ("battery", "supply, V"))
_COLD_C, _HOT_C = 40.0, 75.0
_MINUTE_S, _HOUR_S = 60.0, 3600.0
_WORD_APART = 15.0


def soak_words(start: Start) -> str:
    """How long the engine had stood and how warm it was, in words.

    Example:
        >>> soak_words(Start(at_s=6.0, crank_s=1.0, crank_rpm=200.0, ran_s=9.0, least_v=None, drops=0, coolant_c=20.0))
        'cold, 20 °C'
    """
    words = []
    if start.coolant_c is not None:
        warmth = "cold" if start.coolant_c < _COLD_C else "hot" if start.coolant_c >= _HOT_C else "warm"
        words += [warmth, f"{start.coolant_c:.0f} °C"]
    if start.soak_s is not None:
        hours, minutes = start.soak_s / _HOUR_S, start.soak_s / _MINUTE_S
        stood = (
            f"{hours:.1f} h" if hours >= 1.0 else f"{minutes:.0f} min" if minutes >= 1.0 else f"{start.soak_s:.0f} s"
        )
        words.append(f"after {stood}")
    return ", ".join(words) or "soak not recorded"


def starts_chart(starts: Sequence[tuple[Start, Traces]]) -> str:
    """Attempts to start over one another.

    Args:
        starts: each with the window round it, from `BEFORE_S` before it to `AFTER_S` after it.
    """
    shown = [(name, word) for name, word in _SHOWN if any(name in traces.least for _, traces in starts)]
    high = _TOP + len(shown) * (_BAND + _BETWEEN) + _FOOT
    pieces = [f'<rect width="{_WIDE:g}" height="{high:g}" fill="{_PAPER}"/>']
    for place, (name, word) in enumerate(shown):
        pieces += _band(starts, name, word, _TOP + place * (_BAND + _BETWEEN))
    for tick in ticks(0.0, AFTER_S, 5):
        pieces.append(_text(_x(tick), high - _FOOT + 4.0, f"{tick:g}", anchor="middle"))
    pieces.append(_text(_WIDE - _RIGHT, high - 14.0, "seconds from the first turn", anchor="end", ink=_SOFT))
    title = "Attempts to start, laid over one another by soak"
    head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDE:g} {high:g}" role="img" aria-label="{title}">'
    return "\n".join((head, f"<title>{title}</title>", *pieces, "</svg>")) + "\n"


def _band(starts: Sequence[tuple[Start, Traces]], name: str, word: str, top: float) -> list[str]:
    values = [one for _, traces in starts for one in traces.most.get(name, ()) if one is not None]
    lows = [one for _, traces in starts for one in traces.least.get(name, ()) if one is not None]
    if not values:
        return []
    least, most = min(lows), max(max(values), min(lows) + 1.0)

    def y(value: float) -> float:
        return top + _BAND - _BAND * (value - least) / (most - least)

    pieces = [_text(_LEFT, top - 8.0, word, anchor="start", ink=_SOFT)]
    for tick in ticks(least, most, 4):
        pieces.append(f'<path d="M{_LEFT} {y(tick):.1f}H{_WIDE - _RIGHT}" stroke="{_RULE}" stroke-width="0.7"/>')
        pieces.append(_text(_LEFT - 6.0, y(tick) + 4.0, f"{tick:g}", anchor="end", ink=_SOFT))
    taken: list[float] = []
    for number, (start, traces) in enumerate(starts):
        middles = [
            (at_s, (low + up) / 2.0)
            for at_s, low, up in zip(traces.at_s, traces.least.get(name, ()), traces.most.get(name, ()), strict=False)
            if low is not None and up is not None
        ]
        if len(middles) < 2:
            continue
        points = " ".join(f"{_x(at_s - start.at_s):.1f},{y(value):.1f}" for at_s, value in middles)
        dash = _DASHES[number % len(_DASHES)]
        drawn = f' stroke-dasharray="{dash}"' if dash else ""
        pieces.append(f'<polyline points="{points}" fill="none" stroke="{_INK}" stroke-width="1.4"{drawn}/>')
        end = y(middles[-1][1])
        while any(abs(end - one) < _WORD_APART for one in taken):
            end += 1.0
        taken.append(end)
        words = f"{number + 1} {soak_words(start)}"
        pieces.append(_text(_WIDE - _RIGHT + 6.0, end + 4.0, words, anchor="start", size=12))
    return pieces


def _text(x: float, y: float, word: str, *, anchor: str, ink: str = _INK, size: int = 13) -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="{ink}" {_FONT} font-size="{size}">{word}</text>'


def _x(at_s: float) -> float:
    share = (at_s + BEFORE_S) / (BEFORE_S + AFTER_S)
    return _LEFT + (_WIDE - _LEFT - _RIGHT) * min(max(share, 0.0), 1.0)
