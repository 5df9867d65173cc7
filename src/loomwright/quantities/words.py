"""Which words for a unit are read in a cell, and what each is worth in the column's unit.

For each ending: words read in any mixture of capitals (`MM`, `Volt`), and words read only as they stand, since a
capital changes them by a factor of a thousand million (`mohm`, `Mohm`). Each is worth (factor, offset), and a figure
is value * factor + offset. The ohm and micro signs have been turned into the Greek letters before a word comes here.

Source: the SI and its prefixes; inch, foot, pound and the degree Fahrenheit by their definitions (all from memory).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

__all__ = ["Unit", "words_of"]

Worth = tuple[float, float]

_PSI_KPA = 6.894757293168361
_MILE_KM = 1.609344
_POUND_FORCE_N = 4.4482216152605
_FOOT_MM = 304.8
_ZERO_C_K = 273.15


@dataclass(frozen=True, slots=True, kw_only=True)
class Unit:
    """The words read for one unit.

    exact: words read only as written -> (factor, offset).
    loose: words in small letters, read in any mixture of capitals -> (factor, offset).
    """

    exact: Mapping[str, Worth] = field(default_factory=dict)
    loose: Mapping[str, Worth] = field(default_factory=dict)


def _unit(*, exact: Mapping[str, float] | None = None, loose: Mapping[str, float] | None = None) -> Unit:
    """A unit whose words all start at zero, as all but temperatures do."""
    return Unit(
        exact=MappingProxyType({word: (factor, 0.0) for word, factor in (exact or {}).items()}),
        loose=MappingProxyType({word: (factor, 0.0) for word, factor in (loose or {}).items()}),
    )


def _scaled(stem: Mapping[str, float], *, by: float) -> dict[str, float]:
    """The same words, worth so many times as much."""
    return {word: factor * by for word, factor in stem.items()}


_VOLT = {"mV": 1e-3}
_AMP = {"mA": 1e-3, "uA": 1e-6, "\N{GREEK SMALL LETTER MU}A": 1e-6}
_OHM = {"mohm": 1e-3, "mOhm": 1e-3, "mΩ": 1e-3, "Mohm": 1e6, "MOhm": 1e6, "MΩ": 1e6, "M": 1e6}
_OHM_LOOSE = {
    "ohm": 1.0,
    "ohms": 1.0,
    "r": 1.0,
    "ω": 1.0,
    "kohm": 1e3,
    "kohms": 1e3,
    "k": 1e3,
    "kω": 1e3,
    "milliohm": 1e-3,
}
_METRE = {"mm": 1e-3, "cm": 1e-2, "m": 1.0, "in": 0.0254, "ft": _FOOT_MM / 1e3}
_SECOND = {"ms": 1e-3, "s": 1.0, "sec": 1.0, "min": 60.0, "h": 3600.0}
_HENRY = {"mH": 1e-3, "uH": 1e-6, "\N{GREEK SMALL LETTER MU}H": 1e-6, "H": 1.0}

_UNITS: Mapping[str, Unit] = MappingProxyType(
    {
        "": Unit(),
        "v": _unit(exact=_VOLT, loose={"v": 1.0, "volt": 1.0, "volts": 1.0}),
        "a": _unit(exact=_AMP, loose={"a": 1.0, "amp": 1.0, "amps": 1.0}),
        "ma": _unit(exact=_scaled(_AMP, by=1e3), loose={"a": 1e3, "amp": 1e3, "amps": 1e3}),
        "w": _unit(exact={"mW": 1e-3, "kW": 1e3}, loose={"w": 1.0, "watt": 1.0, "watts": 1.0}),
        "ohm": _unit(exact=_OHM, loose=_OHM_LOOSE),
        "mohm": _unit(exact=_scaled(_OHM, by=1e3), loose=_scaled(_OHM_LOOSE, by=1e3)),
        "ohm_per_m": _unit(
            exact={"mohm/m": 1e-3, "mΩ/m": 1e-3}, loose={"ohm/m": 1.0, "ω/m": 1.0, "ohm/km": 1e-3, "ω/km": 1e-3}
        ),
        "mm": _unit(loose=_scaled(_METRE, by=1e3)),
        "m": _unit(loose=_METRE),
        "mm2": _unit(loose={"mm2": 1.0, "mm²": 1.0, "mm^2": 1.0, "sqmm": 1.0}),
        "c": Unit(
            exact=MappingProxyType({"K": (1.0, -_ZERO_C_K)}),
            loose=MappingProxyType(
                dict.fromkeys(("c", "°c", "degc"), (1.0, 0.0)) | dict.fromkeys(("f", "°f", "degf"), (5 / 9, -160 / 9))
            ),
        ),
        "k": _unit(exact={"K": 1.0}),
        "mv_per_k": _unit(exact={"mV/K": 1.0}),
        "s": _unit(loose=_SECOND),
        "ms": _unit(loose=_scaled(_SECOND, by=1e3)),
        "us": _unit(loose={"us": 1.0, "\N{GREEK SMALL LETTER MU}s": 1.0, "ms": 1e3, "s": 1e6}),
        "minutes": _unit(loose={"min": 1.0, "h": 60.0, "s": 1 / 60}),
        "hours": _unit(loose={"h": 1.0, "min": 1 / 60}),
        "days": _unit(loose={"d": 1.0, "days": 1.0, "h": 1 / 24}),
        "a2s": _unit(exact={"A2s": 1.0, "A²s": 1.0}),
        "kw": _unit(exact={"kW": 1.0, "W": 1e-3}, loose={"hp": 0.7457}),
        "kpa": _unit(exact={"MPa": 1e3, "mbar": 0.1}, loose={"kpa": 1.0, "pa": 1e-3, "bar": 100.0, "psi": _PSI_KPA}),
        "rpm": _unit(loose={"rpm": 1.0, "1/min": 1.0, "/min": 1.0}),
        "deg": _unit(loose={"deg": 1.0, "°": 1.0}),
        "deg_btdc": _unit(loose={"deg": 1.0, "°": 1.0, "deg btdc": 1.0, "° btdc": 1.0}),
        "frac": _unit(exact={"%": 0.01}),
        "ah": _unit(exact={"mAh": 1e-3}, loose={"ah": 1.0}),
        "g": _unit(exact={"mg": 1e-3}, loose={"g": 1.0, "kg": 1e3}),
        "mg": _unit(exact={"mg": 1.0}, loose={"g": 1e3}),
        "g_per_s": _unit(loose={"g/s": 1.0, "g/min": 1 / 60}),
        "cc": _unit(loose={"cc": 1.0, "ml": 1.0, "cm3": 1.0, "cm³": 1.0, "l": 1e3}),
        "cc_per_min": _unit(loose={"cc/min": 1.0, "ml/min": 1.0}),
        "kg_per_l": _unit(loose={"kg/l": 1.0, "g/cm3": 1.0}),
        "mh": _unit(exact=_scaled(_HENRY, by=1e3)),
        "hz": _unit(exact={"MHz": 1e6, "mHz": 1e-3}, loose={"hz": 1.0, "khz": 1e3}),
        "n": _unit(loose={"n": 1.0, "kn": 1e3, "lbf": _POUND_FORCE_N}),
        "nm": _unit(exact={"mNm": 1e-3}, loose={"nm": 1.0, "lbft": _POUND_FORCE_N * _FOOT_MM / 1e3}),
        "kmh": _unit(loose={"km/h": 1.0, "kmh": 1.0, "mph": _MILE_KM}),
        "price": Unit(),
    }
)


def words_of(ending: str) -> Unit:
    """The words that are read for the unit of an ending; none for a count, a ratio or a price."""
    return _UNITS[ending]
