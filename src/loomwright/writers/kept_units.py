"""How does a figure stay on one line with its unit, where a paper sets it?

A blank between a figure and its unit becomes one at which no line ends; nothing else is touched, so that what is read
out of the paper is the same words.
"""

from __future__ import annotations

import re

__all__ = ["kept_together"]

_UNITS = "mm²|cm²|mm|cm|m|km/h|km|°C|K|V|mV|A²s|Ah|mA|A|mΩ|kΩ|MΩ|Ω|W|kW|kPa|kg|ms|s|min|h|%|°|1/min"
_BETWEEN = re.compile(rf"(?<=\d) (?=(?:{_UNITS})(?![\w²/]))")
_NO_BREAK = "\N{NO-BREAK SPACE}"


def kept_together(text: str) -> str:
    """The same words, no line of which ends between a figure and its unit.

    Example:
        >>> kept_together("0.42 V, allowed 0.4 V; 2 wires, 4 mm² and 3 a day").replace("\u00a0", "_")
        '0.42_V, allowed 0.4_V; 2 wires, 4_mm² and 3 a day'
    """
    return _BETWEEN.sub(_NO_BREAK, text)
