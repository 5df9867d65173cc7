"""Between which figures does a sound car lie?

The expected figure is solved, with the meter in it; the band about it is for what the model cannot know: the battery's
own volts, a meter's error, figures of parts that are typical.

    volts         expected +- 0.3 V; where the battery was not measured, 3 % more
    dead          +- 0.5 V
    ohms          expected +- 20 %, a filament +- 50 %, and 0.2 ohm either way of leads that were nulled
    amps          expected +- 25 %, and 50 mA
    earth         up to 0.1 V, or half as much again as expected where a long cable takes more than that

Source: 0.3 V over wire, joints and switch together and 0.1 V over an earth, `drop_encyclopaedia` in the tests; 20 % of
a loop, over a megohm open, leads: common practice, no source. All of them are typical.
"""

from __future__ import annotations

from loomwright.tables.constants import constant

__all__ = ["LEADS_OHM", "OPEN_OHM", "amps_band", "earth_band", "ohms_band", "volts_band"]

OPEN_OHM = 1e6
"""What reads more than this is open: common practice, no source [ohm]."""
LEADS_OHM = 0.2
"""What nulled leads and clips may still add: from memory [ohm]."""
_DROP_V = 0.3
_BATTERY_FRAC = 0.03
_EARTH_V = 0.1
_MORE = 1.5
_LOOP_FRAC, _FILAMENT_FRAC = 0.2, 0.5
_AMPS_FRAC, _AMPS_A = 0.25, 0.05


def volts_band(expected_v: float, *, measured: bool) -> tuple[float, float]:
    """Least and most volts of a point that carries no great current. [V]

    Args:
        expected_v: as solved. [V]
        measured: the battery's own volts are known.
    Example:
        >>> volts_band(0.02, measured=True), volts_band(12.6, measured=True)
        ((-0.5, 0.5), (12.3, 12.9))
    """
    dead_v = constant("dead_v")
    if abs(expected_v) <= dead_v:
        return -dead_v, dead_v
    wide_v = _DROP_V + (0.0 if measured else _BATTERY_FRAC * abs(expected_v))
    return round(expected_v - wide_v, 3), round(expected_v + wide_v, 3)


def ohms_band(expected_ohm: float | None, *, filament: bool = False) -> tuple[float, float | None]:
    """Least and most ohms; no most where it is open. [ohm]

    Example:
        >>> ohms_band(None), ohms_band(100.0)
        ((1000000.0, None), (79.8, 120.2))
    """
    if expected_ohm is None:
        return OPEN_OHM, None
    share = _FILAMENT_FRAC if filament else _LOOP_FRAC
    return max(0.0, expected_ohm * (1.0 - share) - LEADS_OHM), expected_ohm * (1.0 + share) + LEADS_OHM


def amps_band(expected_a: float) -> tuple[float, float]:
    """Least and most amps. [A]

    Example:
        >>> amps_band(4.0)
        (2.95, 5.05)
    """
    wide_a = _AMPS_FRAC * abs(expected_a) + _AMPS_A
    return expected_a - wide_a, expected_a + wide_a


def earth_band(expected_v: float) -> tuple[float, float]:
    """Least and most volts between an earth and the battery's earthed post under load. [V]

    Example:
        >>> earth_band(0.02), earth_band(0.2)
        ((-0.1, 0.1), (-0.1, 0.3))
    """
    return -_EARTH_V, round(max(_EARTH_V, _MORE * expected_v), 4)
