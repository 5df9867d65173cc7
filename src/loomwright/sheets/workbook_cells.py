"""What text does the value of a workbook's cell stand for, and what value holds a text so that it comes back the same?

A figure is read with the fifteen digits a spreadsheet works with, so that 0.1 + 0.2 is 0.3; yes and no stand for true
and false; a date is read as ISO 8601 writes it. The other way round a text becomes a figure only where reading that
figure gives the same text again."""

from __future__ import annotations

import math
import re
from datetime import date, datetime, time, timedelta

from loomwright.job.figures import text_of_figure

__all__ = [
    "LONGEST_TEXT",
    "figure_of",
    "text_fault",
    "text_of_date",
    "text_of_span",
    "text_of_value",
]

LONGEST_TEXT = 32_767
"""Most letters a cell can hold, as a spreadsheet counts them (UTF-16). [-]"""

_DIGITS = 15
_SURE_DIGITS = 16
"""A figure printed with so many signs, its point included, has no more digits than a spreadsheet keeps. [-]"""
_FIGURE = re.compile(r"-?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?(?:e-[0-9]+)?")
_UNWRITABLE = re.compile("[\0\ud800-\udfff\ufffe\uffff]")
_DAYS_1900, _LEAP_DAY_1900, _DAYS_1904 = 2_958_466.0, 60.0, 2_957_004.0
_BEFORE_LEAP_DAY, _FROM_1900, _FROM_1904 = datetime(1899, 12, 31), datetime(1899, 12, 30), datetime(1904, 1, 1)
_DAY_S = 86_400
_MOST_SPAN_DAYS = 1e6


def text_of_value(value: float | bool | str | date | time | timedelta) -> str:
    """The text that the value of a cell stands for.

    Example:
        >>> text_of_value(16.0), text_of_value(0.1 + 0.2), text_of_value(True), text_of_value("16 AWG")
        ('16', '0.3', 'yes', '16 AWG')
    """
    if isinstance(value, str):
        return value
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, date | time | timedelta):  # written as one, in the strict form of workbooks
        return str(value) if isinstance(value, timedelta) else value.isoformat()
    if value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    text = repr(value)
    nearest = value if len(text) <= _SURE_DIGITS else float(f"{value:.{_DIGITS}g}")
    return text_of_figure(nearest) if math.isfinite(nearest) else text


def figure_of(text: str) -> float | None:
    """The figure that comes back as this very text; None where a figure would lose something of it.

    Example:
        >>> figure_of("2.5"), figure_of("2.50"), figure_of("0412"), figure_of("1e3")
        (2.5, None, None, None)
    """
    if not _FIGURE.fullmatch(text):
        return None
    figure = float(text)
    return figure if text_of_value(figure) == text else None


def text_of_date(days: float, *, from_1904: bool) -> str | None:
    """A date, a time of day or both, as ISO 8601 writes it; None for a day that no calendar of a spreadsheet has.

    Args:
        days: since the calendar of the workbook begins; the time of day is the rest.
        from_1904: the calendar begins in 1904.
    Limits:
        The 29th of February 1900, which spreadsheets count and which never was, is no day here either.
    Example:
        >>> text_of_date(45000.4375, from_1904=False), text_of_date(0.4375, from_1904=False)
        ('2023-03-15T10:30', '10:30')
    """
    if not 0.0 <= days < (_DAYS_1904 if from_1904 else _DAYS_1900):
        return None
    seconds = round(days * _DAY_S)
    if seconds < _DAY_S:
        return _clock(datetime(2000, 1, 1) + timedelta(seconds=seconds))
    if from_1904:
        begins = _FROM_1904
    elif days >= _LEAP_DAY_1900 + 1.0:
        begins = _FROM_1900
    elif days < _LEAP_DAY_1900:
        begins = _BEFORE_LEAP_DAY
    else:
        return None
    moment = begins + timedelta(seconds=seconds)
    day = f"{moment.year:04}-{moment.month:02}-{moment.day:02}"
    return day if seconds % _DAY_S == 0 else f"{day}T{_clock(moment)}"


def text_of_span(days: float) -> str | None:
    """A length of time as hours, minutes and, where there are any, seconds; None for one beyond all sense.

    Example:
        >>> text_of_span(1.0625)
        '25:30'
    """
    if not abs(days) < _MOST_SPAN_DAYS:
        return None
    seconds = round(abs(days) * _DAY_S)
    text = f"{seconds // 3600}:{seconds // 60 % 60:02}" + (f":{seconds % 60:02}" if seconds % 60 else "")
    return f"-{text}" if days < 0.0 and seconds else text


def text_fault(text: str) -> str:
    """What keeps a text from standing in a cell, in words; empty where nothing does.

    Example:
        >>> text_fault("a" * 40_000), text_fault("fan")
        ('40000 letters', '')
    """
    if len(text) > LONGEST_TEXT // 2:
        count = len(text.encode("utf-16-le", "surrogatepass")) // 2
        if count > LONGEST_TEXT:
            return f"{count} letters"
    return "a zero byte, half a sign or one that is none" if _UNWRITABLE.search(text) else ""


def _clock(moment: datetime) -> str:
    return f"{moment.hour:02}:{moment.minute:02}" + (f":{moment.second:02}" if moment.second else "")
