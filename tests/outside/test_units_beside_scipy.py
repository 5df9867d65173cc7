"""Every word for a unit beside a library's constants: what stands in a cell is worth what the world takes it for.

The unit of each column and each word that is read in it are written out of `scipy.constants`, which holds the SI, its
prefixes and the exact inch, pound and pound-force. A word that is read and has no row here is told.
"""

from __future__ import annotations

import pytest
from scipy import constants as si

from loomwright.quantities import parse_quantity
from loomwright.quantities.endings import ENDINGS
from loomwright.quantities.words import words_of

TURN = 360.0 * si.degree
LITRE, CC = si.liter, (si.centi) ** 3

# column -> the worth of its unit, and word -> the worth of it, both in the SI's units
WORTH: dict[str, tuple[float, dict[str, float]]] = {
    "v": (1.0, {"mV": si.milli, "V": 1.0, "volt": 1.0, "volts": 1.0}),
    "a": (1.0, {"mA": si.milli, "uA": si.micro, "μA": si.micro, "A": 1.0, "amp": 1.0, "amps": 1.0}),
    "w": (1.0, {"mW": si.milli, "kW": si.kilo, "W": 1.0, "watt": 1.0, "watts": 1.0}),
    "ohm": (
        1.0,
        dict.fromkeys(("mohm", "mOhm", "mΩ", "milliohm"), si.milli)
        | dict.fromkeys(("ohm", "ohms", "R", "Ω"), 1.0)
        | dict.fromkeys(("kohm", "kohms", "k", "kΩ"), si.kilo)
        | dict.fromkeys(("Mohm", "MOhm", "MΩ", "M"), si.mega),
    ),
    "ohm_per_m": (
        1.0,
        dict.fromkeys(("mohm/m", "mΩ/m", "ohm/km", "Ω/km"), si.milli) | {"ohm/m": 1.0, "Ω/m": 1.0},
    ),
    "m": (1.0, {"mm": si.milli, "cm": si.centi, "m": 1.0, "in": si.inch, "ft": si.foot}),
    "mm2": (si.milli**2, dict.fromkeys(("mm2", "mm²", "mm^2", "sqmm"), si.milli**2)),
    "k": (1.0, {"K": 1.0}),
    "mv_per_k": (si.milli, {"mV/K": si.milli}),
    "s": (1.0, {"ms": si.milli, "s": 1.0, "sec": 1.0, "min": si.minute, "h": si.hour}),
    "us": (si.micro, {"us": si.micro, "μs": si.micro, "ms": si.milli, "s": 1.0}),
    "minutes": (si.minute, {"min": si.minute, "h": si.hour, "s": 1.0}),
    "hours": (si.hour, {"h": si.hour, "min": si.minute}),
    "days": (si.day, {"d": si.day, "days": si.day, "h": si.hour}),
    "a2s": (1.0, {"A2s": 1.0, "A²s": 1.0}),
    "kw": (si.kilo, {"kW": si.kilo, "W": 1.0, "hp": si.horsepower}),
    "kpa": (
        si.kilo,
        {"MPa": si.mega, "mbar": si.milli * si.bar, "kPa": si.kilo, "Pa": 1.0, "bar": si.bar, "psi": si.psi},
    ),
    "rpm": (TURN / si.minute, dict.fromkeys(("rpm", "1/min", "/min"), TURN / si.minute)),
    "deg": (si.degree, {"deg": si.degree, "°": si.degree}),
    "deg_btdc": (si.degree, dict.fromkeys(("deg", "°", "deg BTDC", "° BTDC"), si.degree)),
    "frac": (1.0, {"%": si.centi}),
    "ah": (si.hour, {"mAh": si.milli * si.hour, "Ah": si.hour}),
    "g": (si.gram, {"mg": si.milli * si.gram, "g": si.gram, "kg": 1.0}),
    "mg": (si.milli * si.gram, {"mg": si.milli * si.gram, "g": si.gram}),
    "g_per_s": (si.gram, {"g/s": si.gram, "g/min": si.gram / si.minute}),
    "cc": (CC, dict.fromkeys(("cc", "ml", "cm3", "cm³"), CC) | {"l": LITRE}),
    "cc_per_min": (CC / si.minute, dict.fromkeys(("cc/min", "ml/min"), CC / si.minute)),
    "kg_per_l": (1.0 / LITRE, {"kg/l": 1.0 / LITRE, "g/cm3": si.gram / CC}),
    "mh": (si.milli, {"mH": si.milli, "uH": si.micro, "μH": si.micro, "H": 1.0}),
    "hz": (1.0, {"mHz": si.milli, "Hz": 1.0, "kHz": si.kilo, "MHz": si.mega}),
    "n": (1.0, {"N": 1.0, "kN": si.kilo, "lbf": si.pound_force}),
    "nm": (1.0, {"mNm": si.milli, "Nm": 1.0, "lbft": si.pound_force * si.foot}),
    "kmh": (si.kmh, {"km/h": si.kmh, "kmh": si.kmh, "mph": si.mph}),
}
# the same words in columns of another size
WORTH |= {
    "ma": (si.milli, WORTH["a"][1]),
    "mohm": (si.milli, WORTH["ohm"][1]),
    "mm": (si.milli, WORTH["m"][1]),
    "ms": (si.milli, WORTH["s"][1]),
}
EACH = [(ending, word) for ending, (_, words) in WORTH.items() for word in words]


@pytest.mark.parametrize(("ending", "word"), EACH, ids=[f"{word} in {ending}" for ending, word in EACH])
def test_a_figure_with_its_unit_is_worth_what_the_unit_is(ending, word):
    column, words = WORTH[ending]
    # the horsepower is read to four figures, all others are exact
    assert parse_quantity(f"3 {word}", ending) == pytest.approx(3.0 * words[word] / column, rel=1e-6)


@pytest.mark.parametrize(
    ("text", "kelvin"),
    [
        ("-40 F", 233.15),
        ("32 °F", 273.15),
        ("77 degF", 298.15),
        ("5 C", 278.15),
        ("5 degC", 278.15),
        ("5 °C", 278.15),
        ("300 K", 300.0),
    ],
)
def test_a_temperature_is_the_same_on_every_scale(text, kelvin):
    assert parse_quantity(text, "c") == pytest.approx(si.convert_temperature(kelvin, "Kelvin", "Celsius"), abs=1e-9)


def test_every_word_that_is_read_is_held_here():
    temperatures = {"K", "c", "°c", "degc", "f", "°f", "degf"}
    for ending in ENDINGS:
        held = set(WORTH[ending][1]) if ending in WORTH else temperatures if ending == "c" else set()
        read = words_of(ending)
        assert {*read.exact, *read.loose} <= held | {word.lower() for word in held}, ending
